import { inverse, Matrix } from 'ml-matrix';

/** The solution of a weighted least-squares step and what it leaves unsure. */
export interface NormalSolution {
  readonly x: readonly number[];
  /** Inverse of the normal matrix; times the noise variance it is the covariance of x. */
  readonly inverse: readonly (readonly number[])[];
}

/**
 * Solves the normal equations with a prior: (JᵀWJ + diag(prior)) x = JᵀWr − prior · offset.
 *
 * @param normal - JᵀWJ, m × m
 * @param right - JᵀWr for the residual r that J x is to explain
 * @param prior - weights that pull each unknown back to what is expected of it
 * @param offset - how far each unknown already is from what is expected
 */
export function solveNormal(
  normal: readonly (readonly number[])[],
  right: readonly number[],
  prior: readonly number[],
  offset: readonly number[],
): NormalSolution {
  const matrix = new Matrix(
    normal.map((row, i) => row.map((value, j) => (i === j ? value + prior[i]! : value))),
  );
  const inverted = inverse(matrix);
  const pulled = right.map((value, i) => value - prior[i]! * offset[i]!);
  return {
    x: inverted.mmul(Matrix.columnVector(pulled)).to1DArray(),
    inverse: inverted.to2DArray(),
  };
}

/**
 * The weighted least-squares step that takes residuals e to zero: (JᵀWJ + diag(prior)) x = −JᵀWe −
 * prior · offset.
 *
 * @param rows - rows of J with their residual and weight
 */
export function solveWeighted(
  rows: Iterable<{ readonly j: readonly number[]; readonly e: number; readonly weight: number }>,
  prior: readonly number[],
  offset: readonly number[],
): NormalSolution {
  const m = prior.length;
  const normal = Array.from({ length: m }, () => new Array<number>(m).fill(0));
  const right = new Array<number>(m).fill(0);
  for (const { j, e, weight } of rows) {
    for (let a = 0; a < m; a++) {
      right[a]! -= weight * j[a]! * e;
      for (let b = 0; b < m; b++) normal[a]![b]! += weight * j[a]! * j[b]!;
    }
  }
  return solveNormal(normal, right, prior, offset);
}

/** The inverse of a square matrix. */
export function inverseOf(matrix: readonly (readonly number[])[]): number[][] {
  return inverse(new Matrix(matrix.map((row) => [...row]))).to2DArray();
}

/** The product of two matrices. */
export function product(
  a: readonly (readonly number[])[],
  b: readonly (readonly number[])[],
): number[][] {
  return new Matrix(a.map((row) => [...row]))
    .mmul(new Matrix(b.map((row) => [...row])))
    .to2DArray();
}
