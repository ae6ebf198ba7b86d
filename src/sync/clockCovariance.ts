import { inverseOf, product } from '../numeric/leastSquares.js';

/** What each frame says about the unknowns, after the fit. */
export interface Scores {
  /** Derivatives without their slow part, one list of length 3n for each unknown. */
  readonly columns: readonly Float64Array[];
  /** What the fit leaves, rad; length 3n. */
  readonly residual: Float64Array;
  /** Biweights that the fit used, length n. */
  readonly weights: Float64Array;
  readonly framesPerSecond: number;
}

/** Residuals are taken as alike over this long, s: rows wander for a third of a second. */
const ALIKE = 2;
/** But over no more than this share of the frames, since sums over most of them are zero by the fit. */
const LARGEST_SHARE = 0.2;

/**
 * Covariance of a robust fit whose residuals depend on their neighbours: H⁻¹ V H⁻¹, with H the slope of
 * the weighted residuals and V the variance of their sum, from sums over overlapping windows. What the
 * prior says comes in as one more observation.
 *
 * @param normal - JᵀWJ without the spline
 * @param prior - squared noise over squared prior deviation, for each unknown
 * @param sigma - noise of a good frame, rad
 * @see Huber, Robust Statistics, 1981, section 7.6; Newey and West, Econometrica 55(3), 1987; Politis
 *   and Romano, J. Time Series Analysis 16(1), 1995, for the two widths that cancel the loss of one
 *   (from memory)
 */
export function sandwichCovariance(
  scores: Scores,
  normal: readonly (readonly number[])[],
  prior: readonly number[],
  sigma: number,
): number[][] {
  const n = scores.weights.length;
  const p = normal.length;
  const slope = slopeShare(scores);
  const frames = frameScores(scores, p);
  const width = Math.max(
    2,
    Math.round(Math.min(ALIKE * scores.framesPerSecond, LARGEST_SHARE * n)),
  );
  const wide = windowVariance(frames, p, width);
  const narrow = windowVariance(frames, p, width >> 1);
  const single = windowVariance(frames, p, 1);
  const growth = wide.map((row, i) => {
    const own = row[i]!;
    const full = Math.max(own, 2 * own - narrow[i]![i]!, single[i]![i]!);
    return own > 0 ? Math.sqrt(full / own / (1 - width / n)) : 1;
  });
  const meat = wide.map((row, i) =>
    row.map((value, j) => value * growth[i]! * growth[j]! + (i === j ? prior[i]! * sigma ** 2 : 0)),
  );
  const bread = inverseOf(
    normal.map((row, i) => row.map((value, j) => slope * value + (i === j ? prior[i]! : 0))),
  );
  return product(product(bread, meat), bread);
}

/** Mean slope of the weighted residual over its mean weight: below 1, since weights fall with distance. */
function slopeShare({ weights }: Scores): number {
  let slope = 0;
  let weight = 0;
  for (let k = 0; k < weights.length; k++) {
    const w = weights[k]!;
    const u2 = 1 - Math.sqrt(w);
    weight += w;
    // w I + w′ r rᵀ/|r|, averaged over directions: w − (4/3) u² (1 − u²).
    slope += w - (4 / 3) * u2 * (1 - u2);
  }
  return Math.max(slope / weight, 0.2);
}

/** Each frame's share of the normal equations' right side, n × p. */
function frameScores({ columns, residual, weights }: Scores, p: number): Float64Array {
  const n = weights.length;
  const out = new Float64Array(n * p);
  columns.forEach((column, u) => {
    for (let k = 0; k < n; k++) {
      const i = 3 * k;
      out[p * k + u] =
        weights[k]! *
        (column[i]! * residual[i]! +
          column[i + 1]! * residual[i + 1]! +
          column[i + 2]! * residual[i + 2]!);
    }
  });
  return out;
}

/** Variance of the sum of all scores, from their sums over every window of a width: Bartlett's weights. */
function windowVariance(scores: Float64Array, p: number, width: number): number[][] {
  const n = scores.length / p;
  const out = Array.from({ length: p }, () => new Array<number>(p).fill(0));
  const sum = new Float64Array(p);
  for (let end = 0; end < n + width - 1; end++) {
    for (let u = 0; u < p; u++) {
      if (end < n) sum[u]! += scores[p * end + u]!;
      if (end >= width) sum[u]! -= scores[p * (end - width) + u]!;
    }
    for (let a = 0; a < p; a++) {
      const row = out[a]!;
      for (let b = 0; b <= a; b++) row[b]! += (sum[a]! * sum[b]!) / width;
    }
  }
  for (let a = 0; a < p; a++) for (let b = a + 1; b < p; b++) out[a]![b] = out[b]![a]!;
  return out;
}
