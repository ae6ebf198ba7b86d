import type { Segment } from './strapdown.js';

/** States: attitude error, velocity, gyro bias, accelerometer bias; three each. */
export const STATES = 12;

/** Index of the first of the three states of a kind. */
export const STATE = { attitude: 0, velocity: 3, gyroBias: 6, forceBias: 9 } as const;

/** Squared deviations of a measurement of three neighbouring states. */
export type Noise = readonly [number, number, number];

/** A measurement of three states: its gain Kᵀ and the rows H P, 3 × 12, and S⁻¹, 3 × 3. */
export interface Update {
  readonly gain: Float64Array;
  readonly rows: Float64Array;
  readonly S: Float64Array;
}

/** Memory for an update, used again from node to node. */
export function newUpdate(): Update {
  return {
    gain: new Float64Array(3 * STATES),
    rows: new Float64Array(3 * STATES),
    S: new Float64Array(9),
  };
}

/** How many numbers say a covariance: its lower triangle, row by row. */
const KEPT = (STATES * (STATES + 1)) / 2;

/** Memory for the covariances of so many nodes. */
export function newCovariances(count: number): Float64Array {
  return new Float64Array(KEPT * count);
}

/** Keeps the covariance of a node. */
export function keepCovariance(P: Float64Array, kept: Float64Array, node: number): void {
  for (let i = 0, at = KEPT * node; i < STATES; i++) {
    for (let j = 0; j <= i; j++) kept[at++] = P[i * STATES + j]!;
  }
}

/** The kept covariance of a node as a whole matrix. */
export function restoreCovariance(kept: Float64Array, node: number, P: Float64Array): void {
  for (let i = 0, at = KEPT * node; i < STATES; i++) {
    for (let j = 0; j <= i; j++, at++) {
      P[i * STATES + j] = kept[at]!;
      P[j * STATES + i] = kept[at]!;
    }
  }
}

/**
 * The blocks of the transition F = I + … at every node, nine numbers each: attitude by gyro bias, which
 * is also velocity by accelerometer bias; velocity by attitude; velocity by gyro bias.
 */
export interface Transitions {
  readonly attitudeByGyro: Float64Array;
  readonly velocityByAttitude: Float64Array;
  readonly velocityByGyro: Float64Array;
}

/** Memory for the transitions to so many nodes. */
export function newTransitions(count: number): Transitions {
  return {
    attitudeByGyro: new Float64Array(9 * count),
    velocityByAttitude: new Float64Array(9 * count),
    velocityByGyro: new Float64Array(9 * count),
  };
}

/** A block of {@link Transitions} in F: the states it changes and those it reads. */
interface Place {
  readonly block: keyof Transitions;
  readonly to: number;
  readonly from: number;
}

const ATTITUDE_BY_GYRO: Place = {
  block: 'attitudeByGyro',
  to: STATE.attitude,
  from: STATE.gyroBias,
};
const VELOCITY_BY_ATTITUDE: Place = {
  block: 'velocityByAttitude',
  to: STATE.velocity,
  from: STATE.attitude,
};
const VELOCITY_BY_BIASES: readonly Place[] = [
  { block: 'velocityByGyro', to: STATE.velocity, from: STATE.gyroBias },
  { block: 'attitudeByGyro', to: STATE.velocity, from: STATE.forceBias },
];
/** Forward: velocity takes the attitude and the biases as they were, so it comes first. */
const FORWARD: readonly Place[] = [VELOCITY_BY_ATTITUDE, ...VELOCITY_BY_BIASES, ATTITUDE_BY_GYRO];
/** Backward the gyro's bias acts on the attitude as it came in, so that comes first. */
const BACKWARD: readonly Place[] = [ATTITUDE_BY_GYRO, ...VELOCITY_BY_BIASES, VELOCITY_BY_ATTITUDE];

/**
 * Keeps the blocks of one segment. The column that would let a horizontal force tell the heading
 * is left out: a walk's changes of pace correlate with its turns, so that it would invent an error
 * of the gyro about the vertical.
 */
export function keepTransition(blocks: Transitions, node: number, segment: Segment): void {
  blocks.attitudeByGyro.set(segment.attitudeByGyro, 9 * node);
  blocks.velocityByAttitude.set(segment.velocityByAttitude, 9 * node);
  blocks.velocityByGyro.set(segment.velocityByGyro, 9 * node);
  for (let row = 0; row < 3; row++) blocks.velocityByAttitude[9 * node + 3 * row + 1] = 0;
}

/** P ← F P Fᵀ. */
export function carryCovariance(P: Float64Array, blocks: Transitions, node: number): void {
  for (const { block, to, from } of FORWARD) addRows(P, to, from, blocks[block], node);
  // The biases stay as they are: their rows are the columns of the others.
  for (const { block, to, from } of FORWARD) addColumns(P, to, from, blocks[block], node);
  mirror(P);
}

/** x ← Fᵀ x. */
export function transposedTransition(x: Float64Array, blocks: Transitions, node: number): void {
  for (const { block, to, from } of BACKWARD) {
    const values = blocks[block];
    for (let c = 0, o = 9 * node; c < 3; c++, o++) {
      x[from + c]! +=
        values[o]! * x[to]! + values[o + 3]! * x[to + 1]! + values[o + 6]! * x[to + 2]!;
    }
  }
}

/** Λ ← Fᵀ Λ F. */
export function backOverTransition(L: Float64Array, blocks: Transitions, node: number): void {
  for (const { block, to, from } of BACKWARD) addColumnsBack(L, from, to, blocks[block], node);
  for (const { block, to, from } of BACKWARD) addRowsBack(L, from, to, blocks[block], node);
}

/**
 * Kalman update with a measurement of three neighbouring states; P is updated in place.
 *
 * @param at - the first of the three states
 * @param update - receives the gain and S⁻¹
 */
export function updateCovariance(P: Float64Array, at: number, noise: Noise, update: Update): void {
  const m = STATES;
  gainOf(P, at, noise, update);
  const { gain, rows } = update;
  for (let i = 0; i < m; i++) {
    const a = gain[i]!;
    const b = gain[m + i]!;
    const c = gain[2 * m + i]!;
    for (let j = 0; j <= i; j++) {
      const value = P[i * m + j]! - (a * rows[j]! + b * rows[m + j]! + c * rows[2 * m + j]!);
      P[i * m + j] = value;
      P[j * m + i] = value;
    }
  }
}

/** Kᵀ = S⁻¹ H P and S⁻¹ for a measurement of three neighbouring states. */
export function gainOf(P: Float64Array, at: number, noise: Noise, update: Update): void {
  const { gain, rows, S } = update;
  const m = STATES;
  rows.set(P.subarray(at * m, (at + 3) * m));
  const a = rows[at]! + noise[0];
  const b = rows[at + 1]!;
  const c = rows[at + 2]!;
  const d = rows[m + at + 1]! + noise[1];
  const e = rows[m + at + 2]!;
  const f = rows[2 * m + at + 2]! + noise[2];
  const A = d * f - e * e;
  const B = c * e - b * f;
  const C = b * e - c * d;
  const inverse = 1 / (a * A + b * B + c * C);
  S[0] = A * inverse;
  S[1] = B * inverse;
  S[2] = C * inverse;
  S[3] = S[1]!;
  S[4] = (a * f - c * c) * inverse;
  S[5] = (b * c - a * e) * inverse;
  S[6] = S[2]!;
  S[7] = S[5]!;
  S[8] = (a * d - b * b) * inverse;
  for (let i = 0; i < m; i++) {
    const x = rows[i]!;
    const y = rows[m + i]!;
    const z = rows[2 * m + i]!;
    gain[i] = S[0]! * x + S[1]! * y + S[2]! * z;
    gain[m + i] = S[3]! * x + S[4]! * y + S[5]! * z;
    gain[2 * m + i] = S[6]! * x + S[7]! * y + S[8]! * z;
  }
}

/** y ← (I − K H) y. */
export function afterUpdate(y: Float64Array, at: number, { gain }: Update): void {
  const a = y[at]!;
  const b = y[at + 1]!;
  const c = y[at + 2]!;
  for (let i = 0; i < STATES; i++) {
    y[i]! -= gain[i]! * a + gain[STATES + i]! * b + gain[2 * STATES + i]! * c;
  }
}

/** y = P x. */
export function multiplySymmetric(P: Float64Array, x: Float64Array, y: Float64Array): void {
  for (let i = 0, at = 0; i < STATES; i++) {
    let sum = 0;
    for (let j = 0; j < STATES; j++, at++) sum += P[at]! * x[j]!;
    y[i] = sum;
  }
}

/** p Λ pᵀ with the row of P that starts at `row` and a symmetric Λ. */
export function quadraticForm(L: Float64Array, P: Float64Array, row: number): number {
  let sum = 0;
  for (let i = 0; i < STATES; i++) {
    let inner = 0;
    for (let j = 0; j < i; j++) inner += L[i * STATES + j]! * P[row + j]!;
    sum += P[row + i]! * (2 * inner + L[i * STATES + i]! * P[row + i]!);
  }
  return sum;
}

/** Λ ← (I − K H)ᵀ Λ (I − K H) + Hᵀ S⁻¹ H; `room` holds 36 numbers. */
export function backOverUpdate(
  L: Float64Array,
  at: number,
  { gain, S }: Update,
  room: Float64Array,
): void {
  const m = STATES;
  for (let i = 0; i < m; i++) {
    let x = 0;
    let y = 0;
    let z = 0;
    for (let j = 0; j < m; j++) {
      const l = L[i * m + j]!;
      x += l * gain[j]!;
      y += l * gain[m + j]!;
      z += l * gain[2 * m + j]!;
    }
    L[i * m + at]! -= x;
    L[i * m + at + 1]! -= y;
    L[i * m + at + 2]! -= z;
  }
  // The rows of Λ have to serve all three gains before any of them changes.
  room.fill(0);
  for (let r = 0; r < 3; r++) {
    for (let j = 0; j < m; j++) {
      const g = gain[r * m + j]!;
      for (let i = 0; i < m; i++) room[r * m + i]! += g * L[j * m + i]!;
    }
  }
  for (let r = 0; r < 3; r++) {
    for (let i = 0; i < m; i++) L[(at + r) * m + i]! -= room[r * m + i]!;
    for (let c = 0; c < 3; c++) L[(at + r) * m + at + c]! += S[3 * r + c]!;
  }
}

/** P[to + r, :] += Σ_c block[r][c] P[from + c, :]. */
function addRows(P: Float64Array, to: number, from: number, block: Float64Array, node: number) {
  const m = STATES;
  const source = from * m;
  for (let r = 0, o = 9 * node; r < 3; r++, o += 3) {
    const a = block[o]!;
    const b = block[o + 1]!;
    const c = block[o + 2]!;
    const target = (to + r) * m;
    for (let j = 0; j < m; j++) {
      P[target + j]! += a * P[source + j]! + b * P[source + m + j]! + c * P[source + 2 * m + j]!;
    }
  }
}

/** P[:, to + r] += Σ_c P[:, from + c] block[r][c] in the rows of attitude and velocity. */
function addColumns(P: Float64Array, to: number, from: number, block: Float64Array, node: number) {
  const m = STATES;
  for (let r = 0, o = 9 * node; r < 3; r++, o += 3) {
    const a = block[o]!;
    const b = block[o + 1]!;
    const c = block[o + 2]!;
    for (let i = 0; i < STATE.gyroBias * m; i += m) {
      P[i + to + r]! += a * P[i + from]! + b * P[i + from + 1]! + c * P[i + from + 2]!;
    }
  }
}

/** L[:, to + c] += Σ_r L[:, from + r] block[r][c]. */
function addColumnsBack(
  L: Float64Array,
  to: number,
  from: number,
  block: Float64Array,
  node: number,
): void {
  const m = STATES;
  for (let c = 0, o = 9 * node; c < 3; c++, o++) {
    const a = block[o]!;
    const b = block[o + 3]!;
    const d = block[o + 6]!;
    for (let i = 0; i < m * m; i += m) {
      L[i + to + c]! += L[i + from]! * a + L[i + from + 1]! * b + L[i + from + 2]! * d;
    }
  }
}

/** L[to + c, :] += Σ_r block[r][c] L[from + r, :]. */
function addRowsBack(
  L: Float64Array,
  to: number,
  from: number,
  block: Float64Array,
  node: number,
): void {
  const m = STATES;
  const source = from * m;
  for (let c = 0, o = 9 * node; c < 3; c++, o++) {
    const a = block[o]!;
    const b = block[o + 3]!;
    const d = block[o + 6]!;
    const target = (to + c) * m;
    for (let j = 0; j < m; j++) {
      L[target + j]! += a * L[source + j]! + b * L[source + m + j]! + d * L[source + 2 * m + j]!;
    }
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
