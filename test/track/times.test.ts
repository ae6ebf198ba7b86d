import { describe, expect, test } from 'vitest';
import {
  checkTimes,
  evenTimes,
  isEvenlySpaced,
  medianInterval,
  timeGaps,
} from '../../src/track/times.js';
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
