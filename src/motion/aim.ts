import { TwinkeelError } from '../error.js';
import { wrapAngle } from '../math.js';
import { cubicSpline } from '../numeric/cubicSpline.js';
import { quaternionAt } from '../rotation/arrays.js';
import {
  headingTiltRollFromQuaternion,
  quaternionFromHeadingTiltRoll,
} from '../rotation/headingTiltRoll.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { interpolateTrack } from '../track/resample.js';

/** Where the centre of the corrected view shall look at a moment. */
export interface AimKey {
  /** Seconds from the first sample. */
  readonly time: number;
  /** Radians; positive turns left. */
  readonly heading: number;
  /** Radians; positive looks up. */
  readonly tilt: number;
  /** Radians; positive lowers the left side. The path's own roll is kept when left out. */
  readonly roll?: number;
}

/**
 * Re-centres a path: at each key the view looks exactly where the key says, and in between the
 * difference to the intended path changes along a natural cubic spline (continuous to the second
 * derivative), so that the operator's own travel stays in. Before the first and after the last
 * key the difference is held.
 *
 * @param path - intended orientations in a level world
 * @param keys - at least one, times increasing
 * @returns unit quaternions x, y, z, w, length 4n; signs may jump, see {@link rotation!alignSigns}
 * @throws TwinkeelError `argument/invalid` for keys out of order or outside the clip
 * @example
 * const aimed = aimPath(result.intended, [{ time: 2, heading: 0.5, tilt: 0, roll: 0 }]);
 * describeOrientation(quaternionAt(aimed, 120)); // 'looks 28.6° left of north, level, upright'
 */
export function aimPath(path: OrientationTrack, keys: readonly AimKey[]): Float64Array {
  const last = path.times[path.times.length - 1]!;
  keys.forEach((key, index) => {
    const previous = keys[index - 1]?.time ?? Number.NEGATIVE_INFINITY;
    const finite = [key.time, key.heading, key.tilt, key.roll ?? 0].every(Number.isFinite);
    if (!(finite && key.time > previous && key.time >= 0 && key.time <= last)) {
      throw new TwinkeelError('argument/invalid', {
        timeS: key.time,
        found: `aim key ${index + 1} at ${key.time} s`,
        expected: `finite angles at times that increase and lie within 0 to ${last.toFixed(3)} s`,
        remedy: 'sort the keys and drop those outside the clip',
      });
    }
  });
  const times = keys.map((key) => key.time);
  const at = interpolateTrack(path, Float64Array.from(times));
  const own = keys.map((_, k) => headingTiltRollFromQuaternion(quaternionAt(at, k)));
  const turns: number[] = [];
  keys.forEach((key, k) => {
    // The nearest of the equal headings: a key never spins the view round.
    const offset = wrapAngle(key.heading - own[k]!.heading);
    const before = turns[k - 1] ?? 0;
    turns.push(before + wrapAngle(offset - before));
  });
  const heading = cubicSpline(times, turns);
  const tilt = cubicSpline(
    times,
    keys.map((key, k) => key.tilt - own[k]!.tilt),
  );
  const roll = cubicSpline(
    times,
    keys.map((key, k) => (key.roll === undefined ? 0 : wrapAngle(key.roll - own[k]!.roll))),
  );
  const out = new Float64Array(path.quaternions.length);
  path.times.forEach((time, k) => {
    const angles = headingTiltRollFromQuaternion(quaternionAt(path.quaternions, k));
    out.set(
      quaternionFromHeadingTiltRoll(
        angles.heading + heading(time),
        angles.tilt + tilt(time),
        angles.roll + roll(time),
      ),
      4 * k,
    );
  });
  return out;
}
