import type { FilteredNodes } from './forwardFilter.js';
import type { NodeKnowledge } from './nodeKnowledge.js';
import { measurementsAt, newMeasurements, rests } from './nodeMeasurements.js';
import { backOverTransition } from './nodeTransitions.js';
import type { SmootherModel } from './smootherModel.js';
import { restoreCovariance, STATE, STATES, type Update } from './stateCovariance.js';

/**
 * Variances of the smoothed errors without inverses: P − P Λ P, where Λ gathers from the end what the
 * measurements from each node on say.
 *
 * @param see - called for every node from the last to the first, with what tells the variance of one of
 *   its twelve errors
 * @see Bierman, "Fixed interval smoothing with discrete measurements", Int. J. Control 18(1), 1973;
 *   held by the joint distribution of all states (test/inertial/orientationSmoother.test.ts)
 */
export function smoothedVariances(
  { covariances, transitions }: FilteredNodes,
  knowledge: NodeKnowledge,
  model: SmootherModel,
  see: (node: number, varianceOf: (error: number) => number) => void,
): void {
  const m = STATES;
  const L = new Float64Array(m * m);
  const P = new Float64Array(m * m);
  const measurements = newMeasurements();
  const { velocity, rest } = measurements;
  const product = new Float64Array(3 * m);
  // Where the future tells almost everything, rounding may leave less than nothing.
  const varianceOf = (error: number) =>
    Math.max(P[error * m + error]! - quadraticForm(L, P, error * m), 0);
  for (let k = knowledge.velocityDeviation.length - 1; k >= 0; k--) {
    restoreCovariance(covariances, k, P);
    // Back over the measurements, the last one first.
    measurementsAt(k, P, knowledge, model, measurements);
    if (rests(knowledge, k)) backOverUpdate(L, STATE.gyroBias, rest, product);
    backOverUpdate(L, STATE.velocity, velocity, product);
    see(k, varianceOf);
    if (k > 0) backOverTransition(L, transitions, k);
  }
}

/** p Λ pᵀ with the row of P that starts at `row` and a symmetric Λ. */
function quadraticForm(L: Float64Array, P: Float64Array, row: number): number {
  let sum = 0;
  for (let i = 0; i < STATES; i++) {
    let inner = 0;
    for (let j = 0; j < i; j++) inner += L[i * STATES + j]! * P[row + j]!;
    sum += P[row + i]! * (2 * inner + L[i * STATES + i]! * P[row + i]!);
  }
  return sum;
}

/**
 * Λ ← (I − K H)ᵀ Λ (I − K H) + Hᵀ S⁻¹ H. H picks three states, so that only their rows and columns
 * change: by Λ K, and where they meet by Kᵀ Λ K + S⁻¹ as well.
 *
 * @param product - room for (Λ K)ᵀ, 36 numbers
 */
function backOverUpdate(
  L: Float64Array,
  at: number,
  { gain, S }: Update,
  product: Float64Array,
): void {
  timesGain(L, gain, product);
  for (let c = 0; c < 3; c++) {
    for (let i = 0; i < STATES; i++) {
      L[i * STATES + at + c]! -= product[c * STATES + i]!;
      L[(at + c) * STATES + i]! -= product[c * STATES + i]!;
    }
  }
  addMeasured(L, at, gain, S, product);
}

/** (Λ K)ᵀ. */
function timesGain(L: Float64Array, gain: Float64Array, product: Float64Array): void {
  const m = STATES;
  for (let i = 0, row = 0; i < m; i++, row += m) {
    let x = 0;
    let y = 0;
    let z = 0;
    for (let j = 0; j < m; j++) {
      const l = L[row + j]!;
      x += l * gain[j]!;
      y += l * gain[m + j]!;
      z += l * gain[2 * m + j]!;
    }
    product[i] = x;
    product[m + i] = y;
    product[2 * m + i] = z;
  }
}

/** Adds Kᵀ Λ K + S⁻¹ where the three states meet. */
function addMeasured(
  L: Float64Array,
  at: number,
  gain: Float64Array,
  S: Float64Array,
  product: Float64Array,
): void {
  const m = STATES;
  for (let r = 0; r < 3; r++) {
    for (let c = 0; c <= r; c++) {
      let sum = S[3 * r + c]!;
      for (let i = 0; i < m; i++) sum += gain[r * m + i]! * product[c * m + i]!;
      L[(at + r) * m + at + c]! += sum;
      if (c < r) L[(at + c) * m + at + r]! += sum;
    }
  }
}
