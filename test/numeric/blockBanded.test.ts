import { Matrix, solve } from 'ml-matrix';
import { describe, expect, test } from 'vitest';
import { factorBlocks, newBlockFactor, solveBlocks } from '../../src/numeric/blockBanded.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';

const entry = fc.integer({ min: -1000, max: 1000 }).map((k) => k / 1000);

/** Multiples of the identity up to three blocks away, symmetric blocks on the diagonal, a right side. */
const systems = fc.integer({ min: 1, max: 9 }).chain((n) =>
  fc.record({
    multiples: fc.array(entry, { minLength: 4 * n, maxLength: 4 * n }),
    diagonal: fc.array(entry, { minLength: 6 * n, maxLength: 6 * n }),
    b: fc.array(entry, { minLength: 3 * n, maxLength: 3 * n }),
  }),
);

function denseOf(multiples: Float64Array, diagonal: Float64Array): Matrix {
  const n = multiples.length / 4;
  const dense = Matrix.zeros(3 * n, 3 * n);
  for (let k = 0; k < n; k++) {
    for (let d = 0; d <= Math.min(3, k); d++) {
      for (let axis = 0; axis < 3; axis++) {
        dense.set(3 * k + axis, 3 * (k - d) + axis, multiples[4 * k + d]!);
        dense.set(3 * (k - d) + axis, 3 * k + axis, multiples[4 * k + d]!);
      }
    }
    for (let row = 0, i = 6 * k; row < 3; row++) {
      for (let column = 0; column <= row; column++, i++) {
        const value = dense.get(3 * k + row, 3 * k + column) + diagonal[i]!;
        dense.set(3 * k + row, 3 * k + column, value);
        dense.set(3 * k + column, 3 * k + row, value);
      }
    }
  }
  return dense;
}

describe('a matrix of 3 × 3 blocks', () => {
  test('is solved as the dense one is', () => {
    fc.assert(
      fc.property(systems, ({ multiples, diagonal, b }) => {
        // A row has at most 6 elements of other blocks and 3 of its own, all of at most 1, so that 12
        // more on the diagonal leave it larger than the rest by 2 or more.
        const scalars = Float64Array.from(multiples, (x, i) => (i % 4 === 0 ? 12 + x : x));
        const blocks = Float64Array.from(diagonal);
        const factor = newBlockFactor(scalars.length / 4);
        const x = Float64Array.from(b);
        expect(factorBlocks(scalars, blocks, factor)).toBe(true);
        solveBlocks(factor, x);
        const expected = solve(denseOf(scalars, blocks), Matrix.columnVector(b)).to1DArray();
        // Condition below 22/2, values below ½, and 27 rows of at most 12 products each.
        expect(largestGap(x, expected)).toBeLessThan(11 * 27 * 12 * Number.EPSILON);
      }),
    );
  });

  test.each([0, 1, 2])('is refused where its pivot number %d is not above zero', (axis) => {
    const multiples = Float64Array.of(2, 0, 0, 0, 2, -1, 0, 0);
    const diagonal = new Float64Array(12);
    const factor = newBlockFactor(2);
    expect(factorBlocks(multiples, diagonal, factor)).toBe(true);
    // 2 less the square of 1 over 2 leaves 1.5; xx, yy and zz stand at 0, 2 and 5 of six.
    diagonal[6 + [0, 2, 5][axis]!] = -1.5;
    expect(factorBlocks(multiples, diagonal, factor)).toBe(false);
    diagonal[6 + [0, 2, 5][axis]!] = Number.NaN;
    expect(factorBlocks(multiples, diagonal, factor)).toBe(false);
  });
});
