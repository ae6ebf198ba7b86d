import type { Quaternion, Vector3 } from '../rotation/quaternion.js';
import { angleOverHalfSine, halfCosine, halfSineOverAngle } from '../rotation/rotationVector.js';

/**
 * The state of a camera as thirteen numbers in a list of many: orientation body→world x, y, z, w,
 * velocity (m/s), gyro bias (rad/s), accelerometer bias (m/s²). Errors of a state are twelve: the
 * orientation's is a rotation vector of the world, q_true = Exp(θ) q.
 */
export const STATE_NUMBERS = 13;

/** Where each part of a state stands. */
export const PART = { orientation: 0, velocity: 4, gyroBias: 7, accelerationBias: 10 } as const;

/** The constant errors of the sensors. */
export type Bias = 'gyroBias' | 'accelerationBias';

/** A list of one state. */
export function stateOf(
  orientation: Quaternion,
  velocity: ArrayLike<number> = [0, 0, 0],
  gyroBias: ArrayLike<number> = [0, 0, 0],
  accelerationBias: ArrayLike<number> = [0, 0, 0],
): Float64Array {
  const state = new Float64Array(STATE_NUMBERS);
  state.set(orientation, PART.orientation);
  state.set(velocity, PART.velocity);
  state.set(gyroBias, PART.gyroBias);
  state.set(accelerationBias, PART.accelerationBias);
  return state;
}

/** The orientation of the k-th state. */
export function orientationAt(states: Float64Array, k: number): Quaternion {
  const at = STATE_NUMBERS * k + PART.orientation;
  return [states[at]!, states[at + 1]!, states[at + 2]!, states[at + 3]!];
}

/** Mean of a sensor's error over all states. */
export function meanOf(states: Float64Array, part: Bias): Vector3 {
  let x = 0;
  let y = 0;
  let z = 0;
  for (let i = PART[part]; i < states.length; i += STATE_NUMBERS) {
    x += states[i]!;
    y += states[i + 1]!;
    z += states[i + 2]!;
  }
  const count = states.length / STATE_NUMBERS;
  return [x / count, y / count, z / count];
}

/**
 * Adds an error of twelve numbers to the k-th state; its orientation stays a unit quaternion.
 *
 * @see Solà, "Quaternion kinematics for the error-state Kalman filter", 2017, section 7 on global angular
 *   errors
 */
export function correctState(states: Float64Array, k: number, error: Float64Array): void {
  const at = STATE_NUMBERS * k;
  const vx = error[0]!;
  const vy = error[1]!;
  const vz = error[2]!;
  const squared = vx * vx + vy * vy + vz * vz;
  const angle = Math.sqrt(squared);
  const s = halfSineOverAngle(angle, squared);
  const c = halfCosine(angle, squared);
  const dx = vx * s;
  const dy = vy * s;
  const dz = vz * s;
  const x = states[at]!;
  const y = states[at + 1]!;
  const z = states[at + 2]!;
  const w = states[at + 3]!;
  const nx = c * x + dx * w + dy * z - dz * y;
  const ny = c * y - dx * z + dy * w + dz * x;
  const nz = c * z + dx * y - dy * x + dz * w;
  const nw = c * w - dx * x - dy * y - dz * z;
  const norm = Math.sqrt(nx * nx + ny * ny + nz * nz + nw * nw);
  states[at] = nx / norm;
  states[at + 1] = ny / norm;
  states[at + 2] = nz / norm;
  states[at + 3] = nw / norm;
  for (let i = 3; i < 12; i++) states[at + i + 1]! += error[i]!;
}

/** The error of twelve numbers that takes the k-th of some states to the k-th of others. */
export function errorBetween(
  from: Float64Array,
  to: Float64Array,
  k: number,
  error: Float64Array,
): void {
  const at = STATE_NUMBERS * k;
  const ax = -from[at]!;
  const ay = -from[at + 1]!;
  const az = -from[at + 2]!;
  const aw = from[at + 3]!;
  const bx = to[at]!;
  const by = to[at + 1]!;
  const bz = to[at + 2]!;
  const bw = to[at + 3]!;
  const real = bw * aw - bx * ax - by * ay - bz * az;
  const sign = real < 0 ? -1 : 1;
  const x = sign * (bw * ax + bx * aw + by * az - bz * ay);
  const y = sign * (bw * ay - bx * az + by * aw + bz * ax);
  const z = sign * (bw * az + bx * ay - by * ax + bz * aw);
  const factor = angleOverHalfSine(Math.sqrt(x * x + y * y + z * z), sign * real);
  error[0] = x * factor;
  error[1] = y * factor;
  error[2] = z * factor;
  for (let i = 3; i < 12; i++) error[i] = to[at + i + 1]! - from[at + i + 1]!;
}
