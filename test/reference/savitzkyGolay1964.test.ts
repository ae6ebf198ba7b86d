// Savitzky, Golay, "Smoothing and differentiation of data by simplified least squares procedures", Analytical Chemistry 36(8), 1964.
// Tables with the corrections of Steinier, Termonia, Deltour, Analytical Chemistry 44(11), 1972
// (from memory); all agree with scipy 1.10 savgol_coeffs to 1e-15.
import { describe, expect, test } from 'vitest';
import { savitzkyGolayWeights } from '../../src/numeric/filterDesign.js';
import { largestGap } from '../apart.js';

/**
 * Normal equations in powers of −1 … 1: their condition number is 12 at most for degree 2 and 560
 * for degree 4, and every weight is a sum of up to 5 products.
 */
const tolerance = (degree: number) => 5 * (degree === 2 ? 12 : 560) * Number.EPSILON;

test.each([
  [2, 35, [-3, 12, 17, 12, -3]],
  [2, 21, [-2, 3, 6, 7, 6, 3, -2]],
  [2, 231, [-21, 14, 39, 54, 59, 54, 39, 14, -21]],
  [2, 429, [-36, 9, 44, 69, 84, 89, 84, 69, 44, 9, -36]],
  [4, 231, [5, -30, 75, 131, 75, -30, 5]],
  [4, 429, [15, -55, 30, 135, 179, 135, 30, -55, 15]],
])('smoothing by degree %d has the weights of the table, over %d', (degree, norm, table) => {
  const weights = savitzkyGolayWeights(table.length >> 1, degree);
  const printed = table.map((x) => x / norm);
  expect(largestGap(weights, printed)).toBeLessThan(tolerance(degree));
});

test.each([
  [-2, [31, 9, -3, -5, 3]],
  [-1, [9, 13, 12, 6, -5]],
  [1, [-5, 6, 12, 13, 9]],
  [2, [3, -5, -3, 9, 31]],
])(
  'at place %d of five values a parabola has the weights of the end rows, over 35',
  (at, table) => {
    const printed = table.map((x) => x / 35);
    expect(largestGap(savitzkyGolayWeights(2, 2, at), printed)).toBeLessThan(tolerance(2));
  },
);

describe('the slope and curvature of the fitted parabola, by its values at −1, 0 and 1', () => {
  const differences = (half: number, factors: readonly [number, number, number]) => {
    const values = [-1, 0, 1].map((at) => savitzkyGolayWeights(half, 2, at));
    return Array.from({ length: 2 * half + 1 }, (_, i) =>
      values.reduce((sum, weights, k) => sum + factors[k]! * weights[i]!, 0),
    );
  };

  test.each([
    [10, [-2, -1, 0, 1, 2]],
    [28, [-3, -2, -1, 0, 1, 2, 3]],
  ])('have the weights of the table for the first derivative, over %d', (norm, table) => {
    const printed = table.map((x) => x / norm);
    const slope = differences(table.length >> 1, [-0.5, 0, 0.5]);
    expect(largestGap(slope, printed)).toBeLessThan(tolerance(2));
  });

  test.each([
    [7, [2, -1, -2, -1, 2]],
    [42, [5, 0, -3, -4, -3, 0, 5]],
  ])('have the weights of the table for the second derivative, over %d', (norm, table) => {
    const printed = table.map((x) => x / norm);
    const curvature = differences(table.length >> 1, [1, -2, 1]);
    expect(largestGap(curvature, printed)).toBeLessThan(4 * tolerance(2));
  });
});
