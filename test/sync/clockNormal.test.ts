import { expect, test } from 'vitest';
import { seededRandom } from '../../bench/accuracy/random.js';
import { splineBasis, splineFitter, splineNormal } from '../../src/numeric/splineBasis.js';
import { reducedNormal, withoutSlow } from '../../src/sync/clockNormal.js';
import { largestGap } from '../apart.js';

const FRAMES = 80;
const random = seededRandom('columns');
const noise = (length: number) => Float64Array.from({ length }, () => random.normal());
const basis = splineBasis(
  Float64Array.from({ length: FRAMES }, (_, k) => k / 10),
  2,
);
const weights = noise(FRAMES).map((x, k) => (k % 7 === 0 ? 0 : x * x));
const columns = [0, 1, 2].map(() => noise(3 * FRAMES));
const residual = noise(3 * FRAMES);

/** A column less its weighted spline, axis by axis. */
function fast(column: Float64Array): Float64Array {
  const slowOf = splineFitter(basis, weights);
  const out = column.slice();
  for (let axis = 0; axis < 3; axis++) {
    const slow = slowOf(Float64Array.from({ length: FRAMES }, (_, k) => column[3 * k + axis]!));
    for (let k = 0; k < FRAMES; k++) out[3 * k + axis]! -= slow[k]!;
  }
  return out;
}
const weighed = (a: Float64Array, b: Float64Array) =>
  a.reduce((sum, value, i) => sum + weights[Math.floor(i / 3)]! * value * b[i]!, 0);

test('the normal equations are those of what a spline leaves of columns and residual', () => {
  const spline = splineNormal(basis, weights);
  const { normal, right, taken } = reducedNormal(columns, residual, weights, spline);
  // Jᵀ W (1 − P) J: what a spline P leaves stands on one side only. Sums of 240 products
  // of up to 100, twice.
  const tolerance = 2 * 240 ** 2 * 100 * Number.EPSILON;
  columns.forEach((a, i) => {
    columns.forEach((b, j) => {
      expect(Math.abs(normal[i]![j]! - weighed(a, fast(b)))).toBeLessThan(tolerance);
    });
    expect(Math.abs(right[i]! - weighed(a, fast(residual)))).toBeLessThan(tolerance);
    expect(largestGap(withoutSlow(a, taken[i]!, spline), fast(a))).toBeLessThan(1e-12);
  });
});
