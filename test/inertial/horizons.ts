import { orientLog } from '../../src/inertial/orientLog.js';
import { composeQuaternions, invertQuaternions, quaternionAt } from '../../src/rotation/arrays.js';
import { createMotionLog, type MotionLog } from '../../src/track/motionLog.js';

/** Angle between the estimated and the true vertical at each sample, degrees. */
export function tiltsDeg(estimate: Float64Array, truth: Float64Array): number[] {
  const errors = composeQuaternions(estimate, invertQuaternions(truth));
  return Array.from({ length: errors.length / 4 }, (_, k) => {
    const [x, , z] = quaternionAt(errors, k);
    return (2 * Math.asin(Math.min(1, Math.hypot(x, z))) * 180) / Math.PI;
  });
}

/** A log and its truth with the samples between two left out. */
export function withoutRows(log: MotionLog, truth: Float64Array, after: number, before: number) {
  const kept = [...log.times.keys()].filter((k) => k <= after || k >= before);
  const pick = (values: Float64Array, width: number) =>
    Float64Array.from(kept.flatMap((k) => [...values.subarray(width * k, width * (k + 1))]));
  return {
    log: createMotionLog({
      times: pick(log.times, 1),
      rate: pick(log.rate, 3),
      acceleration: pick(log.acceleration!, 3),
    }),
    truth: pick(truth, 4),
  };
}

/** Replaces the vectors between two samples by a straight line, or by repeats of the first. */
export function filled(
  vectors: Float64Array,
  first: number,
  last: number,
  how: 'line' | 'repeat',
): Float64Array {
  const out = vectors.slice();
  for (let k = first + 1; k < last; k++) {
    const share = how === 'line' ? (k - first) / (last - first) : 0;
    for (let axis = 0; axis < 3; axis++) {
      const a = vectors[3 * first + axis]!;
      out[3 * k + axis] = a + share * (vectors[3 * last + axis]! - a);
    }
  }
  return out;
}

/** An oriented log with the errors of its horizon beside it. */
export function judged(log: MotionLog, truth: Float64Array) {
  const oriented = orientLog(log);
  const tilts = tiltsDeg(oriented.track.quaternions, truth);
  const worst = (from: number, to: number) =>
    Math.max(...tilts.filter((_, k) => log.times[k]! >= from && log.times[k]! <= to));
  const statedDeg = (from: number, to: number) => {
    const { times, tiltDeviation } = oriented.quality;
    const within = tiltDeviation.filter((_, k) => times[k]! >= from && times[k]! <= to);
    return (Math.max(...within) * 180) / Math.PI;
  };
  return { ...oriented, tilts, worst, statedDeg };
}
