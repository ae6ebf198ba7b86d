import { TwinkeelError } from '../error.js';

/**
 * A symmetric positive definite matrix with few diagonals, as its lower band row by row:
 * `band[i * (width + 1) + d]` holds the element in row i, column i − d.
 */
export interface BandedMatrix {
  readonly size: number;
  /** Diagonals below the main one. */
  readonly width: number;
  readonly band: Float64Array;
}

export function newBandedMatrix(size: number, width: number): BandedMatrix {
  return { size, width, band: new Float64Array(size * (width + 1)) };
}

/**
 * Adds weight · vᵀv to a banded matrix, where v has the given entries from column `first` on.
 */
export function addOuterProduct(
  { width, band }: BandedMatrix,
  first: number,
  entries: readonly number[],
  weight: number,
): void {
  for (let i = 0; i < entries.length; i++) {
    const scaled = weight * entries[i]!;
    const row = (first + i) * (width + 1);
    for (let j = 0; j <= i; j++) band[row + i - j]! += scaled * entries[j]!;
  }
}

/**
 * Factors A = L D Lᵀ in place: D on the main diagonal, the unit triangle L below. Cost
 * O(size · width²).
 *
 * @throws TwinkeelError `argument/invalid` naming the row where the matrix stops being positive
 *   definite
 * @see Golub and Van Loan, Matrix Computations, 4th ed., section 4.3.5
 */
export function factorBanded({ size, width, band }: BandedMatrix): void {
  const stride = width + 1;
  for (let i = 0; i < size; i++) {
    const row = i * stride;
    const reach = Math.min(width, i);
    // First L D in the row, from the far column to the near one, then divide.
    for (let d = reach; d > 0; d--) {
      const other = (i - d) * stride;
      let sum = band[row + d]!;
      for (let e = reach; e > d; e--) sum -= band[row + e]! * band[other + e - d]!;
      band[row + d] = sum;
    }
    let diagonal = band[row]!;
    for (let d = reach; d > 0; d--) {
      const scaled = band[row + d]!;
      const l = scaled / band[(i - d) * stride]!;
      diagonal -= l * scaled;
      band[row + d] = l;
    }
    if (!(diagonal > 0)) {
      throw new TwinkeelError('argument/invalid', {
        found: `a pivot of ${diagonal} in row ${i}`,
        expected: 'a positive definite matrix',
        remedy: 'check the weights for zeros, negative values and NaN',
      });
    }
    band[row] = diagonal;
  }
}

/** Solves A x = b in place for a matrix that {@link factorBanded} factored. */
export function solveFactored({ size, width, band }: BandedMatrix, b: Float64Array): void {
  const stride = width + 1;
  for (let i = 0; i < size; i++) {
    let sum = b[i]!;
    const row = i * stride;
    for (let d = Math.min(width, i); d > 0; d--) sum -= band[row + d]! * b[i - d]!;
    b[i] = sum;
  }
  for (let i = 0; i < size; i++) b[i]! /= band[i * stride]!;
  for (let i = size - 1; i >= 0; i--) {
    const value = b[i]!;
    const row = i * stride;
    for (let d = Math.min(width, i); d > 0; d--) b[i - d]! -= band[row + d]! * value;
  }
}
