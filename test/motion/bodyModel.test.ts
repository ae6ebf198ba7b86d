import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { beyondBody, swayOscillator } from '../../src/motion/bodyModel.js';
import { largestGap } from '../apart.js';
import { fading, lastWhere, midpointError, SAMPLE_RATE } from './fading.js';

const COUNT = 60 * SAMPLE_RATE;
const deg = RADIANS_PER_DEGREE;

describe('the sway of a body', () => {
  const { variance, damping, cosine, sine } = swayOscillator(COUNT, SAMPLE_RATE);
  const turn = Math.atan2(sine[1]!, cosine[1]!);
  /** Covariance over h samples of a process that turns and forgets. */
  const covariance = (h: number) => variance * damping ** h * Math.cos(turn * h);
  /** One-sided density per Hz by Wiener and Khinchin; after 20 s nothing is left to sum. */
  const density = (frequency: number) => {
    const angle = (2 * Math.PI * frequency) / SAMPLE_RATE;
    let sum = covariance(0);
    for (let h = 1; h < 20 * SAMPLE_RATE; h++) sum += 2 * covariance(h) * Math.cos(angle * h);
    return (2 * sum) / SAMPLE_RATE;
  };
  const power = (from: number, to: number) => {
    const step = 0.01;
    let sum = 0;
    for (let f = from + step / 2; f < to; f += step) sum += density(f) * step;
    return sum;
  };

  test('has the variance 1', () => {
    // The midpoint rule on a spectrum as smooth as 0.2 Hz, in steps of 0.01 Hz.
    expect(Math.abs(power(0, SAMPLE_RATE / 2) - 1)).toBeLessThan(0.01);
  });

  // 0.1–0.5 Hz is common practice for postural sway. A damped oscillation of 0.27 Hz that lives for
  // 0.8 s has half of its peak's density 1/(2π · 0.8 s) = 0.2 Hz to either side: at the band's ends.
  test('lies for the most part between 0.1 and 0.5 Hz, where bodies sway', () => {
    expect(power(0.1, 0.5)).toBeGreaterThan(0.5);
  });

  test('is no clock: within that band no frequency is thrice as strong as another', () => {
    const inBand = Array.from({ length: 41 }, (_, k) => density(0.1 + k / 100));
    expect(Math.max(...inBand)).toBeLessThan(3 * Math.min(...inBand));
  });
});

describe('where the removed motion is larger than a body sways', () => {
  const from = 20 * SAMPLE_RATE;
  const to = 40 * SAMPLE_RATE;
  /** So many degrees are taken out between 20 and 40 s, first this way, then that. */
  const removed = (size: number) =>
    Float64Array.from({ length: COUNT }, (_, k) =>
      k < from || k >= to ? 0 : k % 2 === 0 ? size * deg : -size * deg,
    );
  const times = Float64Array.from({ length: COUNT }, (_, k) => (k - (to - 0.5)) / SAMPLE_RATE);

  test('a lean of 2.9° is a body throughout, one of 3.1° is not', () => {
    expect(beyondBody(removed(2.9), [], SAMPLE_RATE)).toBeUndefined();
    expect(beyondBody(removed(-2.9), [], SAMPLE_RATE)).toBeUndefined();
    expect(beyondBody(removed(3.1), [], SAMPLE_RATE)).toBeDefined();
  });

  test.each([3.1, 4, 12])(
    '%d° weigh 1 there and two seconds around, then fade in 1.5 s',
    (size) => {
      const found = beyondBody(removed(size), [], SAMPLE_RATE)!;
      // Root mean squares over 3 s fall to half the largest sway where the window holds (1.5/size)².
      const held = (1.5 / size) ** 2;
      const last = lastWhere(times, (time) => fading(time, 3) > held);
      const half = times[last]! + 2;
      const middle = COUNT / 2;
      const faded = lastWhere(found, (weight) => weight >= 0.5);
      // Where the threshold is met and where two seconds end is known to a sample each.
      expect(Math.abs(times[faded]! - half)).toBeLessThan(2.5 / SAMPLE_RATE);
      // The step lies half a sample after the last weight above a half.
      const expected = times.map((_, k) => fading((k - faded - 0.5) / SAMPLE_RATE, 1.5));
      expect(largestGap(found.subarray(middle), expected.subarray(middle))).toBeLessThan(
        midpointError(1.5),
      );
      // The same before as after, but for a sample at which the fade falls by two windows' share.
      expect(largestGap(found, found.slice().reverse())).toBeLessThan(2 / (1.5 * SAMPLE_RATE));
    },
  );

  test('moves and a second and a half on either side of them are no body', () => {
    const move = { from: from + 1.5 * SAMPLE_RATE, to: to - 1.5 * SAMPLE_RATE };
    expect(beyondBody(removed(12), [move], SAMPLE_RATE)).toBeUndefined();
    for (const short of [
      { ...move, from: move.from + SAMPLE_RATE },
      { ...move, to: move.to - SAMPLE_RATE },
    ]) {
      // What is left of 12° for a second weighs 12² · fading(−0.5 s) under the window's middle.
      expect(beyondBody(removed(12), [short], SAMPLE_RATE)).toBeDefined();
    }
  });

  test('a move at the very start reaches no sample before it', () => {
    expect(beyondBody(removed(12), [{ from: 0, to: COUNT }], SAMPLE_RATE)).toBeUndefined();
    expect(beyondBody(removed(12), [{ from: 0, to: 10 }], SAMPLE_RATE)).toEqual(
      beyondBody(removed(12), [], SAMPLE_RATE),
    );
  });
});
