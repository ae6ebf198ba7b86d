import { Matrix, solve } from 'ml-matrix';
import { describe, expect, test } from 'vitest';
import {
  addOuterProduct,
  type BandedMatrix,
  factorBanded,
  newBandedMatrix,
  solveFactored,
} from '../../src/numeric/banded.js';
import { largestGap } from '../apart.js';
import { refusal } from '../refusal.js';
import { fc } from '../seed.js';

const EPSILON = Number.EPSILON;
const entry = fc.integer({ min: -1000, max: 1000 }).map((k) => k / 1000);

/** A sum of outer products, positive definite by 1 … 2 on the diagonal, and a right side. */
const systems = fc
  .record({ size: fc.integer({ min: 1, max: 12 }), width: fc.integer({ min: 0, max: 4 }) })
  .chain(({ size, width }) =>
    fc.record({
      size: fc.constant(size),
      width: fc.constant(width),
      diagonal: fc.array(entry, { minLength: size, maxLength: size }),
      products: fc.array(
        fc.record({
          first: fc.integer({ min: 0, max: size - 1 }),
          entries: fc.array(entry, { minLength: 1, maxLength: width + 1 }),
          weight: entry.map(Math.abs),
        }),
        { maxLength: 2 * size },
      ),
      b: fc.array(entry, { minLength: size, maxLength: size }),
    }),
  )
  .map(({ size, width, diagonal, products, b }) => {
    const banded = newBandedMatrix(size, width);
    const dense = Matrix.zeros(size, size);
    diagonal.forEach((d, i) => {
      addOuterProduct(banded, i, [1], 1.5 + d / 2);
      dense.set(i, i, 1.5 + d / 2);
    });
    for (const { first, entries, weight } of products) {
      const inside = entries.slice(0, size - first);
      addOuterProduct(banded, first, inside, weight);
      const v = Matrix.zeros(size, 1);
      inside.forEach((x, k) => {
        v.set(first + k, 0, x);
      });
      dense.add(v.mmul(v.transpose()).mul(weight));
    }
    return { banded, dense, b: Float64Array.from(b) };
  });

const element = ({ width, band }: BandedMatrix, i: number, j: number) =>
  Math.abs(i - j) > width ? 0 : band[Math.max(i, j) * (width + 1) + Math.abs(i - j)]!;

describe('a banded matrix', () => {
  test('holds the lower band of the sum of its outer products', () => {
    fc.assert(
      fc.property(systems, ({ banded, dense }) => {
        // At most 25 summands, of at most 1 each.
        dense.to2DArray().forEach((row, i) => {
          row.forEach((value, j) => {
            expect(Math.abs(element(banded, i, j) - value)).toBeLessThan(25 * 25 * EPSILON);
          });
        });
      }),
    );
  });

  test('its factors multiply to the matrix again', () => {
    fc.assert(
      fc.property(systems, ({ banded, dense }) => {
        factorBanded(banded);
        const n = banded.size;
        const L = Matrix.eye(n);
        for (let i = 0; i < n; i++) for (let j = 0; j < i; j++) L.set(i, j, element(banded, i, j));
        const D = Matrix.diag(Array.from({ length: n }, (_, i) => element(banded, i, i)));
        const product = L.mmul(D).mmul(L.transpose());
        // Six products and as many sums per element, none above the diagonal's 2 + 24.
        expect(product.sub(dense).abs().max()).toBeLessThan(12 * 26 * EPSILON);
      }),
    );
  });

  test('it solves as the dense matrix does', () => {
    fc.assert(
      fc.property(systems, ({ banded, dense, b }) => {
        factorBanded(banded);
        const x = b.slice();
        solveFactored(banded, x);
        const expected = solve(dense, Matrix.columnVector(b)).to1DArray();
        // Eigenvalues from 1 to 26: condition 26, for sums of 12 on both sides, |x| ≤ √12.
        expect(largestGap(x, expected)).toBeLessThan(26 * 24 * Math.sqrt(12) * EPSILON);
      }),
    );
  });

  test.each([0, -1, Number.NaN])('a pivot of %d is refused and its row named', (weight) => {
    const matrix = newBandedMatrix(3, 1);
    addOuterProduct(matrix, 0, [1], 1);
    addOuterProduct(matrix, 1, [1], weight);
    expect(() => factorBanded(matrix)).toThrow(
      refusal('argument/invalid', `a pivot of ${weight} in row 1`),
    );
  });
});
