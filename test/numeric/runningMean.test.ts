import { expect, test } from 'vitest';
import { runningMean } from '../../src/numeric/runningMean.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';

// Multiples of 1/8: all sums are exact, and so is everything but one division.
const eighths = fc
  .array(fc.integer({ min: -800, max: 800 }), { minLength: 1, maxLength: 30 })
  .map((list) => Float64Array.from(list, (k) => k / 8));
const reaches = fc.integer({ min: 0, max: 40 });

test('a running mean is the mean of what lies within reach, fewer at the ends', () => {
  fc.assert(
    fc.property(eighths, reaches, (values, reach) => {
      const expected = values.map((_, k) => {
        const near = values.filter((_, j) => Math.abs(j - k) <= reach);
        return near.reduce((sum, value) => sum + value, 0) / near.length;
      });
      expect(runningMean(values, reach)).toEqual(expected);
    }),
  );
});

test('without reach every value is its own mean, with all of it all are the same', () => {
  fc.assert(
    fc.property(eighths, (values) => {
      expect(largestGap(runningMean(values, 0), values)).toBe(0);
      expect(new Set(runningMean(values, values.length)).size).toBe(1);
    }),
  );
});

test('of values that are not negative no mean is, however unlike they are', () => {
  const values = fc.array(fc.double({ min: 0, max: 1e9, noNaN: true }), { minLength: 1 });
  fc.assert(
    fc.property(values, fc.integer({ min: 0, max: 5 }), (list, reach) => {
      expect(Math.min(...runningMean(Float64Array.from(list), reach))).toBeGreaterThanOrEqual(0);
    }),
  );
});
