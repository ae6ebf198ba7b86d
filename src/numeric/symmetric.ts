import { EigenvalueDecomposition, Matrix } from 'ml-matrix';

/**
 * The eigenvector of the smallest eigenvalue of a symmetric 3 × 3 matrix.
 *
 * @param matrix - row by row, length 9, finite
 * @returns the unit eigenvector and all eigenvalues in ascending order
 */
export function leastEigenvector(matrix: Float64Array): {
  vector: readonly [number, number, number];
  values: readonly [number, number, number];
} {
  const rows = [0, 3, 6].map((i) => Array.from(matrix.subarray(i, i + 3)));
  const decomposition = new EigenvalueDecomposition(new Matrix(rows), { assumeSymmetric: true });
  const order = [0, 1, 2].sort(
    (a, b) => decomposition.realEigenvalues[a]! - decomposition.realEigenvalues[b]!,
  );
  const vectors = decomposition.eigenvectorMatrix;
  const at = (i: number) => vectors.get(i, order[0]!);
  const value = (i: number) => decomposition.realEigenvalues[order[i]!]!;
  return { vector: [at(0), at(1), at(2)], values: [value(0), value(1), value(2)] };
}
