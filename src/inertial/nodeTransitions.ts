import { vectorAt } from '../rotation/arrays.js';
import { rotateVector } from '../rotation/quaternion.js';
import { quaternionFromRotationVector } from '../rotation/rotationVector.js';
import type { Segment } from './segment.js';
import { STATE, STATES } from './stateCovariance.js';

/**
 * How each node follows from the one before, 21 numbers for each: attitude by gyro bias, which is also
 * velocity by accelerometer bias, and velocity by gyro bias, both 3 × 3 row by row, then the impulse,
 * which the attitude's error turns. They make up the transition of the errors
 *
 *     θ ← θ + A b,  v ← v + θ × p + C b + A a   with the θ, b and a from before.
 *
 * @see Solà, "Quaternion kinematics for the error-state Kalman filter", 2017, section 7 on global angular
 *   errors; here over a stretch of many samples
 */
export type Transitions = Float64Array;

/** How many numbers say a transition, and where its parts stand. */
export const TRANSITION_NUMBERS = 21;
const VELOCITY_BY_GYRO = 9;
const IMPULSE = 18;

/** Keeps the transition over a segment, to the node at its end. */
export function keepTransition(
  kept: Transitions,
  node: number,
  { attitudeByGyro, velocityByGyro, impulse }: Segment,
): void {
  const at = TRANSITION_NUMBERS * node;
  for (let i = 0; i < 9; i++) {
    kept[at + i] = attitudeByGyro[i]!;
    kept[at + VELOCITY_BY_GYRO + i] = velocityByGyro[i]!;
  }
  for (let i = 0; i < 3; i++) kept[at + IMPULSE + i] = impulse[i]!;
}

/**
 * The impulse up to a node from a state before it that differs by an error from the one that was
 * carried on: exactly for its attitude and accelerometer bias, linearly for its gyro bias.
 *
 * @param out - receives it at the node's place
 */
export function impulseFrom(
  kept: Transitions,
  node: number,
  error: Float64Array,
  out: Float64Array,
): void {
  const at = TRANSITION_NUMBERS * node;
  const impulse: [number, number, number] = [0, 0, 0];
  for (let r = 0; r < 3; r++) {
    let sum = kept[at + IMPULSE + r]!;
    for (let c = 0; c < 3; c++) {
      sum += kept[at + VELOCITY_BY_GYRO + 3 * r + c]! * error[STATE.gyroBias + c]!;
      sum += kept[at + 3 * r + c]! * error[STATE.accelerationBias + c]!;
    }
    impulse[r] = sum;
  }
  const turn = quaternionFromRotationVector(vectorAt(error, 0));
  out.set(rotateVector(turn, impulse), 3 * node);
}

/** P ← F P Fᵀ. */
export function carryCovariance(P: Float64Array, kept: Transitions, node: number): void {
  carryErrors(P, STATES, 1, STATES, kept, node);
  // The biases stay as they are: their rows are the columns of the others.
  carryErrors(P, 1, STATES, STATE.gyroBias, kept, node);
  mirror(P);
}

/** x ← Fᵀ x. */
export function transposedTransition(x: Float64Array, kept: Transitions, node: number): void {
  carryBack(x, 1, STATES, 1, kept, node);
}

/** Λ ← Fᵀ Λ F. */
export function backOverTransition(L: Float64Array, kept: Transitions, node: number): void {
  carryBack(L, STATES, 1, STATES, kept, node);
  carryBack(L, 1, STATES, STATES, kept, node);
}

/**
 * x ← F x for vectors of twelve errors in a matrix.
 *
 * The heading's part of θ × p is left out: a walk's changes of pace correlate with its turns, so that a
 * horizontal force would invent an error of the gyro about the vertical.
 *
 * @param stride - from one error of a vector to the next
 * @param step - from one vector to the next
 */
function carryErrors(
  x: Float64Array,
  stride: number,
  step: number,
  count: number,
  kept: Transitions,
  node: number,
): void {
  const at = TRANSITION_NUMBERS * node;
  const a0 = kept[at]!;
  const a1 = kept[at + 1]!;
  const a2 = kept[at + 2]!;
  const a3 = kept[at + 3]!;
  const a4 = kept[at + 4]!;
  const a5 = kept[at + 5]!;
  const a6 = kept[at + 6]!;
  const a7 = kept[at + 7]!;
  const a8 = kept[at + 8]!;
  const c0 = kept[at + 9]!;
  const c1 = kept[at + 10]!;
  const c2 = kept[at + 11]!;
  const c3 = kept[at + 12]!;
  const c4 = kept[at + 13]!;
  const c5 = kept[at + 14]!;
  const c6 = kept[at + 15]!;
  const c7 = kept[at + 16]!;
  const c8 = kept[at + 17]!;
  const px = kept[at + 18]!;
  const py = kept[at + 19]!;
  const pz = kept[at + 20]!;
  for (let n = 0, i = 0; n < count; n++, i += step) {
    const tx = x[i]!;
    const tz = x[i + 2 * stride]!;
    const gx = x[i + 6 * stride]!;
    const gy = x[i + 7 * stride]!;
    const gz = x[i + 8 * stride]!;
    const bx = x[i + 9 * stride]!;
    const by = x[i + 10 * stride]!;
    const bz = x[i + 11 * stride]!;
    x[i + 3 * stride]! += a0 * bx + a1 * by + a2 * bz + (c0 * gx + c1 * gy + c2 * gz) - tz * py;
    x[i + 4 * stride]! +=
      a3 * bx + a4 * by + a5 * bz + (c3 * gx + c4 * gy + c5 * gz) + (tz * px - tx * pz);
    x[i + 5 * stride]! += a6 * bx + a7 * by + a8 * bz + (c6 * gx + c7 * gy + c8 * gz) + tx * py;
    x[i] = tx + (a0 * gx + a1 * gy + a2 * gz);
    x[i + stride]! += a3 * gx + a4 * gy + a5 * gz;
    x[i + 2 * stride] = tz + (a6 * gx + a7 * gy + a8 * gz);
  }
}

/** x ← Fᵀ x for vectors of twelve in a matrix; see {@link carryErrors}. */
function carryBack(
  x: Float64Array,
  stride: number,
  step: number,
  count: number,
  kept: Transitions,
  node: number,
): void {
  const at = TRANSITION_NUMBERS * node;
  const a0 = kept[at]!;
  const a1 = kept[at + 1]!;
  const a2 = kept[at + 2]!;
  const a3 = kept[at + 3]!;
  const a4 = kept[at + 4]!;
  const a5 = kept[at + 5]!;
  const a6 = kept[at + 6]!;
  const a7 = kept[at + 7]!;
  const a8 = kept[at + 8]!;
  const c0 = kept[at + 9]!;
  const c1 = kept[at + 10]!;
  const c2 = kept[at + 11]!;
  const c3 = kept[at + 12]!;
  const c4 = kept[at + 13]!;
  const c5 = kept[at + 14]!;
  const c6 = kept[at + 15]!;
  const c7 = kept[at + 16]!;
  const c8 = kept[at + 17]!;
  const px = kept[at + 18]!;
  const py = kept[at + 19]!;
  const pz = kept[at + 20]!;
  for (let n = 0, i = 0; n < count; n++, i += step) {
    const tx = x[i]!;
    const ty = x[i + stride]!;
    const tz = x[i + 2 * stride]!;
    const vx = x[i + 3 * stride]!;
    const vy = x[i + 4 * stride]!;
    const vz = x[i + 5 * stride]!;
    x[i + 6 * stride]! += a0 * tx + a3 * ty + a6 * tz + (c0 * vx + c3 * vy + c6 * vz);
    x[i + 7 * stride]! += a1 * tx + a4 * ty + a7 * tz + (c1 * vx + c4 * vy + c7 * vz);
    x[i + 8 * stride]! += a2 * tx + a5 * ty + a8 * tz + (c2 * vx + c5 * vy + c8 * vz);
    x[i + 9 * stride]! += a0 * vx + a3 * vy + a6 * vz;
    x[i + 10 * stride]! += a1 * vx + a4 * vy + a7 * vz;
    x[i + 11 * stride]! += a2 * vx + a5 * vy + a8 * vz;
    x[i] = tx + (vz * py - vy * pz);
    x[i + 2 * stride] = tz + (vy * px - vx * py);
  }
}

/** Makes a matrix symmetric whose rows of attitude and velocity are right but for their rounding. */
function mirror(P: Float64Array): void {
  for (let i = 0; i < STATE.gyroBias; i++) {
    for (let j = 0; j < i; j++) {
      const mean = 0.5 * (P[i * STATES + j]! + P[j * STATES + i]!);
      P[i * STATES + j] = mean;
      P[j * STATES + i] = mean;
    }
    for (let j = STATE.gyroBias; j < STATES; j++) P[j * STATES + i] = P[i * STATES + j]!;
  }
}
