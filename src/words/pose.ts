/** A pose that nobody films in, and what to write about it in the mapping. */
import { type Mapping, parseMapping } from '../read/mapping.js';
import { uprightAxes } from '../read/uprightAxes.js';

/**
 * A note where the camera lies absurdly on average, with the line that would set it upright.
 *
 * @param quaternions - camera→world as they were read
 * @param mapping - by which the file was read; our own axes without one
 */
export function describePose(
  quaternions: Float64Array,
  mapping: Mapping | string | undefined,
): string[] {
  const said = typeof mapping === 'string' ? parseMapping(mapping) : mapping;
  const found = uprightAxes(quaternions, said?.sensorAxes ?? said?.cameraAxes, said?.worldAxes);
  if (!found) return [];
  const { lies, sentence } = found;
  const how =
    said?.orientation?.kind === 'angles'
      ? 'look at the directions behind "about" in the mapping'
      : `this line of a mapping says so: ${said?.rate ? sentence.replace('camera', 'sensor') : sentence}`;
  return [`note: on average the camera ${lies}; if it stood upright, ${how}`];
}
