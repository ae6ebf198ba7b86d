import { describe, expect, test } from 'vitest';
import { COARSE_SAMPLE_RATE } from '../../src/sync/coarseLag.js';
import { logStretches, meanRates, searchGrid } from '../../src/sync/searchGrid.js';
import { createMotionLog } from '../../src/track/motionLog.js';
import { complaint } from '../complaint.js';

/** Rows at 100 Hz over each of the given spans, turning steadily. */
function logOver(...spans: readonly (readonly [from: number, to: number])[]) {
  const times = spans.flatMap(([from, to]) =>
    Array.from({ length: Math.round(100 * (to - from)) + 1 }, (_, k) => from + k / 100),
  );
  const rate = Float64Array.from(times.flatMap(() => [0.1, 0.2, 0.3]));
  return createMotionLog({ times: Float64Array.from(times), rate });
}
const ALL = { from: 0, to: Number.POSITIVE_INFINITY };

describe('a log on the grid of the search', () => {
  test('is cut where rows are missing, and short stretches are left out', () => {
    const log = logOver([0, 10], [10.3, 20], [25, 26], [40, 60]);
    const spans = logStretches(log, 3).map(({ from, to }) => [from, to]);
    expect(spans).toEqual([
      [0, 20],
      [40, 60],
    ]);
  });

  test('a stretch just as long as is asked is long enough', () => {
    const log = logOver([0, 3], [5, 7.99]);
    expect(logStretches(log, 3).map(({ from, to }) => [from, to])).toEqual([[0, 3]]);
  });

  test('keeps a hole as long as it is, but none longer than the clip', () => {
    const log = logOver([0, 10], [15, 25], [90_000, 90_010]);
    const { stretches, rates } = searchGrid(log, logStretches(log, 3), ALL, 30);
    const cells = stretches.map(({ cell }) => cell / COARSE_SAMPLE_RATE);
    // A second more than the clip of 30 s.
    expect(cells).toEqual([0, 15, 15 + 10 + 31]);
    expect(rates).toHaveLength(3 * COARSE_SAMPLE_RATE * (15 + 10 + 31 + 10));
  });

  test('holds the mean rates, and zero in a hole', () => {
    const log = logOver([0, 5], [8, 13]);
    const { rates } = searchGrid(log, logStretches(log, 3), ALL, 30);
    const at = (second: number) => [
      ...rates.subarray(3 * COARSE_SAMPLE_RATE * second).subarray(0, 3),
    ];
    expect(at(6)).toEqual([0, 0, 0]);
    for (const second of [2, 9]) {
      at(second).forEach((rate, i) => {
        expect(rate).toBeCloseTo([0.1, 0.2, 0.3][i]!, 12);
      });
    }
  });

  test('covers only what a hint leaves', () => {
    const log = logOver([0, 100]);
    const between = { from: 20, to: 50 };
    const { stretches } = searchGrid(log, logStretches(log, 3), between, 10);
    expect(stretches).toMatchObject([
      { from: 20, to: 50, cell: 0, cells: 30 * COARSE_SAMPLE_RATE },
    ]);
  });

  test('of days is refused in one sentence', () => {
    // Two rows a second, so that the test itself stays small.
    const times = Float64Array.from({ length: 2 * 40 * 3600 }, (_, k) => k / 2);
    const log = createMotionLog({ times, rate: new Float64Array(3 * times.length) });
    expect(() => searchGrid(log, logStretches(log, 3), ALL, 30)).toThrow(
      complaint('argument/invalid', 'found a log of 40 h to search, expected at most 38 h'),
    );
  });
});

test('mean rates take each row for the time around it', () => {
  // A rate that grows by 1 per second, in rows a tenth of a second apart: half of it over each cell.
  const times = Float64Array.from({ length: 21 }, (_, k) => k / 10);
  const rate = Float64Array.from({ length: 63 }, (_, i) => Math.floor(i / 3) / 10);
  const means = meanRates(times, rate, 0, 2 * COARSE_SAMPLE_RATE);
  const mean = (from: number) =>
    Array.from(
      { length: COARSE_SAMPLE_RATE },
      (_, k) => means[3 * (from * COARSE_SAMPLE_RATE + k)]!,
    ).reduce((a, b) => a + b) / COARSE_SAMPLE_RATE;
  expect(mean(0)).toBeCloseTo(0.5, 9);
  expect(mean(1)).toBeCloseTo(1.5, 9);
});
