import { describe, expect, test } from 'vitest';
import { rowsAround, trimmedRms } from '../../src/sync/clockLook.js';
import { createMotionLog } from '../../src/track/motionLog.js';

describe('the misfit of a look', () => {
  const misses = Float64Array.from({ length: 21 }, (_, k) => k + 1);

  test('counts the largest twentieth of its frames as the next below', () => {
    // One of 21 lies above the 95 % quantile, which is the twentieth.
    const squares = misses.map((miss) => Math.min(miss, 20) ** 2);
    const mean = squares.reduce((a, b) => a + b) / 21;
    expect(trimmedRms(misses, new Float64Array(21).fill(1))).toBeCloseTo(Math.sqrt(mean), 12);
  });

  test('leaves out frames without trust, and asks not how much the others have', () => {
    const weights = Float64Array.from(misses, (miss) => (miss === 7 ? 0.01 : 0));
    expect(trimmedRms(misses, weights)).toBe(7);
    expect(trimmedRms(misses, new Float64Array(21))).toBe(0);
  });
});

describe('the rows around some frames', () => {
  const row = (k: number) => [Math.sin(k), Math.cos(k), k % 7];
  const logAt = (perSecond: number) => {
    const n = 10 * perSecond;
    return createMotionLog({
      times: Float64Array.from({ length: n }, (_, k) => k / perSecond),
      rate: Float64Array.from(Array.from({ length: n }, (_, k) => row(k)).flat()),
    });
  };

  test('are a second more on either side', () => {
    const { times, interval } = rowsAround(logAt(200), { first: 0, last: 1999 }, 4, 6);
    expect([times[0], times.at(-1)]).toEqual([599 / 200, 7]);
    expect(interval).toBeCloseTo(1 / 200, 12);
  });

  test('become means of three where there are a thousand a second', () => {
    const log = logAt(1000);
    const { times, rate, interval } = rowsAround(log, { first: 0, last: 9999 }, 4, 6);
    expect(interval).toBeCloseTo(0.003, 12);
    // 4002 rows from 2.999 s on.
    expect(times).toHaveLength(1334);
    times.forEach((time, j) => {
      const rows = [0, 1, 2].map((k) => 2999 + 3 * j + k);
      expect(time).toBeCloseTo(rows[1]! / 1000, 12);
      [0, 1, 2].forEach((axis) => {
        const mean = rows.reduce((sum, k) => sum + row(k)[axis]!, 0) / 3;
        expect(rate[3 * j + axis]).toBeCloseTo(mean, 12);
      });
    });
  });
});
