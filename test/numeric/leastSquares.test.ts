import { describe, expect, test } from 'vitest';
import { solveNormal, solveWeighted } from '../../src/numeric/leastSquares.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';

const EPSILON = Number.EPSILON;
const entry = fc.integer({ min: -1000, max: 1000 }).map((k) => k / 1000);
const threes = fc.array(entry, { minLength: 3, maxLength: 3 });
const UNITS = [
  [1, 0, 0],
  [0, 1, 0],
  [0, 0, 1],
];

/** Rows of J with weights; the unit rows keep JᵀWJ between 1 and 1 + 3 · 12. */
const problems = fc.record({
  rows: fc
    .array(fc.record({ j: threes, weight: entry.map(Math.abs) }), { maxLength: 12 })
    .map((rows) => [...rows, ...UNITS.map((j) => ({ j, weight: 1 }))]),
  x: threes,
});
const times = (j: readonly number[], x: readonly number[]) =>
  j.reduce((sum, value, i) => sum + value * x[i]!, 0);

describe('a least-squares step', () => {
  test('takes the residuals of a linear model to zero', () => {
    fc.assert(
      fc.property(problems, ({ rows, x }) => {
        const exact = rows.map((row) => ({ ...row, e: -times(row.j, x) }));
        const found = solveWeighted(exact, [0, 0, 0], [0, 0, 0]).x;
        // Condition 37, sums of 15 rows and an inverse of 27 operations, |x| ≤ √3.
        expect(largestGap(found, x)).toBeLessThan(37 * 37 * 42 * 2 * EPSILON);
      }),
    );
  });

  test('the inverse times the normal matrix is one', () => {
    fc.assert(
      fc.property(problems, ({ rows }) => {
        const normal = [0, 1, 2].map((a) =>
          [0, 1, 2].map((b) => rows.reduce((s, { j, weight }) => s + weight * j[a]! * j[b]!, 0)),
        );
        const { inverse } = solveNormal(normal, [0, 0, 0], [0, 0, 0], [0, 0, 0]);
        UNITS.forEach((unit, a) => {
          const product = UNITS.map((_, b) =>
            times(
              normal[a]!,
              inverse.map((row) => row[b]!),
            ),
          );
          expect(largestGap(product, unit)).toBeLessThan(37 * 37 * 42 * EPSILON);
        });
      }),
    );
  });

  test('a prior alone returns to what is expected', () => {
    const zeros = UNITS.map(() => [0, 0, 0]);
    expect(solveNormal(zeros, [0, 0, 0], [1, 2, 4], [3, -5, 7]).x).toEqual([-3, 5, -7]);
  });

  test('a measurement and a prior of equal weight meet half-way', () => {
    expect(solveNormal([[2]], [2 * 10], [2], [0]).x).toEqual([5]);
    expect(solveWeighted([{ j: [1], e: -10, weight: 2 }], [2], [0]).x).toEqual([5]);
  });
});
