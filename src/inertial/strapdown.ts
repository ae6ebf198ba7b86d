import type { Vector3 } from '../rotation/quaternion.js';
import { type RateSampling, turnBySteps, writeIncrements } from '../track/integrate.js';
import { PART, STATE_NUMBERS } from './motionState.js';

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

/** State and sensitivities carried over one segment; buffers are reused from call to call. */
export interface Segment {
  /** Orientation at the end of the segment, body→world x, y, z, w. */
  readonly end: Float64Array;
  /** Integral of the specific force in the world over the segment, m/s; gravity included. */
  readonly impulse: Float64Array;
  /** d(attitude error)/d(gyro bias), 3 × 3, s; d(velocity)/d(accelerometer bias) is the same. */
  readonly attitudeByGyro: Float64Array;
  /** d(velocity)/d(gyro bias), 3 × 3, m. */
  readonly velocityByGyro: Float64Array;
  /** ∫ |ω|² dt over the segment, rad²/s. */
  turning: number;
  /** What is known of the intervals at hand. */
  readonly intervals: Intervals;
}

/** A few intervals between samples: worked on list by list, they stay in the fastest memory. */
interface Intervals {
  /** Turns with the bias taken off, rad; 3 for each interval. */
  readonly steps: Float64Array;
  /** Orientations at both ends, 4 for each end. */
  readonly path: Float64Array;
  /** ∫ R dt by the orientation in the middle, s: 9 for each interval, row by row. */
  readonly turns: Float64Array;
  /** ∫ R f dt with the bias taken off, m/s; 3 for each interval. */
  readonly pushes: Float64Array;
}

/** How many intervals are at hand at a time. */
const BLOCK = 128;

export function newSegment(): Segment {
  return {
    end: new Float64Array(4),
    impulse: new Float64Array(3),
    attitudeByGyro: new Float64Array(9),
    velocityByGyro: new Float64Array(9),
    turning: 0,
    intervals: {
      steps: new Float64Array(3 * BLOCK),
      path: new Float64Array(4 * (BLOCK + 1)),
      turns: new Float64Array(9 * BLOCK),
      pushes: new Float64Array(3 * BLOCK),
    },
  };
}

/** A stretch of samples, and the state of the camera and its sensors where it starts. */
export interface Stretch {
  /** First and last sample. */
  readonly from: number;
  readonly to: number;
  /** A list of states, see `motionState.ts`, and which of them it is. */
  readonly states: Float64Array;
  readonly k: number;
}

/**
 * Carries an orientation over a stretch with the biases taken off, and accumulates what the specific
 * force adds to the velocity and how all of it depends on the errors. The attitude error is a
 * rotation vector in the world, q_true = Exp(θ) q; at the start it turns the whole impulse, dv = θ × ∫f.
 *
 * @param segment - receives the results
 */
export function propagateSegment(
  samples: StrapdownSamples,
  stretch: Stretch,
  segment: Segment,
): void {
  const { from, to } = stretch;
  const { attitudeByGyro, velocityByGyro } = segment;
  begin(stretch, segment);
  for (let i = 0; i < 9; i++) {
    attitudeByGyro[i] = 0;
    velocityByGyro[i] = 0;
  }
  for (let first = from; first < to; first += BLOCK) {
    const count = Math.min(BLOCK, to - first);
    carryOver(samples, first, count, stretch, segment);
    // Not in a loop: the compiler would take all three into it and run out of registers.
    addSensitivities(segment, count, 0);
    addSensitivities(segment, count, 1);
    addSensitivities(segment, count, 2);
  }
}

/** The same without the sensitivities: orientation at the end, impulse and turning only. */
export function carrySegment(samples: StrapdownSamples, stretch: Stretch, segment: Segment): void {
  begin(stretch, segment);
  for (let first = stretch.from; first < stretch.to; first += BLOCK) {
    carryOver(samples, first, Math.min(BLOCK, stretch.to - first), stretch, segment);
  }
}

function begin({ states, k }: Stretch, segment: Segment): void {
  const { end, impulse } = segment;
  for (let i = 0; i < 4; i++) end[i] = states[STATE_NUMBERS * k + PART.orientation + i]!;
  for (let i = 0; i < 3; i++) impulse[i] = 0;
  segment.turning = 0;
}

/** Orientation, impulse and turning over the intervals at hand. */
function carryOver(
  samples: StrapdownSamples,
  first: number,
  count: number,
  stretch: Stretch,
  segment: Segment,
): void {
  const { end, intervals } = segment;
  const { steps, path } = intervals;
  segment.turning += stepsWithoutBias(samples, first, count, stretch, steps);
  for (let i = 0; i < 4; i++) path[i] = end[i]!;
  turnBySteps(steps, count, path, 0);
  for (let i = 0; i < 4; i++) end[i] = path[4 * count + i]!;
  addImpulse(samples, first, count, stretch, segment);
}

/**
 * Writes the turns of some intervals with the bias taken off.
 *
 * @returns ∫ |ω|² dt over them, rad²/s
 */
function stepsWithoutBias(
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

/** Squared length of a sum of two quaternions that are opposite to rounding. */
const NO_MIDDLE = 1e-30;

/**
 * Adds the force of the intervals at hand, turned into the world by the orientation half-way: the sum
 * of the quaternions at both ends, since it lies between them.
 */
function addImpulse(
  { times, acceleration, firstShare }: StrapdownSamples,
  first: number,
  count: number,
  { states, k: start }: Stretch,
  { impulse, intervals: { path, turns, pushes } }: Segment,
): void {
  const bias = STATE_NUMBERS * start + PART.accelerationBias;
  const bx = states[bias]!;
  const by = states[bias + 1]!;
  const bz = states[bias + 2]!;
  const lastShare = 1 - firstShare;
  let sumX = 0;
  let sumY = 0;
  let sumZ = 0;
  for (let k = 0, i = 3 * first, o = 0, p = 0; k < count; k++, i += 3, o += 9, p += 3) {
    const q = 4 * k;
    const x = path[q]! + path[q + 4]!;
    const y = path[q + 1]! + path[q + 5]!;
    const z = path[q + 2]! + path[q + 6]!;
    const w = path[q + 3]! + path[q + 7]!;
    const h = times[first + k + 1]! - times[first + k]!;
    // A whole turn within one interval has no middle; any other orientation will do there.
    const s = (2 * h) / Math.max(x * x + y * y + (z * z + w * w), NO_MIDDLE);
    const r00 = h - s * (y * y + z * z);
    const r01 = s * (x * y - w * z);
    const r02 = s * (x * z + w * y);
    const r10 = s * (x * y + w * z);
    const r11 = h - s * (x * x + z * z);
    const r12 = s * (y * z - w * x);
    const r20 = s * (x * z - w * y);
    const r21 = s * (y * z + w * x);
    const r22 = h - s * (x * x + y * y);
    turns[o] = r00;
    turns[o + 1] = r01;
    turns[o + 2] = r02;
    turns[o + 3] = r10;
    turns[o + 4] = r11;
    turns[o + 5] = r12;
    turns[o + 6] = r20;
    turns[o + 7] = r21;
    turns[o + 8] = r22;
    const ax = firstShare * acceleration[i]! + lastShare * acceleration[i + 3]! - bx;
    const ay = firstShare * acceleration[i + 1]! + lastShare * acceleration[i + 4]! - by;
    const az = firstShare * acceleration[i + 2]! + lastShare * acceleration[i + 5]! - bz;
    const fx = r00 * ax + r01 * ay + r02 * az;
    const fy = r10 * ax + r11 * ay + r12 * az;
    const fz = r20 * ax + r21 * ay + r22 * az;
    pushes[p] = fx;
    pushes[p + 1] = fy;
    pushes[p + 2] = fz;
    sumX += fx;
    sumY += fy;
    sumZ += fz;
  }
  impulse[0]! += sumX;
  impulse[1]! += sumY;
  impulse[2]! += sumZ;
}

/**
 * Adds one column of what the intervals at hand do to the sensitivities to the gyro's bias:
 * dθ/db = −∫ R dt, and dv/db += dθ/db × f with the dθ/db of the middle of each interval.
 */
function addSensitivities(
  { attitudeByGyro, velocityByGyro, intervals: { turns, pushes } }: Segment,
  count: number,
  column: number,
): void {
  let gx = attitudeByGyro[column]!;
  let gy = attitudeByGyro[column + 3]!;
  let gz = attitudeByGyro[column + 6]!;
  let ux = velocityByGyro[column]!;
  let uy = velocityByGyro[column + 3]!;
  let uz = velocityByGyro[column + 6]!;
  for (let k = 0, o = column, p = 0; k < count; k++, o += 9, p += 3) {
    const hx = 0.5 * turns[o]!;
    const hy = 0.5 * turns[o + 3]!;
    const hz = 0.5 * turns[o + 6]!;
    const fx = pushes[p]!;
    const fy = pushes[p + 1]!;
    const fz = pushes[p + 2]!;
    gx -= hx;
    gy -= hy;
    gz -= hz;
    ux += gy * fz - gz * fy;
    uy += gz * fx - gx * fz;
    uz += gx * fy - gy * fx;
    gx -= hx;
    gy -= hy;
    gz -= hz;
  }
  attitudeByGyro[column] = gx;
  attitudeByGyro[column + 3] = gy;
  attitudeByGyro[column + 6] = gz;
  velocityByGyro[column] = ux;
  velocityByGyro[column + 3] = uy;
  velocityByGyro[column + 6] = uz;
}

/**
 * Writes the orientation at every sample of a stretch.
 *
 * @param path - orientations of the whole log, body→world; length 4n
 * @param segment - receives the orientation at the end
 */
export function carryPath(
  samples: StrapdownSamples,
  stretch: Stretch,
  segment: Segment,
  path: Float64Array,
): void {
  const { end, intervals } = segment;
  const { from, to } = stretch;
  begin(stretch, segment);
  for (let i = 0; i < 4; i++) path[4 * from + i] = end[i]!;
  for (let first = from; first < to; first += BLOCK) {
    const count = Math.min(BLOCK, to - first);
    stepsWithoutBias(samples, first, count, stretch, intervals.steps);
    turnBySteps(intervals.steps, count, path, first);
  }
  for (let i = 0; i < 4; i++) end[i] = path[4 * to + i]!;
}
