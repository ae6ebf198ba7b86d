import { expect, test } from 'vitest';
import { median, quantile } from '../../src/numeric/quantile.js';
import { fc } from '../seed.js';

/** Few different values, so that many are equal, or any. */
const values = fc.oneof(
  fc.array(fc.integer({ min: 0, max: 5 }), { minLength: 1, maxLength: 60 }),
  fc.array(fc.double({ noNaN: true, min: -1e9, max: 1e9 }), { minLength: 1, maxLength: 200 }),
);

test('the median is the value in the middle of the sorted ones, and leaves them as they are', () => {
  fc.assert(
    fc.property(values, (list) => {
      const given = Float64Array.from(list);
      expect(median(given)).toBe([...list].sort((a, b) => a - b)[list.length >> 1]);
      expect([...given]).toEqual(list);
    }),
  );
  expect(median([])).toBeNaN();
});

test('a quantile lies on the straight line between the two sorted values around it', () => {
  // Hyndman and Fan, "Sample quantiles in statistical packages", The American Statistician 50(4),
  // 1996, definition 7.
  fc.assert(
    fc.property(values, fc.double({ min: 0, max: 1, noNaN: true }), (list, share) => {
      const sorted = [...list].sort((a, b) => a - b);
      const at = share * (list.length - 1);
      const [low, high] = [sorted[Math.floor(at)]!, sorted[Math.ceil(at)]!];
      // One product and two sums of values up to 1e9, each rounded to 2⁻⁵³ of itself.
      expect(
        Math.abs(quantile(list, share) - (low + (at - Math.floor(at)) * (high - low))),
      ).toBeLessThan(1e-6);
    }),
  );
  expect(quantile([3, 1, 2, 5], 0.5)).toBe(2.5);
});

test('sorted, reversed and equal values take no longer than others', () => {
  // A hundred thousand values, each of which the pivot must part: the square of it would take minutes.
  const n = 100_000;
  for (const list of [
    Float64Array.from({ length: n }, (_, k) => k),
    Float64Array.from({ length: n }, (_, k) => n - k),
    new Float64Array(n).fill(7),
  ]) {
    expect(median(list)).toBe(Float64Array.from(list).sort()[n >> 1]);
  }
});
