import { expect, test } from 'vitest';
import { orderRows } from '../../src/read/stampOrder.js';
import { complaint } from '../complaint.js';

const lineOf = (row: number) => row + 2;
const evenly = (n: number) => Float64Array.from({ length: n }, (_, k) => k / 100);
const vectorsOf = (times: Float64Array) =>
  Float64Array.from([...times].flatMap((t) => [t, 2 * t, 3 * t]));

test('rows in order are left as they are', () => {
  const times = evenly(50);
  const ordered = orderRows(times, lineOf);
  expect(ordered.times).toBe(times);
  expect(ordered.warnings).toEqual([]);
  const vectors = vectorsOf(times);
  expect(ordered.arrange(vectors)).toBe(vectors);
});

test('a few rows that come late go where their stamps say', () => {
  const times = evenly(50);
  [times[10], times[11]] = [times[11]!, times[10]!];
  const { times: sorted, arrange, warnings, rowOf } = orderRows(times, lineOf);
  expect([...sorted]).toEqual([...evenly(50)]);
  expect([...arrange(vectorsOf(times))]).toEqual([...vectorsOf(evenly(50))]);
  expect([9, 10, 11, 12].map(rowOf)).toEqual([9, 11, 10, 12]);
  expect(warnings).toMatchObject([
    { code: 'log/stamps', message: expect.stringContaining('1 row came late') },
  ]);
});

test('rows with one stamp become their mean', () => {
  const times = evenly(50);
  times[20] = times[19]!;
  const { times: single, arrange, warnings } = orderRows(times, lineOf);
  expect(single).toHaveLength(49);
  const vectors = new Float64Array(150);
  vectors.set([1, 2, 3], 57);
  vectors.set([3, 2, 5], 60);
  expect([...arrange(vectors).subarray(57, 60)]).toEqual([2, 2, 4]);
  expect(warnings[0]!.message).toContain('1 row had the stamp of another');
});

test('a clock that jumps back by more than half a second is refused with the row', () => {
  const times = evenly(200);
  for (let k = 150; k < 200; k++) times[k]! -= 1;
  expect(() => orderRows(times, lineOf)).toThrow(
    complaint('track/time-order', 'row 152, column time: found 0.5 s after 1.49 s'),
  );
});

test('stamps too coarse for their rows are refused with the way out', () => {
  const times = evenly(100).map((t) => Math.floor(t * 20) / 20);
  expect(() => orderRows(times, lineOf)).toThrow(
    complaint('track/time-order', 'row 3, column time: found the time 0 s twice'),
  );
  expect(() => orderRows(times, lineOf)).toThrow('time: frames at the rate of the sensor');
});
