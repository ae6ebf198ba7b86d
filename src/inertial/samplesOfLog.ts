import { clamp } from '../math.js';
import type { RateSampling } from '../track/integrate.js';
import type { MotionLog } from '../track/motionLog.js';
import type { LogQuality } from './logQuality.js';
import { joinedSpans } from './spans.js';
import type { StrapdownSamples } from './strapdownSamples.js';

/**
 * Where within the interval that ends at its stamp a row of the accelerometer belongs, as a share
 * of the interval before the stamp by which it is nearer to it than the gyroscope's row, which is
 * the mean of the interval. Optical references of fifteen trials put it between 0.2 and 0.5.
 */
const ACCELERATION_AFTER_RATE = 0.35;

/**
 * What the smoother needs of a log's samples.
 *
 * @param acceleration - the log's own
 * @param accelerationDelay - how late its values are against the gyroscope's, s
 */
export function samplesOfLog(
  { times, rate }: MotionLog,
  acceleration: Float64Array,
  sampling: RateSampling,
  accelerationDelay: number,
  quality: LogQuality,
): StrapdownSamples {
  const unseen = unseenIntervals(times, quality);
  return {
    times,
    rate,
    sampling,
    ...(unseen && { unseen }),
    acceleration: delayed(times, acceleration, accelerationDelay),
    firstShare: sampling === 'instant' ? 0.5 : ACCELERATION_AFTER_RATE,
  };
}

/** Marks the intervals in which nothing was measured of how the camera turned; nothing if there are none. */
function unseenIntervals(
  times: Float64Array,
  { gaps, filledRate }: LogQuality,
): Uint8Array | undefined {
  const long = gaps.filter(({ from, to }) => to - from > LONGEST_BRIDGE);
  const spans = joinedSpans([...filledRate, ...long]);
  if (spans.length === 0) return undefined;
  const unseen = new Uint8Array(times.length);
  let k = 0;
  for (const { from, to } of spans) {
    while (k + 1 < times.length && times[k]! < from) k++;
    for (; k + 1 < times.length && times[k + 1]! <= to; k++) unseen[k] = 1;
  }
  return unseen;
}

/** Across a longer gap the rate of its end says nothing of how the camera turned, s (our judgement). */
const LONGEST_BRIDGE = 1;

/** Vectors at times later by `delay`, on straight lines between samples. */
function delayed(times: Float64Array, vectors: Float64Array, delay: number): Float64Array {
  if (delay === 0) return vectors;
  const last = times.length - 1;
  const out = new Float64Array(vectors.length);
  let k = 0;
  for (let m = 0; m <= last; m++) {
    const time = times[m]! + delay;
    while (k < last - 1 && times[k + 1]! <= time) k++;
    while (k > 0 && times[k]! > time) k--;
    const share = clamp((time - times[k]!) / (times[k + 1]! - times[k]!), 0, 1);
    for (let axis = 0; axis < 3; axis++) {
      const a = vectors[3 * k + axis]!;
      out[3 * m + axis] = a + share * (vectors[3 * k + 3 + axis]! - a);
    }
  }
  return out;
}
