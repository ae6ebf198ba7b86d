import {
  addOuterProduct,
  type BandedMatrix,
  factorBanded,
  newBandedMatrix,
  solveFactored,
} from '../numeric/banded.js';
import type { Bound } from './correctionLimit.js';

/**
 * A path within bounds, near a base path. Deviations x from the base are tangent vectors, three
 * numbers a sample.
 */
export interface LimitProblem {
  /** Deviations that are wanted, rad, length 3n. */
  readonly target: Float64Array;
  /** The correction e = e₀ + J x as the deviation changes it: e₀, rad, length 3n. */
  readonly correction: Float64Array;
  /** J, 3 × 3 row by row, length 9n. */
  readonly jacobians: Float64Array;
  /** What corrections must keep within. */
  readonly bounds: readonly Bound[];
  /** Jerk of the base beyond that of the wanted path, rad per sample³, length 3n; from the fourth sample on. */
  readonly jerkOfBase: Float64Array;
  /** λ: what a squared third difference costs against a squared radian off the target. */
  readonly penalty: number;
}

/** The barrier starts at this share of the mean cost and falls by this factor, until the gap is closed. */
export interface Barrier {
  readonly first: number;
  readonly factor: number;
  /** Share of the cost that the result may lie above the least one. */
  readonly gap: number;
}
const NEWTON_STEPS = 150;
/** Δ³ of neighbouring samples. */
const THIRD_DIFFERENCE = [-1, 3, -3, 1];

/**
 * Minimises Σ|x − target|² + λ Σ|Δ³x + jerk of the base|² within the bounds, by Newton's method with
 * a logarithmic barrier. The problem is convex and each step a banded solve; every iterate lies
 * strictly inside, so the result does, wherever the iteration ends.
 *
 * @param start - deviations whose corrections lie strictly within the bounds, length 3n
 * @returns x, length 3n
 * @see Boyd and Vandenberghe, Convex Optimization, 2004, section 11.3
 */
export function solveWithinLimit(
  problem: LimitProblem,
  start: Float64Array,
  schedule: Barrier,
): Float64Array {
  const { target, correction, jacobians, bounds, penalty } = problem;
  const x = start.slice();
  const n = x.length / 3;
  if (n < 4) return x;
  const e = new Float64Array(x.length);
  correctionsOf(x, jacobians, correction, e);
  const quadratic = quadraticPart(n, penalty);
  const hessian = newBandedMatrix(3 * n, WIDTH);
  const jerk = new Float64Array(x.length);
  const step = new Float64Array(x.length);
  const stepE = new Float64Array(x.length);
  const stepJerk = new Float64Array(x.length);
  const quadraticGradient = new Float64Array(x.length);
  const costNow = () => {
    thirdDifferences(x, jerk);
    let sum = 0;
    for (let i = 0; i < x.length; i++) {
      if (i >= 9) jerk[i]! += problem.jerkOfBase[i]!;
      sum += (x[i]! - target[i]!) ** 2 + penalty * jerk[i]! ** 2;
    }
    return sum;
  };
  let cost = costNow();
  let mu = (schedule.first * cost) / n;
  for (let newton = 0; newton < NEWTON_STEPS && mu > 0; ) {
    for (;;) {
      newton++;
      // 2 (x − target) + 2 λ D₃ᵀ jerk.
      for (let i = 0; i < x.length; i++) quadraticGradient[i] = 2 * (x[i]! - target[i]!);
      addThirdDifferencesTransposed(jerk, 2 * penalty, quadraticGradient);
      const gradient = quadraticGradient.slice();
      hessian.band.set(quadratic.band);
      addBarrier(problem, e, mu, gradient, hessian);
      for (let i = 0; i < step.length; i++) step[i] = -gradient[i]!;
      factorBanded(hessian);
      solveFactored(hessian, step);
      const decrement = -dot(gradient, step);
      correctionsOf(step, jacobians, undefined, stepE);
      thirdDifferences(step, stepJerk);
      // Along the step the quadratic part is a parabola; only the barrier must be tried.
      const slope = dot(step, quadraticGradient);
      const curvature = dot(step, step) + penalty * dot(stepJerk, stepJerk);
      const before = barrier(e, stepE, 0, bounds);
      let length = 1;
      for (; length > 1e-8; length /= 2) {
        const change =
          length * slope +
          length * length * curvature +
          mu * (barrier(e, stepE, length, bounds) - before);
        if (change <= -1e-4 * length * decrement) break;
      }
      if (length <= 1e-8) break;
      for (let i = 0; i < x.length; i++) {
        x[i]! += length * step[i]!;
        e[i]! += length * stepE[i]!;
      }
      cost = costNow();
      if (decrement < 0.05 * n * mu || newton >= NEWTON_STEPS) break;
    }
    // Each of up to seven bounds of a sample may still be worth μ.
    if (7 * n * mu < schedule.gap * cost) break;
    mu *= schedule.factor;
  }
  return x;
}

/** Diagonals below the main one: three samples of three numbers, and two within a sample. */
const WIDTH = 11;

/** 2 (I + λ D₃ᵀD₃) for the three interleaved components. */
function quadraticPart(n: number, penalty: number): BandedMatrix {
  const scalar = newBandedMatrix(n, 3);
  for (let k = 0; k < n; k++) addOuterProduct(scalar, k, [1], 2);
  for (let k = 0; k + 3 < n; k++) addOuterProduct(scalar, k, THIRD_DIFFERENCE, 2 * penalty);
  const out = newBandedMatrix(3 * n, WIDTH);
  for (let k = 0; k < n; k++) {
    for (let d = 0; d <= Math.min(3, k); d++) {
      for (let axis = 0; axis < 3; axis++) {
        out.band[(3 * k + axis) * (WIDTH + 1) + 3 * d] = scalar.band[4 * k + d]!;
      }
    }
  }
  return out;
}

/** Adds the barrier's gradient and Hessian, carried from corrections to deviations by J. */
function addBarrier(
  { bounds, jacobians }: LimitProblem,
  e: Float64Array,
  mu: number,
  gradient: Float64Array,
  { band }: BandedMatrix,
): void {
  const stride = WIDTH + 1;
  const off = [0, 0, 0];
  const g = new Float64Array(3);
  const H = new Float64Array(9);
  const HJ = new Float64Array(9);
  for (let k = 0; 3 * k < e.length; k++) {
    g.fill(0);
    H.fill(0);
    let felt = false;
    for (const bound of bounds) {
      const slack = slackOf(e, undefined, 0, k, bound);
      if (slack === Number.POSITIVE_INFINITY) continue;
      felt = true;
      const { parts, centre } = bound;
      // −μ log s with s = most² − |d|² has the gradient 2μ d/s and the Hessian 2μ I/s + 4μ d dᵀ/s².
      const first = (2 * mu) / slack;
      const second = (4 * mu) / (slack * slack);
      for (let j = 0; j < parts.length; j++) {
        off[j] = e[3 * k + parts[j]!]! - (centre ? centre[j]![k]! : 0);
      }
      for (let j = 0; j < parts.length; j++) {
        g[parts[j]!]! += first * off[j]!;
        for (let l = 0; l < parts.length; l++) {
          H[3 * parts[j]! + parts[l]!]! += second * off[j]! * off[l]! + (j === l ? first : 0);
        }
      }
    }
    if (!felt) continue;
    // Jᵀ g and Jᵀ H J.
    const j = 9 * k;
    for (let r = 0; r < 3; r++) {
      for (let c = 0; c < 3; c++) {
        HJ[3 * r + c] =
          H[3 * r]! * jacobians[j + c]! +
          H[3 * r + 1]! * jacobians[j + 3 + c]! +
          H[3 * r + 2]! * jacobians[j + 6 + c]!;
      }
    }
    for (let r = 0; r < 3; r++) {
      const [a, b, c] = [jacobians[j + r]!, jacobians[j + 3 + r]!, jacobians[j + 6 + r]!];
      const i = 3 * k + r;
      gradient[i]! += a * g[0]! + b * g[1]! + c * g[2]!;
      for (let column = 0; column <= r; column++) {
        band[i * stride + r - column]! +=
          a * HJ[column]! + b * HJ[3 + column]! + c * HJ[6 + column]!;
      }
    }
  }
}

/** e = e₀ + J x, without e₀ for a step. */
function correctionsOf(
  x: Float64Array,
  jacobians: Float64Array,
  correction: Float64Array | undefined,
  out: Float64Array,
): void {
  for (let i = 0, j = 0; i < x.length; i += 3) {
    for (let row = 0; row < 3; row++, j += 3) {
      out[i + row] =
        (correction === undefined ? 0 : correction[i + row]!) +
        jacobians[j]! * x[i]! +
        jacobians[j + 1]! * x[i + 1]! +
        jacobians[j + 2]! * x[i + 2]!;
    }
  }
}

/** Third differences that end at each sample; the first three have none. */
function thirdDifferences(x: Float64Array, out: Float64Array): void {
  out.fill(0, 0, 9);
  for (let i = 9; i < out.length; i++) out[i] = x[i]! - x[i - 9]! + 3 * (x[i - 6]! - x[i - 3]!);
}

/** out += scale · D₃ᵀ third. */
function addThirdDifferencesTransposed(
  third: Float64Array,
  scale: number,
  out: Float64Array,
): void {
  for (let i = 9; i < third.length; i++) {
    const value = scale * third[i]!;
    out[i]! += value;
    out[i - 3]! -= 3 * value;
    out[i - 6]! += 3 * value;
    out[i - 9]! -= value;
  }
}

/** −Σ log slack of e + length · step; infinite outside the bounds. */
function barrier(
  e: Float64Array,
  step: Float64Array,
  length: number,
  bounds: readonly Bound[],
): number {
  let sum = 0;
  // Logarithms cost more than all the rest: take one of several slacks multiplied.
  let product = 1;
  for (const bound of bounds) {
    for (let k = 0; k < bound.most.length; k++) {
      const slack = slackOf(e, step, length, k, bound);
      if (slack === Number.POSITIVE_INFINITY) continue;
      if (!(slack > 0)) return Number.POSITIVE_INFINITY;
      product *= slack;
      if (product < 1e-150 || product > 1e150) {
        sum -= Math.log(product);
        product = 1;
      }
    }
  }
  return sum - Math.log(product);
}

/** Squared bound less the squared distance of the bounded components of e + length · step. */
function slackOf(
  e: Float64Array,
  step: Float64Array | undefined,
  length: number,
  k: number,
  { parts, centre, most }: Bound,
): number {
  const radius = most[k]!;
  if (radius === Number.POSITIVE_INFINITY) return radius;
  let slack = radius * radius;
  for (let j = 0; j < parts.length; j++) {
    const i = 3 * k + parts[j]!;
    const value =
      (step === undefined ? e[i]! : e[i]! + length * step[i]!) - (centre ? centre[j]![k]! : 0);
    slack -= value * value;
  }
  return slack;
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}
