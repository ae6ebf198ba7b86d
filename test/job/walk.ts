import { trackToCsv } from '../../src/handoff/csv.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import { frameTimes } from '../../src/track/frameRate.js';
import { createTrack } from '../../src/track/orientationTrack.js';

/** A walk past the moonflowers, 25 frames per second; every number is another one. */
export function walkCsv(seconds: number, number = 0): string {
  const times = frameTimes({ numerator: 25, denominator: 1 }, 25 * seconds + 1);
  const look = (t: number) =>
    quaternionFromHeadingTiltRoll(
      0.1 * t + number,
      (0.02 + number / 1000) * Math.sin(12 * t),
      0.02 * Math.cos(6 * t),
    );
  const quaternions = Float64Array.from([...times].flatMap((t) => [...look(t)]));
  return trackToCsv(createTrack({ times, quaternions }));
}

/** A manifest as text. */
export const manifestOf = (clips: readonly object[], defaults: object = {}): string =>
  JSON.stringify({ format: 'twinkeel-shoot', version: 1, defaults, clips });
