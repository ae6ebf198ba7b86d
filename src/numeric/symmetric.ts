import { EigenvalueDecomposition, Matrix } from 'ml-matrix';

type Triple = readonly [number, number, number];

/**
 * Eigenvalues of a symmetric 3 × 3 matrix in ascending order, with their unit eigenvectors.
 *
 * @param matrix - row by row, length 9, finite
 */
export function symmetricEigen(matrix: Float64Array): {
  values: Triple;
  vectors: readonly [Triple, Triple, Triple];
} {
  const rows = [0, 3, 6].map((i) => Array.from(matrix.subarray(i, i + 3)));
  const decomposition = new EigenvalueDecomposition(new Matrix(rows), { assumeSymmetric: true });
  const { realEigenvalues, eigenvectorMatrix } = decomposition;
  const order = [0, 1, 2].sort((a, b) => realEigenvalues[a]! - realEigenvalues[b]!);
  const vector = (k: number): Triple => {
    const column = order[k]!;
    return [
      eigenvectorMatrix.get(0, column),
      eigenvectorMatrix.get(1, column),
      eigenvectorMatrix.get(2, column),
    ];
  };
  const value = (k: number) => realEigenvalues[order[k]!]!;
  return {
    values: [value(0), value(1), value(2)],
    vectors: [vector(0), vector(1), vector(2)],
  };
}
