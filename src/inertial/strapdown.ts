import { turnBySteps } from '../track/integrate.js';
import { PART, STATE_NUMBERS } from './motionState.js';

/** What the smoother needs of the samples: made once per log. */
export interface StrapdownSamples {
  /** Seconds; length n. */
  readonly times: Float64Array;
  /** Rotation vectors from sample to sample for zero bias, rad; length 3(n − 1). */
  readonly increments: Float64Array;
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
  /** d(velocity)/d(attitude error at the start), 3 × 3, m/s. */
  readonly velocityByAttitude: Float64Array;
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
    velocityByAttitude: new Float64Array(9),
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
 * rotation vector in the world, q_true = Exp(θ) q.
 *
 * @param segment - receives the results
 */
export function propagateSegment(
  samples: StrapdownSamples,
  stretch: Stretch,
  segment: Segment,
): void {
  const { from, to } = stretch;
  const { impulse, attitudeByGyro, velocityByAttitude, velocityByGyro } = segment;
  begin(stretch, segment);
  attitudeByGyro.fill(0);
  velocityByGyro.fill(0);
  for (let first = from; first < to; first += BLOCK) {
    const count = Math.min(BLOCK, to - first);
    carryOver(samples, first, count, stretch, segment);
    for (let column = 0; column < 3; column++) addSensitivities(segment, count, column);
  }
  // dv/dθ = θ × ∫f.
  velocityByAttitude[1] = impulse[2]!;
  velocityByAttitude[2] = -impulse[1]!;
  velocityByAttitude[3] = -impulse[2]!;
  velocityByAttitude[5] = impulse[0]!;
  velocityByAttitude[6] = impulse[1]!;
  velocityByAttitude[7] = -impulse[0]!;
}

/** The same without the sensitivities: orientation at the end, impulse and turning only. */
export function carrySegment(samples: StrapdownSamples, stretch: Stretch, segment: Segment): void {
  begin(stretch, segment);
  for (let first = stretch.from; first < stretch.to; first += BLOCK) {
    carryOver(samples, first, Math.min(BLOCK, stretch.to - first), stretch, segment);
  }
}

function begin({ states, k }: Stretch, segment: Segment): void {
  for (let i = 0; i < 4; i++) segment.end[i] = states[STATE_NUMBERS * k + PART.orientation + i]!;
  segment.impulse.fill(0);
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
  addImpulse(samples, first, count, stretch, path, 0, segment);
}

/**
 * Writes the turns of some intervals with the bias taken off.
 *
 * @returns ∫ |ω|² dt over them, rad²/s
 */
function stepsWithoutBias(
  { times, increments }: StrapdownSamples,
  first: number,
  count: number,
  stretch: Stretch,
  steps: Float64Array,
): number {
  const bias = STATE_NUMBERS * stretch.k + PART.gyroBias;
  const bx = stretch.states[bias]!;
  const by = stretch.states[bias + 1]!;
  const bz = stretch.states[bias + 2]!;
  let turning = 0;
  for (let k = first, i = 3 * first, o = 0; k < first + count; k++, i += 3, o += 3) {
    const h = times[k + 1]! - times[k]!;
    const vx = increments[i]! - bx * h;
    const vy = increments[i + 1]! - by * h;
    const vz = increments[i + 2]! - bz * h;
    steps[o] = vx;
    steps[o + 1] = vy;
    steps[o + 2] = vz;
    turning += (vx * vx + vy * vy + vz * vz) / h;
  }
  return turning;
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
  stretch: Stretch,
  path: Float64Array,
  at: number,
  { impulse, intervals: { turns, pushes } }: Segment,
): void {
  const bias = STATE_NUMBERS * stretch.k + PART.forceBias;
  const bx = stretch.states[bias]!;
  const by = stretch.states[bias + 1]!;
  const bz = stretch.states[bias + 2]!;
  const lastShare = 1 - firstShare;
  let sumX = 0;
  let sumY = 0;
  let sumZ = 0;
  for (let k = 0, i = 3 * first, o = 0, p = 0; k < count; k++, i += 3, o += 9, p += 3) {
    const q = 4 * (at + k);
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
 * The same as {@link carrySegment}, and writes the orientation at every sample of the stretch.
 *
 * @param path - orientations of the whole log, body→world; length 4n
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
    segment.turning += stepsWithoutBias(samples, first, count, stretch, intervals.steps);
    turnBySteps(intervals.steps, count, path, first);
    addImpulse(samples, first, count, stretch, path, first, segment);
  }
  for (let i = 0; i < 4; i++) end[i] = path[4 * to + i]!;
}
