import type { Vector3 } from '../rotation/quaternion.js';
import { type RateSampling, writeIncrements } from '../track/integrate.js';
import { PART, STATE_NUMBERS } from './motionState.js';
import { BLOCK, type Segment, type Stretch } from './segment.js';

/**
 * What the smoother needs of the samples. The turns from sample to sample are worked out wherever they
 * are needed: it takes no longer than to fetch them from a list, which would be as long as the log.
 */
export interface StrapdownSamples {
  /** Seconds; length n. */
  readonly times: Float64Array;
  /** Angular rate about the camera axes, rad/s; length 3n. */
  readonly rate: Float64Array;
  /** What a row of the rate says about time. */
  readonly sampling: RateSampling;
  /** Not 0 where nothing is known of how the camera turned to the next sample: it did not; length n. */
  readonly unseen?: Uint8Array;
  /** Specific force at the samples, m/s²; length 3n. */
  readonly acceleration: Float64Array;
  /** Share of an interval's mean force that is its first sample's; the rest is its last one's. */
  readonly firstShare: number;
}

/**
 * Writes the turns of some intervals with the bias taken off.
 *
 * @returns ∫ |ω|² dt over them, rad²/s
 */
export function stepsWithoutBias(
  samples: StrapdownSamples,
  first: number,
  count: number,
  { states, k }: Stretch,
  steps: Float64Array,
): number {
  writeSteps(samples, first, count, steps);
  const { times } = samples;
  const bias = STATE_NUMBERS * k + PART.gyroBias;
  const bx = states[bias]!;
  const by = states[bias + 1]!;
  const bz = states[bias + 2]!;
  let turning = 0;
  for (let j = first, o = 0; j < first + count; j++, o += 3) {
    const h = times[j + 1]! - times[j]!;
    const vx = steps[o]! - bx * h;
    const vy = steps[o + 1]! - by * h;
    const vz = steps[o + 2]! - bz * h;
    steps[o] = vx;
    steps[o + 1] = vy;
    steps[o + 2] = vz;
    turning += (vx * vx + vy * vy + vz * vz) / h;
  }
  return turning;
}

/** Writes the turns of some intervals as the gyroscope has them. */
function writeSteps(
  { times, rate, sampling, unseen }: StrapdownSamples,
  first: number,
  count: number,
  steps: Float64Array,
): void {
  writeIncrements(times, rate, sampling, first, first + count, steps);
  if (!unseen) return;
  for (let j = 0; j < count; j++) {
    if (unseen[first + j]) steps.fill(0, 3 * j, 3 * j + 3);
  }
}

/** Mean rate over a stretch of samples as the gyroscope has it, rad/s. */
export function meanRate(
  samples: StrapdownSamples,
  from: number,
  to: number,
  { intervals: { steps } }: Segment,
): Vector3 {
  const sum: [number, number, number] = [0, 0, 0];
  for (let first = from; first < to; first += BLOCK) {
    const count = Math.min(BLOCK, to - first);
    writeSteps(samples, first, count, steps);
    for (let i = 0; i < 3 * count; i += 3) {
      for (let axis = 0; axis < 3; axis++) sum[axis]! += steps[i + axis]!;
    }
  }
  const span = samples.times[to]! - samples.times[from]!;
  return [sum[0] / span, sum[1] / span, sum[2] / span];
}
