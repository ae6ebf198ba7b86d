import type { Bound } from './correctionLimit.js';

/**
 * A path within bounds, near a base path. Deviations x from the base are tangent vectors, three
 * numbers a sample. The least Σ|x − target|² + λ Σ|Δ³x + jerk of the base|² is wanted: a convex
 * quadratic f with the gradient 2 (x − target) + 2 λ D₃ᵀ (D₃ x + jerk of the base) and the Hessian
 * 2 (I + λ D₃ᵀD₃), the same for each of the three components.
 */
export interface LimitProblem {
  /** Deviations that are wanted, rad, length 3n. */
  readonly target: Float64Array;
  /** The samples whose corrections are watched, increasing; length m. */
  readonly watched: Int32Array;
  /** Their corrections e = e₀ + J x as the deviation changes them: e₀, rad, length 3m. */
  readonly correction: Float64Array;
  /** J, 3 × 3 row by row, length 9m. */
  readonly jacobians: Float64Array;
  /** What they must keep within, each over the m samples. */
  readonly bounds: readonly Bound[];
  /** Jerk of the base beyond that of the wanted path, rad per sample³, length 3n; from the fourth sample on. */
  readonly jerkOfBase: Float64Array;
  /** λ: what a squared third difference costs against a squared radian off the target. */
  readonly penalty: number;
}

/** f, and its gradient into `gradient`, both at x. */
export function costAndGradient(
  { target, jerkOfBase, penalty }: LimitProblem,
  x: Float64Array,
  gradient: Float64Array,
): number {
  let cost = 0;
  for (let i = 0; i < x.length; i++) {
    const off = x[i]! - target[i]!;
    cost += off * off;
    gradient[i] = 2 * off;
    if (i < 9) continue;
    const jerk = x[i]! - x[i - 9]! + 3 * (x[i - 6]! - x[i - 3]!) + jerkOfBase[i]!;
    cost += penalty * jerk * jerk;
    const pull = 2 * penalty * jerk;
    gradient[i]! += pull;
    gradient[i - 3]! -= 3 * pull;
    gradient[i - 6]! += 3 * pull;
    gradient[i - 9]! -= pull;
  }
  return cost;
}

/** Δ³ of neighbouring samples, the last first. */
const THIRD_DIFFERENCE = [1, -3, 3, -1];

/** The Hessian of f for one component: each row's elements at distance 0 to 3 before it; length 4n. */
export function hessianOfCost(n: number, penalty: number): Float64Array {
  const rows = new Float64Array(4 * n);
  for (let k = 0; k < n; k++) rows[4 * k] = 2;
  for (let k = 3; k < n; k++) {
    for (let i = 0; i < 4; i++) {
      for (let d = 0; i + d < 4; d++) {
        rows[4 * (k - i) + d]! += 2 * penalty * THIRD_DIFFERENCE[i]! * THIRD_DIFFERENCE[i + d]!;
      }
    }
  }
  return rows;
}

/** e = e₀ + J x of the watched samples; without `correction` J x alone, what a step does. */
export function correctionsOf(
  {
    watched,
    correction,
    jacobians,
  }: Pick<LimitProblem, 'watched' | 'jacobians'> & { readonly correction?: Float64Array },
  x: Float64Array,
  out: Float64Array,
): void {
  for (let p = 0, i = 0, j = 0; p < watched.length; p++, i += 3, j += 9) {
    const k = 3 * watched[p]!;
    const u = x[k]!;
    const v = x[k + 1]!;
    const w = x[k + 2]!;
    out[i] = jacobians[j]! * u + jacobians[j + 1]! * v + jacobians[j + 2]! * w;
    out[i + 1] = jacobians[j + 3]! * u + jacobians[j + 4]! * v + jacobians[j + 5]! * w;
    out[i + 2] = jacobians[j + 6]! * u + jacobians[j + 7]! * v + jacobians[j + 8]! * w;
    if (correction === undefined) continue;
    out[i]! += correction[i]!;
    out[i + 1]! += correction[i + 1]!;
    out[i + 2]! += correction[i + 2]!;
  }
}
