import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import type { Move } from '../../src/motion/moves.js';
import { cutoffsOf, movesThatStay } from '../../src/motion/stayingMoves.js';
import { largestGap } from '../apart.js';
import { SAMPLE_RATE } from './fading.js';

const deg = RADIANS_PER_DEGREE;
const SECONDS = 30;
const COUNT = SECONDS * SAMPLE_RATE;
/** Seconds of the shortest move. */
const SHORTEST = 2;

/** A turn of so many degrees between two times, with soft ends: its speed peaks at 15/8 of the mean. */
const turn = (start: number, end: number, angle: number) => (time: number) => {
  const u = Math.min(Math.max((time - start) / (end - start), 0), 1);
  return angle * deg * u * u * u * (10 - 15 * u + 6 * u * u);
};
const series = (...parts: ((time: number) => number)[]) =>
  Float64Array.from({ length: COUNT }, (_, k) =>
    parts.reduce((sum, part) => sum + part(k / SAMPLE_RATE), 0),
  );
const move = (start: number, end: number): Move => ({
  from: Math.round(start * SAMPLE_RATE),
  to: Math.round(end * SAMPLE_RATE),
});
const stay = (signal: Float64Array, ...moves: Move[]) =>
  movesThatStay(signal, moves, SAMPLE_RATE, SHORTEST);

describe('a move stays', () => {
  const once = move(10, 13);

  // A spline with half a Hz follows rests of two seconds to within a few per cent of the way.
  test.each([
    [16, [once]],
    [-16, [once]],
    [14, []],
    [-14, []],
  ] as const)('where it leads 15° away: by %d° or not', (angle, expected) => {
    expect(stay(series(turn(10, 13, angle)), once)).toEqual(expected);
  });

  test('unless the view comes back', () => {
    const there = series(turn(10, 11, 40), turn(12, 13, -40));
    expect(stay(there, once)).toEqual([]);
  });

  // 0.3 s beside each move belong to neither; what is left must be three quarters of 2 s.
  test.each([
    [1.9, 0],
    [2.3, 2],
  ])('only where it rests: %d s between two turns leave %d that stay', (pause, expected) => {
    const moves = [move(10, 13), move(13 + pause, 16 + pause)];
    const signal = series(turn(10, 13, 40), turn(13 + pause, 16 + pause, 40));
    expect(stay(signal, ...moves)).toHaveLength(expected);
  });

  // Over a rest of 2 s the view drifts by so many degrees, on one side of a turn of 40°: three tenths
  // of the way between the rests, which the drift lengthens by a half of itself, are 12° and 14°.
  test.each([
    [10, 1],
    [16, 0],
  ])('only where it rests: beside a drift of %d° in 2 s, %d', (drift, expected) => {
    const after = (time: number) => (Math.max(time - 13.3, 0) / 2) * drift * deg;
    const before = (time: number) => (Math.min(time - 9.7, 0) / 2) * drift * deg;
    for (const drifting of [after, before]) {
      expect(stay(series(turn(10, 13, 40), drifting), once)).toHaveLength(expected);
    }
  });

  test('where the clip begins or ends so near that no rest is seen', () => {
    const [first, last] = [move(0.6, 3), move(27, 29.4)];
    expect(stay(series(turn(0.6, 3, 40)), first)).toEqual([first]);
    expect(stay(series(turn(27, 29.4, 40)), last)).toEqual([last]);
  });

  test('whichever way time runs', () => {
    const moves = [move(3, 5), move(6.2, 8), move(12, 14), move(18, 19), move(21.5, 22.5)];
    const angles = [30, -50, 14, 25, 30];
    const signal = series(
      ...moves.map(({ from, to }, k) => turn(from / SAMPLE_RATE, to / SAMPLE_RATE, angles[k]!)),
    );
    const back = moves.map(({ from, to }) => ({ from: COUNT - to, to: COUNT - from })).reverse();
    const there = stay(signal, ...moves).map((each) => moves.indexOf(each));
    const again = stay(signal.slice().reverse(), ...back).map((each) => 4 - back.indexOf(each));
    expect(there).toEqual(again.reverse());
    expect(there.length).toBeGreaterThan(0);
    expect(there.length).toBeLessThan(moves.length);
  });
});

describe('the path', () => {
  const slowest = 1 / SHORTEST;
  const still = new Float64Array(COUNT).fill(slowest);
  const once = move(12, 16);
  const cutoffs = (signal: Float64Array, moves: readonly Move[], marks?: Int8Array) =>
    cutoffsOf(signal, moves, SAMPLE_RATE, SHORTEST, marks);
  const marked = (mark: number) =>
    new Int8Array(COUNT).fill(mark, 12 * SAMPLE_RATE, 16 * SAMPLE_RATE);
  const at = (values: Float64Array, time: number) => values[Math.round(time * SAMPLE_RATE)]!;

  test('is closed to what is faster than the shortest move where nothing moves or stays', () => {
    expect(cutoffs(series(turn(12, 16, 20)), [])).toEqual(still);
    expect(cutoffs(series(turn(12, 16, 10)), [once])).toEqual(still);
  });

  test.each([20, 24, -24])(
    'opens for a turn of %d° in 4 s until its corners are cut by 0.35°',
    (angle) => {
      const found = cutoffs(series(turn(12, 16, angle)), [once]);
      // The spline with 1 Hz keeps a peak of speed that lasts for seconds to 2 %.
      const wanted = ((15 / 8) * Math.abs(angle)) / 4 / (6 * Math.PI * 0.35);
      expect(Math.abs(at(found, 14) / wanted - 1)).toBeLessThan(0.02);
      // 15 % of the peak speed are reached 0.4 s after the start; 0.4 s are added, and 0.5 s to fade.
      for (const time of [0, 11.2, 16.8, 29.9]) expect(at(found, time)).toBe(slowest);
    },
  );

  test('opens alike whichever way time and the view go', () => {
    const signal = series(turn(8, 10, 30), turn(14, 16, 25));
    const moves = [move(8, 10), move(14, 16)];
    const back = moves.map(({ from, to }) => ({ from: COUNT - to, to: COUNT - from })).reverse();
    const found = cutoffs(signal, moves);
    const again = cutoffs(signal.map((x) => 1 - x).reverse(), back).reverse();
    // A spline of 450 samples with λ = 12 loses at most 64 λ epsilons; speeds are multiplied by 15.
    const rounding = 64 * 12 * SAMPLE_RATE * Number.EPSILON;
    expect(largestGap(found, again)).toBeLessThan(rounding);
    expect(Math.max(...found)).toBeGreaterThan(2 * slowest);
  });

  test('never opens beyond 2 Hz, nor closes for a move that is slow', () => {
    const quick = move(14, 15);
    const found = cutoffs(series(turn(14, 15, 90)), [quick]);
    // A pooled logarithm of at most 15 equal values.
    expect(Math.abs(Math.max(...found) - 2)).toBeLessThan(64 * Number.EPSILON);
    const slow = move(5, 25);
    expect(cutoffs(series(turn(5, 25, 20)), [slow])).toEqual(still);
  });

  test('opens to 2 Hz where a move is marked, and is closed where the view is held', () => {
    const opened = cutoffs(new Float64Array(COUNT), [], marked(1));
    expect(Math.abs(at(opened, 14) - 2)).toBeLessThan(64 * Number.EPSILON);
    for (const time of [11.4, 16.6]) expect(at(opened, time)).toBe(slowest);
    const held = cutoffs(series(turn(12, 16, 60)), [once], new Int8Array(COUNT).fill(-1));
    expect(held).toEqual(still);
  });

  test('is never closed further by a mark than by the shortest move', () => {
    const brief = cutoffsOf(new Float64Array(COUNT), [], SAMPLE_RATE, 0.25, marked(1));
    expect(brief).toEqual(new Float64Array(COUNT).fill(4));
  });
});
