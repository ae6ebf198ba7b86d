import { describe, expect, test } from 'vitest';
import {
  checkTimes,
  evenTimes,
  intervalOfHalfTheTime,
  isEvenlySpaced,
  medianInterval,
  requireDense,
  timeGaps,
  usualInterval,
} from '../../src/track/times.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';

const stamps = (count: number, stamp: (k: number) => number) =>
  Float64Array.from({ length: count }, (_, k) => stamp(k));

describe('checkTimes', () => {
  test('increasing times pass', () => {
    const intervals = fc.array(fc.integer({ min: 1, max: 1000 }), { minLength: 1 });
    fc.assert(
      fc.property(intervals, (steps) => {
        let time = -5;
        const times = Float64Array.from(steps, (step) => (time += step / 1000));
        expect(checkTimes(times, (frame) => ({ frame }))).toBeUndefined();
      }),
    );
  });
});

describe('medianInterval', () => {
  test('a few long intervals do not matter', () => {
    expect(medianInterval(Float64Array.of(0, 1, 2, 10, 11, 12, 40))).toBe(1);
  });

  test('is the one in the middle of the sorted intervals, to the last bit', () => {
    const middle = (times: Float64Array) => {
      const intervals = Float64Array.from(times.subarray(1), (time, k) => time - times[k]!).sort();
      return intervals[intervals.length >> 1]!;
    };
    // Sizes from a rounding error to a week: several classes are counted again and again.
    const sizes = fc.tuple(
      fc.double({ min: 1, max: 10, noNaN: true }),
      fc.integer({ min: -9, max: 4 }),
    );
    fc.assert(
      fc.property(fc.array(sizes, { minLength: 1, maxLength: 300 }), (steps) => {
        let time = 0;
        const times = [0, ...steps.map(([digits, power]) => (time += digits * 10 ** power))];
        fc.pre(times.every((value, k) => k === 0 || value > times[k - 1]!));
        expect(medianInterval(Float64Array.from(times))).toBe(middle(Float64Array.from(times)));
      }),
    );
    for (const jitter of [0, 1e-15, 4e-4]) {
      const times = stamps(20_000, (k) => k / 1000 + jitter * Math.sin(k * k));
      expect(medianInterval(times)).toBe(middle(times));
    }
  });
});

describe('timeGaps', () => {
  test('a missing sample is a gap, a late one is not', () => {
    expect(timeGaps(Float64Array.of(0, 1, 2, 4, 5, 6.7, 7.7))).toEqual([{ after: 2, length: 2 }]);
  });
});

describe('isEvenlySpaced', () => {
  test('sixty frames per second rounded to a millisecond are even, to five they are not', () => {
    const rounded = (grain: number) => (k: number) => grain * Math.round(k / 60 / grain);
    expect(isEvenlySpaced(stamps(600, rounded(0.001)))).toBe(true);
    expect(isEvenlySpaced(stamps(600, rounded(0.005)))).toBe(false);
  });

  test('a clock that slows down by a few samples is not even', () => {
    expect(isEvenlySpaced(stamps(600, (k) => k / 60 + 1e-6 * k * k))).toBe(false);
  });
});

describe('evenTimes', () => {
  test('the grid ends at the last time, even when the interval was rounded up', () => {
    expect([...evenTimes(1, 0.25)]).toEqual([0, 0.25, 0.5, 0.75, 1]);
    expect([...evenTimes(1.1, 0.25)]).toEqual([0, 0.25, 0.5, 0.75, 1]);
    expect(evenTimes(100, 0.1 + 1e-14)).toHaveLength(1001);
  });
});

describe('the usual interval', () => {
  /** Three stamps 1e-5 s apart, sixty times a second. */
  const bursts = stamps(900, (k) => Math.floor(k / 3) / 60 + (k % 3) * 1e-5);

  test('of bursts is that between them', () => {
    expect(medianInterval(bursts)).toBeCloseTo(1e-5, 9);
    // What the two short ones of a burst take is missing from the long one.
    expect(usualInterval(bursts)).toBeCloseTo(1 / 60 - 2e-5, 9);
  });

  test('of samples with a gap is the median', () => {
    const times = stamps(600, (k) => k / 60 + (k > 300 ? 1.5 : 0));
    expect(usualInterval(times)).toBe(medianInterval(times));
  });

  test('the interval of half the time is the even one, or the gap that takes longer', () => {
    expect(intervalOfHalfTheTime(Float64Array.of(0, 1, 2, 3))).toBe(1);
    expect(intervalOfHalfTheTime(Float64Array.of(0, 1, 2, 10))).toBe(8);
  });
});

test('samples are dense from ten a second on', () => {
  expect(() => requireDense(10)).not.toThrow();
  expect(() => requireDense(9.99)).toThrow(complaint('track/too-sparse', 'at least 10'));
  expect(() => requireDense(0.0599)).toThrow(complaint('track/too-sparse', 'found 0.060 samples'));
});
