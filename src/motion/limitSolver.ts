import {
  addOuterProduct,
  type BandedMatrix,
  factorBanded,
  newBandedMatrix,
  solveFactored,
} from '../numeric/banded.js';
import { type Bound, boundsOf, type CorrectionLimit, fractionOfBound } from './correctionLimit.js';

/** Deviations from the wanted path are smoothed below this frequency, Hz (our judgement). */
const SMOOTHNESS = 1;
/** Seconds kept free to either side of a stretch beyond the limit, for the path to swing out and back. */
const MARGIN = 3;
/** The barrier starts at this share of the mean cost and falls by this factor. */
const BARRIER = { first: 0.3, factor: 0.15, gap: 0.02 };
const NEWTON_STEPS = 150;
/** −Δ³ of neighbouring samples. */
const THIRD_DIFFERENCE = [-1, 3, -3, 1];

/**
 * The corrections nearest to the wanted ones within a limit, by Newton's method with a logarithmic
 * barrier. The problem is convex and each step a banded solve; every iterate lies strictly inside,
 * so the result does, wherever the iteration ends. Only stretches near the limit are solved; the
 * rest keeps the wanted correction.
 *
 * @param wanted - E, rotation vectors, length 3n
 * @param start - corrections strictly within the limit, length 3n
 * @see Boyd and Vandenberghe, Convex Optimization, 2004, section 11.3
 */
export function nearestWithinLimit(
  wanted: Float64Array,
  start: Float64Array,
  limit: CorrectionLimit,
  sampleRate: number,
): Float64Array {
  const bounds = boundsOf(limit, wanted);
  const out = wanted.slice();
  const n = wanted.length / 3;
  const penalty = 1 / (2 * Math.sin(Math.PI * Math.min(SMOOTHNESS / sampleRate, 0.25))) ** 6;
  for (const { from, to } of stretchesNearBounds(wanted, bounds, Math.round(MARGIN * sampleRate))) {
    const solution = solveStretch(
      wanted.subarray(3 * from, 3 * to),
      start.subarray(3 * from, 3 * to),
      bounds.map(({ parts, centre, most }) => ({
        parts,
        ...(centre && { centre: centre.map((list) => list.subarray(from, to)) }),
        most: most.subarray(from, to),
      })),
      penalty,
      { start: from > 0, end: to < n },
    );
    out.set(solution, 3 * from);
  }
  return out;
}

/** Which ends of a stretch go on in the wanted path; the ends of the clip are free. */
interface Tied {
  readonly start: boolean;
  readonly end: boolean;
}

/** Stretches that hold every sample close to a bound and the margin around it. */
function stretchesNearBounds(
  e: Float64Array,
  bounds: readonly Bound[],
  margin: number,
): { from: number; to: number }[] {
  const n = e.length / 3;
  const stretches: { from: number; to: number }[] = [];
  for (let k = 0; k < n; k++) {
    if (!bounds.some((bound) => fractionOfBound(e, k, bound) > 0.9)) continue;
    const from = Math.max(0, k - margin);
    const to = Math.min(n, k + margin + 1);
    const last = stretches[stretches.length - 1];
    if (last && from <= last.to) last.to = to;
    else stretches.push({ from, to });
  }
  return stretches;
}

function solveStretch(
  wanted: Float64Array,
  start: Float64Array,
  bounds: readonly Bound[],
  penalty: number,
  tied: Tied,
): Float64Array {
  const n = wanted.length / 3;
  if (n < 4) return start.slice();
  // A hair towards zero makes the start strictly feasible.
  const e = start.map((value) => 0.98 * value);
  const quadratic = quadraticPart(n, penalty, tied);
  const hessian = newBandedMatrix(3 * n, WIDTH);
  const step = new Float64Array(3 * n);
  const deviation = new Float64Array(3 * n);
  const quadraticGradient = new Float64Array(3 * n);
  const stepGradient = new Float64Array(3 * n);
  const deviate = () => {
    for (let i = 0; i < e.length; i++) deviation[i] = e[i]! - wanted[i]!;
    applyQuadratic(deviation, penalty, tied, quadraticGradient);
    return dot(deviation, quadraticGradient) / 2;
  };
  let cost = deviate();
  let mu = (BARRIER.first * cost) / n;
  for (let newton = 0; newton < NEWTON_STEPS && mu > 0; ) {
    for (;;) {
      newton++;
      const decrement = newtonStep(e, quadraticGradient, bounds, mu, quadratic, hessian, step);
      // Along the step the quadratic part is a parabola; only the barrier must be tried.
      applyQuadratic(step, penalty, tied, stepGradient);
      const slope = dot(step, quadraticGradient);
      const curvature = dot(step, stepGradient) / 2;
      const before = barrier(e, step, 0, bounds);
      let length = 1;
      for (; length > 1e-8; length /= 2) {
        const change =
          length * slope +
          length * length * curvature +
          mu * (barrier(e, step, length, bounds) - before);
        if (change <= -1e-4 * length * decrement) break;
      }
      if (length <= 1e-8) break;
      for (let i = 0; i < e.length; i++) e[i]! += length * step[i]!;
      cost = deviate();
      if (decrement < 0.05 * n * mu || newton >= NEWTON_STEPS) break;
    }
    if (7 * n * mu < BARRIER.gap * cost) break;
    mu *= BARRIER.factor;
  }
  return e;
}

/** Diagonals below the main one: three samples of three numbers, and two within a sample. */
const WIDTH = 11;

/** 2 (I + λ D₃ᵀD₃) for the three interleaved components; beyond tied ends the deviation is zero. */
function quadraticPart(n: number, penalty: number, tied: Tied): BandedMatrix {
  const scalar = newBandedMatrix(n, 3);
  for (let k = 0; k < n; k++) addOuterProduct(scalar, k, [1], 2);
  for (let k = tied.start ? -3 : 0; k < (tied.end ? n : n - 3); k++) {
    const first = Math.max(0, -k);
    const entries = THIRD_DIFFERENCE.slice(first, Math.min(4, n - k));
    addOuterProduct(scalar, k + first, entries, 2 * penalty);
  }
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

/** Newton's step of the barrier problem into `step`; returns the decrement −gᵀp. */
function newtonStep(
  e: Float64Array,
  quadraticGradient: Float64Array,
  bounds: readonly Bound[],
  mu: number,
  quadratic: BandedMatrix,
  hessian: BandedMatrix,
  step: Float64Array,
): number {
  const stride = WIDTH + 1;
  const { band } = hessian;
  band.set(quadratic.band);
  const gradient = quadraticGradient.slice();
  const off = [0, 0, 0];
  for (const bound of bounds) {
    const { parts, centre, most } = bound;
    for (let k = 0; k < most.length; k++) {
      const slack = slackOf(e, undefined, 0, k, bound);
      if (slack === Number.POSITIVE_INFINITY) continue;
      const g = (2 * mu) / slack;
      const h = (4 * mu) / (slack * slack);
      for (let j = 0; j < parts.length; j++) {
        off[j] = e[3 * k + parts[j]!]! - (centre ? centre[j]![k]! : 0);
      }
      // Parts stand in rising order: the second index runs up to the first.
      for (let j = 0; j < parts.length; j++) {
        const i = 3 * k + parts[j]!;
        gradient[i]! += g * off[j]!;
        for (let l = 0; l <= j; l++) {
          band[i * stride + parts[j]! - parts[l]!]! += h * off[j]! * off[l]! + (j === l ? g : 0);
        }
      }
    }
  }
  for (let i = 0; i < step.length; i++) step[i] = -gradient[i]!;
  factorBanded(hessian);
  solveFactored(hessian, step);
  return -dot(gradient, step);
}

/** out = 2 (I + λ D₃ᵀD₃) x, with x zero beyond tied ends. */
function applyQuadratic(x: Float64Array, penalty: number, tied: Tied, out: Float64Array): void {
  const size = x.length;
  for (let i = 0; i < size; i++) out[i] = 2 * x[i]!;
  const scale = 2 * penalty;
  for (let i = tied.start ? -9 : 0; i < (tied.end ? size : size - 9); i++) {
    const inside = i >= 0 && i + 9 < size;
    const a = i >= 0 ? x[i]! : 0;
    const b = inside || (i + 3 >= 0 && i + 3 < size) ? x[i + 3]! : 0;
    const c = inside || (i + 6 >= 0 && i + 6 < size) ? x[i + 6]! : 0;
    const d = inside || i + 9 < size ? x[i + 9]! : 0;
    const third = scale * (d - a + 3 * (b - c));
    if (i >= 0) out[i]! -= third;
    if (inside || (i + 3 >= 0 && i + 3 < size)) out[i + 3]! += 3 * third;
    if (inside || (i + 6 >= 0 && i + 6 < size)) out[i + 6]! -= 3 * third;
    if (inside || i + 9 < size) out[i + 9]! += third;
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
