import { TwinkeelError } from '../error.js';
import type { EyeLayout } from '../picture/stereoFrame.js';

/** How one eye's picture shows the directions around it. */
export type Projection = 'half-equirect' | 'fisheye';

/** The pictures of a movie: two eyes in one frame. */
export interface StereoPicture {
  /** How each eye's picture shows directions. */
  readonly projection: Projection;
  /** Where the left and the right eye lie in the frame: left or top is the left eye. */
  readonly layout: EyeLayout;
  /** Field of an equidistant fisheye across the whole of one eye's picture, degrees. */
  readonly fieldDeg?: number;
}

/**
 * The field of a fisheye picture, degrees.
 *
 * @throws TwinkeelError `argument/invalid` when it is missing or out of range
 */
export function fisheyeField({ fieldDeg }: StereoPicture): number {
  if (fieldDeg !== undefined && fieldDeg > 0 && fieldDeg <= 360) return fieldDeg;
  throw new TwinkeelError('argument/invalid', {
    found: fieldDeg === undefined ? 'a fisheye without its field' : `a field of ${fieldDeg}°`,
    expected: 'the degrees that one eye’s picture spans from edge to edge, such as 190',
    remedy: 'give it as --field 190 (fieldDeg in programs); the rig description states it too',
  });
}
