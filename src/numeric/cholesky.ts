/**
 * Cholesky factorisation of a small dense symmetric matrix in place: the lower triangle of `a`
 * becomes L with L Lᵀ = A. For the inner loops of filters, where a matrix object per step would
 * cost more than the arithmetic.
 *
 * @param a - symmetric positive definite, m × m, row by row; only the lower triangle is read
 * @param m - size
 * @returns whether the matrix was positive definite; otherwise `a` is left half-factored
 * @see Golub and Van Loan, Matrix Computations, 4th ed., algorithm 4.2.1
 */
export function factorCholesky(a: Float64Array, m: number): boolean {
  for (let j = 0; j < m; j++) {
    let diagonal = a[j * m + j]!;
    for (let k = 0; k < j; k++) diagonal -= a[j * m + k]! * a[j * m + k]!;
    if (!(diagonal > 0)) return false;
    const root = Math.sqrt(diagonal);
    a[j * m + j] = root;
    for (let i = j + 1; i < m; i++) {
      let sum = a[i * m + j]!;
      for (let k = 0; k < j; k++) sum -= a[i * m + k]! * a[j * m + k]!;
      a[i * m + j] = sum / root;
    }
  }
  return true;
}

/**
 * Solves A X = B in place for the factor of {@link factorCholesky}.
 *
 * @param factor - L in the lower triangle, m × m
 * @param b - right sides side by side, m × count, row by row; becomes X
 */
export function solveCholesky(
  factor: Float64Array,
  m: number,
  b: Float64Array,
  count: number,
): void {
  for (let i = 0; i < m; i++) {
    for (let k = 0; k < i; k++) {
      const l = factor[i * m + k]!;
      if (l === 0) continue;
      for (let c = 0; c < count; c++) b[i * count + c]! -= l * b[k * count + c]!;
    }
    const inverse = 1 / factor[i * m + i]!;
    for (let c = 0; c < count; c++) b[i * count + c]! *= inverse;
  }
  for (let i = m - 1; i >= 0; i--) {
    for (let k = i + 1; k < m; k++) {
      const l = factor[k * m + i]!;
      if (l === 0) continue;
      for (let c = 0; c < count; c++) b[i * count + c]! -= l * b[k * count + c]!;
    }
    const inverse = 1 / factor[i * m + i]!;
    for (let c = 0; c < count; c++) b[i * count + c]! *= inverse;
  }
}
