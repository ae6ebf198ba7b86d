/** States: attitude error, velocity, gyro bias, accelerometer bias; three each. */
export const STATES = 12;

/** Index of the first of the three states of a kind. */
export const STATE = { attitude: 0, velocity: 3, gyroBias: 6, accelerationBias: 9 } as const;

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
export const COVARIANCE_NUMBERS = (STATES * (STATES + 1)) / 2;

/** Keeps the covariance of a node. */
export function keepCovariance(P: Float64Array, kept: Float64Array, node: number): void {
  for (let i = 0, at = COVARIANCE_NUMBERS * node; i < STATES; i++) {
    for (let j = 0; j <= i; j++) kept[at++] = P[i * STATES + j]!;
  }
}

/** The kept covariance of a node as a whole matrix. */
export function restoreCovariance(kept: Float64Array, node: number, P: Float64Array): void {
  for (let i = 0, at = COVARIANCE_NUMBERS * node; i < STATES; i++) {
    for (let j = 0; j <= i; j++, at++) {
      P[i * STATES + j] = kept[at]!;
      P[j * STATES + i] = kept[at]!;
    }
  }
}

/**
 * Kalman update with a measurement of three neighbouring states; P is updated in place.
 *
 * @param at - the first of the three states
 * @param update - receives the gain and S⁻¹
 * @see Kalman, "A new approach to linear filtering and prediction problems", J. Basic Engineering 82(1),
 *   1960
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
  for (let i = 0, from = at * m; i < 3 * m; i++) rows[i] = P[from + i]!;
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
  const s00 = A * inverse;
  const s01 = B * inverse;
  const s02 = C * inverse;
  const s11 = (a * f - c * c) * inverse;
  const s12 = (b * c - a * e) * inverse;
  const s22 = (a * d - b * b) * inverse;
  S[0] = s00;
  S[1] = S[3] = s01;
  S[2] = S[6] = s02;
  S[4] = s11;
  S[5] = S[7] = s12;
  S[8] = s22;
  for (let i = 0; i < m; i++) {
    const x = rows[i]!;
    const y = rows[m + i]!;
    const z = rows[2 * m + i]!;
    gain[i] = s00 * x + s01 * y + s02 * z;
    gain[m + i] = s01 * x + s11 * y + s12 * z;
    gain[2 * m + i] = s02 * x + s12 * y + s22 * z;
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

/** Solves P y = x in place for the factor of `factorCholesky`. */
export function solveFactored(factor: Float64Array, x: Float64Array): void {
  const m = STATES;
  for (let i = 0, row = 0; i < m; i++, row += m) {
    let sum = x[i]!;
    for (let k = 0; k < i; k++) sum -= factor[row + k]! * x[k]!;
    x[i] = sum / factor[row + i]!;
  }
  for (let i = m - 1, row = m * (m - 1); i >= 0; i--, row -= m) {
    const value = x[i]! / factor[row + i]!;
    x[i] = value;
    for (let k = 0; k < i; k++) x[k]! -= factor[row + k]! * value;
  }
}
