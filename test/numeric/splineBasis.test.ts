import { describe, expect, test } from 'vitest';
import { splineBasis, splineFitter } from '../../src/numeric/splineBasis.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';

const EPSILON = Number.EPSILON;
const steps = fc.array(fc.integer({ min: 1, max: 100 }), { minLength: 20, maxLength: 60 });
/** Increasing places, unevenly spaced. */
const places = steps.map((list) => {
  let sum = 0;
  return Float64Array.from(list, (step) => {
    sum += step / 100;
    return sum;
  });
});
const spacings = fc.integer({ min: 1, max: 20 }).map((k) => k / 2);

describe('a cubic spline basis', () => {
  test('has four neighbours at each place, none negative, one in sum', () => {
    fc.assert(
      fc.property(places, spacings, (at, spacing) => {
        const { size, first, values } = splineBasis(at, spacing);
        at.forEach((_, k) => {
          const four = values.subarray(4 * k, 4 * k + 4);
          expect(Math.min(...four)).toBeGreaterThanOrEqual(-4 * EPSILON);
          // Four cubics of at most seven operations.
          expect(Math.abs(four.reduce((sum, v) => sum + v, 0) - 1)).toBeLessThan(28 * EPSILON);
          expect(first[k]).toBeGreaterThanOrEqual(0);
          expect(first[k]! + 4).toBeLessThanOrEqual(size);
        });
      }),
    );
  });

  test('a knot sees 1/6, 4/6, 1/6', () => {
    const { size, first, values } = splineBasis(Float64Array.of(0, 1, 2, 3), 1);
    expect(size).toBe(6);
    expect([...first]).toEqual([0, 1, 2, 2]);
    expect(largestGap(values.subarray(4, 8), [1 / 6, 4 / 6, 1 / 6, 0])).toBeLessThan(EPSILON);
    expect(largestGap(values.subarray(12), [0, 1 / 6, 4 / 6, 1 / 6])).toBeLessThan(EPSILON);
  });

  test('one place alone is enough', () => {
    expect(splineBasis(Float64Array.of(5), 3).size).toBe(4);
  });
});

describe('a spline fit', () => {
  const at = Float64Array.from({ length: 300 }, (_, k) => k / 25);
  const basis = splineBasis(at, 3);
  const even = new Float64Array(300).fill(1);
  const cubic = at.map((t) => 1 - t + 0.3 * t * t - 0.02 * t ** 3);

  test('keeps a straight line', () => {
    const line = at.map((t) => 2 - t);
    // The ridge is 1e-9 of the mean weight of a function; the Gram matrix of a cubic spline has
    // no eigenvalue below a thirtieth of that (more at the ends, where functions are cut off).
    expect(largestGap(splineFitter(basis, even)(line), line)).toBeLessThan(12 * 3e-6);
  });

  test('keeps a cubic', () => {
    // The penalty on the coefficients' second differences (at most 9 · 0.6 + 9 · 12 · 0.12) is
    // 1e-6 of the mean weight; magnified as before.
    expect(largestGap(splineFitter(basis, even)(cubic), cubic)).toBeLessThan(19 * 30 * 1e-6);
  });

  test('does not hear what has no weight, and bridges a stretch without any', () => {
    const weights = even.map((_, k) => (k > 100 && k < 200 ? 0 : 1));
    const spoilt = cubic.map((value, k) => (weights[k] === 0 ? 1e3 : value));
    const smooth = splineFitter(basis, weights);
    expect([...smooth(spoilt)]).toEqual([...smooth(cubic)]);
    // Its four seconds are longer than a knot interval, so the ridge has the word there too.
    expect(largestGap(smooth(spoilt), cubic)).toBeLessThan(0.1);
  });

  test('hears one place when nothing else has any weight', () => {
    const weights = even.map((_, k) => (k === 120 ? 2 : 0));
    const smooth = splineFitter(basis, weights)(cubic);
    // Of all fits a constant costs no more than the ridge on equal coefficients: 1e-9 of the mean
    // weight, 2/7, on each of seven, against a weight of 2.
    expect(Math.abs(smooth[120]! / cubic[120]! - 1)).toBeLessThan(1e-9);
    expect(Math.max(...smooth.map(Math.abs))).toBeLessThan(2 * Math.abs(cubic[120]!));
  });

  test('what it leaves over has neither mean nor slope', () => {
    const noisy = at.map((t) => Math.sin(40 * t) + Math.sin(t));
    const weights = even.map((_, k) => (k % 3) / 2);
    const smooth = splineFitter(basis, weights)(noisy);
    const left = noisy.map((value, k) => weights[k]! * (value - smooth[k]!));
    const sum = (values: Float64Array) => values.reduce((all, value) => all + value, 0);
    // Straight lines meet only the ridge: 1e-9 of the sum of weights, 150, times coefficients below
    // 100, and times 12 s for the slope.
    expect(Math.abs(sum(left))).toBeLessThan(1e-9 * 150 * 100);
    expect(Math.abs(sum(left.map((value, k) => value * at[k]!)))).toBeLessThan(1e-9 * 150 * 1200);
  });
});
