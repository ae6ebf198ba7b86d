import { describe, expect, test } from 'vitest';
import { symmetricEigen } from '../../src/numeric/symmetric.js';
import { fc } from '../seed.js';

const EPSILON = Number.EPSILON;
const entry = fc.integer({ min: -1000, max: 1000 }).map((k) => k / 1000);
const symmetric = fc
  .tuple(entry, entry, entry, entry, entry, entry)
  .map(([a, b, c, d, e, f]) => Float64Array.of(a, b, c, b, d, e, c, e, f));
const dot = (u: readonly number[], v: readonly number[]) =>
  u.reduce((sum, value, i) => sum + value * v[i]!, 0);
/** No eigenvalue exceeds 3; some thirty rotations of six operations reach them. */
const TOLERANCE = 3 * 30 * 6 * EPSILON;

describe('the eigenvectors of a symmetric matrix', () => {
  test('are only stretched by it, each by its value', () => {
    fc.assert(
      fc.property(symmetric, (matrix) => {
        const { values, vectors } = symmetricEigen(matrix);
        vectors.forEach((vector, k) => {
          for (let row = 0; row < 3; row++) {
            const image = dot([...matrix.subarray(3 * row, 3 * row + 3)], vector);
            expect(Math.abs(image - values[k]! * vector[row]!)).toBeLessThan(TOLERANCE);
          }
        });
      }),
    );
  });

  test('stand at right angles with length one, their values rising', () => {
    fc.assert(
      fc.property(symmetric, (matrix) => {
        const { values, vectors } = symmetricEigen(matrix);
        expect(values[0]).toBeLessThanOrEqual(values[1]);
        expect(values[1]).toBeLessThanOrEqual(values[2]);
        vectors.forEach((u, i) => {
          vectors.forEach((v, j) => {
            expect(Math.abs(dot(u, v) - (i === j ? 1 : 0))).toBeLessThan(TOLERANCE);
          });
        });
      }),
    );
  });

  test('of a diagonal matrix are the axes, from the smallest', () => {
    const { values, vectors } = symmetricEigen(Float64Array.of(3, 0, 0, 0, 1, 0, 0, 0, 2));
    expect(values).toEqual([1, 2, 3]);
    expect(vectors.map((vector) => vector.map(Math.abs))).toEqual([
      [0, 1, 0],
      [0, 0, 1],
      [1, 0, 0],
    ]);
  });
});
