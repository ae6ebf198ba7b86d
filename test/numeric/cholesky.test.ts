import { Matrix, solve } from 'ml-matrix';
import { describe, expect, test } from 'vitest';
import { factorCholesky, solveCholesky } from '../../src/numeric/cholesky.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';

const EPSILON = Number.EPSILON;
const entry = fc.integer({ min: -1000, max: 1000 }).map((k) => k / 1000);

/** BBᵀ + I of size m, eigenvalues from 1 to 1 + m², and several right sides. */
const systems = fc
  .record({ m: fc.integer({ min: 1, max: 6 }), count: fc.integer({ min: 1, max: 3 }) })
  .chain(({ m, count }) =>
    fc.record({
      m: fc.constant(m),
      count: fc.constant(count),
      root: fc.array(entry, { minLength: m * m, maxLength: m * m }),
      b: fc.array(entry, { minLength: m * count, maxLength: m * count }),
    }),
  )
  .map(({ m, count, root, b }) => {
    const B = Matrix.from1DArray(m, m, root);
    const A = B.mmul(B.transpose()).add(Matrix.eye(m));
    return { m, count, A, a: Float64Array.from(A.to1DArray()), b: Float64Array.from(b) };
  });

describe('the Cholesky factor', () => {
  test('times its transpose it is the matrix', () => {
    fc.assert(
      fc.property(systems, ({ m, A, a }) => {
        expect(factorCholesky(a, m)).toBe(true);
        const L = Matrix.from1DArray(m, m, a);
        for (let i = 0; i < m; i++) for (let j = i + 1; j < m; j++) L.set(i, j, 0);
        // m products and m sums per element, none above the diagonal's 1 + m.
        const tolerance = 2 * m * (1 + m) * EPSILON;
        expect(L.mmul(L.transpose()).sub(A).abs().max()).toBeLessThan(tolerance);
      }),
    );
  });

  test('it solves several right sides as the dense matrix does', () => {
    fc.assert(
      fc.property(systems, ({ m, count, A, a, b }) => {
        const expected = solve(A, Matrix.from1DArray(m, count, b)).to1DArray();
        factorCholesky(a, m);
        solveCholesky(a, m, b, count);
        // Condition 1 + m², sums of m in three stages on both sides, |x| ≤ √m.
        const tolerance = (1 + m * m) * 6 * m * Math.sqrt(m) * EPSILON;
        expect(largestGap(b, expected)).toBeLessThan(tolerance);
      }),
    );
  });

  test('what stands above the diagonal is neither read nor changed', () => {
    const full = Float64Array.of(4, 2, 2, 5);
    const lower = Float64Array.of(4, Number.NaN, 2, 5);
    expect(factorCholesky(full, 2) && factorCholesky(lower, 2)).toBe(true);
    expect([...lower]).toEqual([2, Number.NaN, 1, 2]);
    expect([...full]).toEqual([2, 2, 1, 2]);
  });

  test.each([
    ['indefinite', [1, 2, 2, 1]],
    ['singular', [1, 1, 1, 1]],
    ['not a number', [1, 0, 0, Number.NaN]],
  ])('a matrix that is %s has none', (_what, a) => {
    expect(factorCholesky(Float64Array.from(a), 2)).toBe(false);
  });
});
