import { describe, expect, test } from 'vitest';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import {
  createRetiming,
  editTimes,
  originalTimes,
  type Retiming,
  trackOnOriginal,
  trimmed,
} from '../../src/track/retiming.js';
import { largestGap } from '../apart.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';
import { turn } from '../turns.js';

/** Steps of 1/64 s to 4 s in both times: speeds from 1/256 to 256, on a grid that doubles keep. */
const step = fc.integer({ min: 1, max: 256 }).map((k) => k / 64);
const start = fc.integer({ min: -640, max: 640 }).map((k) => k / 64);
const retimings: fc.Arbitrary<Retiming> = fc
  .tuple(start, start, fc.array(fc.tuple(step, step), { minLength: 1, maxLength: 6 }))
  .map(([edit, original, steps]) => {
    const pairs: [number, number][] = [[edit, original]];
    for (const [further, shown] of steps) {
      const [before, beforeShown] = pairs.at(-1)!;
      pairs.push([before + further, beforeShown + shown]);
    }
    return createRetiming(pairs);
  });
const moments = fc.array(fc.double({ min: -40, max: 40, noNaN: true }), { maxLength: 9 });

describe('a retiming', () => {
  test('the way to the original and back ends where it began, also beyond its ends', () => {
    fc.assert(
      fc.property(retimings, moments, (retiming, drawn) => {
        const times = Float64Array.from(drawn);
        const there = originalTimes(retiming, times);
        const back = editTimes(retiming, there);
        // Each way rounds numbers of up to 256 × 50 some 5 times; the way back multiplies that by up to
        // 256.
        const rounding = 10 * 256 * 12800 * Number.EPSILON;
        expect(largestGap(back, times)).toBeLessThan(rounding);
        const forth = originalTimes(retiming, editTimes(retiming, times));
        expect(largestGap(forth, times)).toBeLessThan(rounding);
      }),
    );
  });

  test('goes through its pairs and in straight lines between them', () => {
    const ramp = createRetiming([
      [0, 10],
      [2, 12],
      [3, 16],
    ]);
    const times = Float64Array.of(-1, 0, 1, 2, 2.5, 3, 4);
    expect(originalTimes(ramp, times)).toEqual(Float64Array.of(9, 10, 11, 12, 14, 16, 20));
    expect(editTimes(ramp, Float64Array.of(9, 10, 11, 12, 14, 16, 20))).toEqual(times);
  });

  test('takes moments in any order', () => {
    const ramp = createRetiming([
      [0, 0],
      [1, 1],
      [2, 4],
    ]);
    expect(originalTimes(ramp, Float64Array.of(1.5, 0.5, 2, 0))).toEqual(
      Float64Array.of(2.5, 0.5, 4, 0),
    );
  });

  test('a trim keeps the speed and begins where it says', () => {
    const retiming = trimmed(4, 9);
    expect(originalTimes(retiming, Float64Array.of(0, 2.5, 5))).toEqual(Float64Array.of(4, 6.5, 9));
  });

  test.each<[string, [number, number][], string]>([
    ['no pair', [], 'found 0 pairs'],
    ['one pair', [[0, 0]], 'found 1 pair in'],
    [
      'a time that stands still in the edit',
      [
        [0, 0],
        [0, 1],
      ],
      'found 0, 1 after 0, 0',
    ],
    [
      'a frozen original',
      [
        [0, 5],
        [1, 5],
      ],
      'found 1, 5 after 0, 5',
    ],
    [
      'a reversed original',
      [
        [0, 5],
        [1, 4],
      ],
      'found 1, 4 after 0, 5',
    ],
    [
      'a time that is none',
      [
        [0, 0],
        [1, Number.NaN],
      ],
      'found the pair 1, NaN',
    ],
    [
      'an endless time',
      [
        [0, 0],
        [Infinity, 1],
      ],
      'found the pair Infinity, 1',
    ],
  ])('%s is refused', (_title, pairs, words) => {
    expect(() => createRetiming(pairs)).toThrow(complaint('argument/invalid', words));
  });

  test('a trim of nothing is refused', () => {
    expect(() => trimmed(3, 3)).toThrow(complaint('argument/invalid', 'found 0, 3 after 0, 3'));
  });
});

describe('a track of the edit on the original’s frames', () => {
  const original = { times: Float64Array.from({ length: 50 }, (_, k) => k / 10) };
  const numbers = Int32Array.from(original.times, (_, k) => 200 + k);
  const turning = (n: number, perSecond: number): OrientationTrack =>
    createTrack({
      times: Float64Array.from({ length: n }, (_, k) => k / 10),
      quaternions: Float64Array.from(
        Array.from({ length: n }, (_, k) => turn([0, 1, 0], (perSecond * k) / 10).q).flat(),
      ),
      frames: Int32Array.from({ length: n }, (_, k) => k),
      frameRate: { numerator: 10, denominator: 1 },
      startNs: 5n,
    });
  const heading = (track: OrientationTrack) =>
    Array.from(track.times, (_, k) => {
      const [, y, , w] = track.quaternions.subarray(4 * k, 4 * k + 4);
      return 2 * Math.atan2(y!, w!);
    });

  test('twice the speed takes half the frames of the edit', () => {
    // Two seconds of edit show seconds 1 to 5 of the original, which turned at half the edit's rate.
    const retiming = createRetiming([
      [0, 1],
      [2, 5],
    ]);
    const shown = trackOnOriginal(turning(20, 0.4), retiming, { ...original, numbers });
    expect(shown.first).toBe(10);
    // The edit's last sample lies at 1.9 s, which shows 4.8 s.
    expect(shown.track.frames).toEqual(numbers.slice(10, 49));
    expect(shown.track.times[0]).toBe(0);
    const wanted = Array.from(shown.track.times, (time) => 0.2 * time);
    // A turn at constant rate about one axis is a straight line, which squad keeps: rounding alone.
    expect(largestGap(heading(shown.track), wanted)).toBeLessThan(1e-13);
  });

  test('rate, frames and stamp of the edit are not those of the original', () => {
    const { track } = trackOnOriginal(turning(20, 0.1), trimmed(1, 3), original);
    expect(track).not.toHaveProperty('frames');
    expect(track).not.toHaveProperty('frameRate');
    expect(track).not.toHaveProperty('startNs');
  });

  test('a trim written in decimals keeps the frames it names', () => {
    // 0.3 + 0.6 and its like miss their frames by a rounding, to either side.
    for (const from of [0.1, 0.3, 0.7, 1.1]) {
      const retiming = trimmed(from, from + 0.6);
      const { first, track } = trackOnOriginal(turning(7, 0.1), retiming, original);
      expect([first, track.times.length]).toEqual([Math.round(10 * from), 7]);
    }
  });

  test('footage that lasts longer than its cut was said to is noted', () => {
    const codes = (to: number) =>
      trackOnOriginal(turning(20, 0.1), trimmed(1, to), original).track.warnings.map(
        ({ code }) => code,
      );
    // The edit lasts 1.9 s; a trim may be written to its last frame or to the frame after.
    expect([codes(2.9), codes(3)]).toEqual([[], []]);
    expect(codes(2.5)).toEqual(['retiming/longer']);
  });

  test('an edit that shows fewer than two frames is refused', () => {
    expect(() => trackOnOriginal(turning(20, 0.1), trimmed(10, 12), original)).toThrow(
      complaint('track/too-short', 'found 0 frames of the original within the retimed track'),
    );
    const slow = createRetiming([
      [0, 1],
      [100, 1.5],
    ]);
    expect(() => trackOnOriginal(turning(20, 0.1), slow, original)).toThrow(
      complaint('track/too-short', 'found 1 frames of the original'),
    );
  });
});
