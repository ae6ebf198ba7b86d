import { describe, expect, test } from 'vitest';
import { type ClockTakeOptions, makeClockTake } from '../../bench/accuracy/clockTakes.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { angularDistances } from '../../src/rotation/arrays.js';
import { biweight, cleanTrack, runningMedian, sortedAt } from '../../src/sync/cleanTrack.js';
import { largestGap } from '../apart.js';

const rms = (values: readonly number[]) =>
  Math.sqrt(values.reduce((sum, x) => sum + x * x, 0) / values.length);

/** A walk of 20 s as it comes out of cleaning; angles in degrees. */
function cleaned(options: ClockTakeOptions) {
  const { track, truth, wildFrames } = makeClockTake('walk', 1, { duration: 20, ...options });
  const { smooth, weights, noise } = cleanTrack(track.quaternions);
  const errors = [...angularDistances(smooth, truth)].map((angle) => angle / RADIANS_PER_DEGREE);
  const frames = Array.from(weights.keys());
  return {
    keptWild: frames.filter((k) => wildFrames.has(k) && weights[k]! > 0),
    lostGood: frames.filter((k) => !wildFrames.has(k) && weights[k] === 0),
    wild: wildFrames.size,
    good: frames.length - wildFrames.size,
    error: rms(errors.filter((_, k) => k > 15 && k < frames.length - 15)),
    noise: noise / RADIANS_PER_DEGREE,
  };
}

describe('cleaning a track', () => {
  test.each<[string, ClockTakeOptions]>([
    ['no wild frame', { wild: 0 }],
    ['a third of its frames wild', { wild: 1 / 3 }],
    ['bursts of up to twenty wild frames', { wildRuns: 'bursts' }],
  ])('a walk with %s: wild frames go and good ones stay', (_, options) => {
    const { keptWild, lostGood, wild, good, error } = cleaned(options);
    // A frame wild by up to 5° on each axis falls into the 0.5° about the path once in a thousand.
    expect(keptWild.length).toBeLessThanOrEqual(0.01 * wild);
    // Tremor above the path's 4 Hz, 0.04° of 0.06°, adds to the noise in runs: a few in a hundred.
    expect(lostGood.length).toBeLessThan(0.05 * good);
    // Two or three wild frames in a row, a twentieth of a second, hide little; a burst of twenty, a
    // third of a second, must be guessed. The bob is 1.3° in length.
    expect(error).toBeLessThan(options.wildRuns ? 1.3 / Math.SQRT2 : 1.3 / 4);
  });

  test('a third of wild frames hardly raises the noise it tells', () => {
    const tidy = cleaned({ wild: 0 }).noise;
    const wild = cleaned({ wild: 1 / 3 }).noise;
    // Where a third is wild, 45 % of all are 68 % of the good: 1.86 instead of 1.45; the thinner
    // path follows less, √(2/3) of the frames.
    expect(wild / tidy).toBeGreaterThan(1);
    expect(wild / tidy).toBeLessThan((1.86 / 1.45) * Math.sqrt(3 / 2) * 1.2);
  });

  test('it is the same whichever way time runs', () => {
    const { track } = makeClockTake('walk', 1, { duration: 6, wild: 0.1 });
    const n = track.times.length;
    const backward = (values: Float64Array, stride: number) =>
      Float64Array.from(
        values,
        (_, i) => values[stride * (n - 1 - Math.floor(i / stride)) + (i % stride)]!,
      );
    const there = cleanTrack(track.quaternions);
    const back = cleanTrack(backward(track.quaternions, 4));
    expect(largestGap(backward(back.weights, 1), there.weights)).toBeLessThan(1e-9);
    expect(Math.max(...angularDistances(backward(back.smooth, 4), there.smooth))).toBeLessThan(
      1e-9,
    );
  });

  test('a camera on legs is its own clean track', () => {
    const still = Float64Array.from({ length: 4 * 100 }, (_, i) => (i % 4 === 3 ? 1 : 0));
    const { smooth, weights } = cleanTrack(still);
    expect([...smooth]).toEqual([...still]);
    expect(Math.min(...weights)).toBe(1);
  });
});

describe('what cleaning is made of', () => {
  test('the biweight falls from one to nothing', () => {
    expect([0, 0.5, -0.5, 1, 7].map(biweight)).toEqual([1, 9 / 16, 9 / 16, 0, 0]);
  });

  test('a quantile leaves its argument in order', () => {
    const values = Float64Array.of(5, 1, 3, 2, 4);
    expect([0, 0.5, 1].map((share) => sortedAt(values, share))).toEqual([1, 3, 5]);
    expect([...values]).toEqual([5, 1, 3, 2, 4]);
  });

  test('a running median does not see two wild frames of five', () => {
    const path = Float64Array.from({ length: 40 }, (_, i) => (i % 4 === 3 ? 1 : 0));
    for (const frame of [4, 5]) path.set([1, 0, 0, 0], 4 * frame);
    const calm = Array.from({ length: 40 }, (_, i) => (i % 4 === 3 ? 1 : 0));
    expect([...runningMedian(path, 2)]).toEqual(calm);
  });
});
