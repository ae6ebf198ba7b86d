import { inverse, Matrix } from 'ml-matrix';

/** The solution of a weighted least-squares step and what it leaves unsure. */
export interface NormalSolution {
  readonly x: readonly number[];
  /** Inverse of the normal matrix; times the noise variance it is the covariance of x. */
  readonly inverse: readonly (readonly number[])[];
}

/**
 * Solves the normal equations (JᵀWJ + diag(prior)) x = −(JᵀWe + prior · offset).
 *
 * @param rows - rows of J with their residual and weight
 * @param prior - weights that pull each unknown back by its offset from what is expected
 * @param offset - how far each unknown already is from what is expected
 */
export function solveWeighted(
  rows: Iterable<{ readonly j: readonly number[]; readonly e: number; readonly weight: number }>,
  prior: readonly number[],
  offset: readonly number[],
): NormalSolution {
  const m = prior.length;
  const normal = Matrix.diag(Array.from(prior));
  const right = prior.map((weight, i) => -weight * offset[i]!);
  for (const { j, e, weight } of rows) {
    for (let a = 0; a < m; a++) {
      right[a]! -= weight * j[a]! * e;
      for (let b = 0; b < m; b++) normal.set(a, b, normal.get(a, b) + weight * j[a]! * j[b]!);
    }
  }
  const inverted = inverse(normal);
  const x = inverted.mmul(Matrix.columnVector(right)).to1DArray();
  return { x, inverse: inverted.to2DArray() };
}
