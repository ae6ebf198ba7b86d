import { PART, STATE_NUMBERS } from './motionState.js';
import type { Segment, Stretch } from './segment.js';
import type { StrapdownSamples } from './strapdownSamples.js';

/** Squared length of a sum of two quaternions that are opposite to rounding. */
const NO_MIDDLE = 1e-30;

/**
 * Adds the force of the intervals at hand, turned into the world by the orientation half-way: the sum
 * of the quaternions at both ends, since it lies between them.
 */
export function addImpulse(
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
export function addSensitivities(
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
