import { describe, expect, test } from 'vitest';
import {
  butterworthFilter,
  CLASSIC_FILTERS,
  type ClassicFilterName,
  gaussianFilter,
  type SignalFilter,
  savitzkyGolayFilter,
  splineFilter,
} from '../../src/motion/classicFilters.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';

const EPSILON = Number.EPSILON;
const SAMPLE_RATE = 15;
const CUTOFFS = [0.25, 0.4, 1];
const FILTERS = Object.entries(CLASSIC_FILTERS) as [ClassicFilterName, SignalFilter][];

const warped = (frequency: number) => Math.tan((Math.PI * frequency) / SAMPLE_RATE);
const difference = (frequency: number) => 2 * Math.sin((Math.PI * frequency) / SAMPLE_RATE);
const penalty = (cutoff: number) => difference(cutoff) ** -6;

/**
 * How far rounding may move a filtered signal of values up to 1. Kernels: sums of up to 500
 * products. Butterworth: 10 epsilons a step in each of two passes, summed up by a recursion that
 * turns a lasting 1 into 1/(4 tan²). Spline: the factors of I + λDᵀD round by 8 epsilons of its
 * norm 64λ, and the inverse magnifies nothing, but the norm of the whole signal counts.
 */
function rounding(name: ClassicFilterName, cutoff: number, samples: number): number {
  if (name === 'butterworth') return (20 * EPSILON) / (4 * warped(cutoff) ** 2);
  if (name === 'spline') return 8 * 64 * penalty(cutoff) * Math.sqrt(samples) * EPSILON;
  return 500 * EPSILON;
}

/** Response to an impulse in the middle of 100 s, where that of the slowest is down to 1e-16. */
const MIDDLE = 750;
const response = (filter: SignalFilter, cutoff: number) =>
  filter(new Float64Array(2 * MIDDLE + 1).fill(1, MIDDLE, MIDDLE + 1), SAMPLE_RATE, cutoff);

function gain(filter: SignalFilter, cutoff: number): (frequency: number) => number {
  const impulse = response(filter, cutoff);
  return (frequency) =>
    impulse.reduce(
      (sum, x, k) => sum + x * Math.cos((2 * Math.PI * frequency * (k - MIDDLE)) / SAMPLE_RATE),
      0,
    );
}

describe.each(CUTOFFS)('with a cut-off of %d Hz', (cutoff) => {
  const frequencies = [0, 0.1, 0.25, 0.5, 0.8, 1, 2, 4, 7, cutoff];

  test('the Gaussian leaves ½ to the power of (f/cut-off)², half at the cut-off', () => {
    const left = gain(gaussianFilter, cutoff);
    // The tails beyond four deviations hold 6.4e-5, which are cut off and made up for.
    for (const f of frequencies) {
      expect(Math.abs(left(f) - 0.5 ** ((f / cutoff) ** 2))).toBeLessThan(2 * 6.4e-5);
    }
  });

  test('Butterworth leaves 1/(1 + (tan/tan)⁴), half at the cut-off', () => {
    const left = gain(butterworthFilter, cutoff);
    // The coefficients round by 2 epsilons; the gain divides them by the fourth power of tan.
    const tolerance = (16 * 2 * EPSILON) / (warped(cutoff) ** 4 / 4);
    for (const f of frequencies) {
      const expected = 1 / (1 + (warped(f) / warped(cutoff)) ** 4);
      expect(Math.abs(left(f) - expected)).toBeLessThan(tolerance);
    }
  });

  test('the spline leaves 1/(1 + λ (2 sin)⁶), half at the cut-off', () => {
    const left = gain(splineFilter, cutoff);
    const tolerance = rounding('spline', cutoff, 2 * MIDDLE + 1);
    for (const f of frequencies) {
      const expected = 1 / (1 + (difference(f) / difference(cutoff)) ** 6);
      expect(Math.abs(left(f) - expected)).toBeLessThan(tolerance);
    }
  });

  test('Savitzky–Golay leaves half at the cut-off, as nearly as whole samples allow', () => {
    // The gain of a parabola over half + ½ samples is ∫ (9 − 15x²)/8 cos 2πux dx from −1 to 1 for
    // u cycles in that width, but for sampling: ½ at u = 0.637, or up to 0.642 for half ≥ 8, and
    // nowhere steeper than 2.28. The width is rounded by half a sample.
    const tolerance = 2.28 * ((0.5 * cutoff) / SAMPLE_RATE + 0.004);
    expect(Math.abs(gain(savitzkyGolayFilter, cutoff)(cutoff) - 0.5)).toBeLessThan(tolerance);
  });

  test.each(FILTERS)('%s shifts nothing in time', (name, filter) => {
    const impulse = response(filter, cutoff);
    // An impulse is a signal of norm 1.
    expect(largestGap(impulse, impulse.slice().reverse())).toBeLessThan(
      2 * rounding(name, cutoff, 1),
    );
  });

  test.each(FILTERS)('a constant and a straight line pass %s unchanged', (name, filter) => {
    const levels = fc.integer({ min: -1000, max: 1000 }).map((k) => k / 1000);
    const lengths = fc.integer({ min: Math.ceil((4 * SAMPLE_RATE) / cutoff), max: 900 });
    fc.assert(
      fc.property(levels, levels, lengths, (level, rise, n) => {
        const line = Float64Array.from({ length: n }, (_, k) => (level + (rise * k) / n) / 2);
        // A line that sets in makes each pass of Butterworth ring with its delay, √2/(2πfc), times
        // the slope; three periods of the cut-off later √2 exp(−3√2π) of that is left.
        const ringing =
          (2 * (Math.abs(rise) / 2 / n) * SAMPLE_RATE * 2 * Math.exp(-3 * Math.SQRT2 * Math.PI)) /
          (2 * Math.PI * cutoff);
        const tolerance = rounding(name, cutoff, n) + (name === 'butterworth' ? ringing : 0);
        expect(largestGap(filter(line, SAMPLE_RATE, cutoff), line)).toBeLessThan(tolerance);
      }),
    );
  });

  test('a parabola passes the spline unchanged, up to its ends', () => {
    const n = 600;
    const parabola = Float64Array.from({ length: n }, (_, k) => (k / n) * (1 - k / n));
    const gap = largestGap(splineFilter(parabola, SAMPLE_RATE, cutoff), parabola);
    expect(gap).toBeLessThan(rounding('spline', cutoff, n));
  });

  test.each(FILTERS)(
    'where %s meets the end of a bob nothing grows, and a period inside it is forgotten',
    (_name, filter) => {
      const period = Math.round(SAMPLE_RATE / cutoff);
      const n = 12 * period;
      for (let phase = 0; phase < 2 * Math.PI; phase += Math.PI / 8) {
        const bob = Float64Array.from({ length: n + 20 * period }, (_, k) =>
          Math.sin((2 * Math.PI * 2.2 * cutoff * k) / SAMPLE_RATE + phase),
        );
        const whole = filter(bob, SAMPLE_RATE, cutoff).subarray(10 * period, 10 * period + n);
        const cut = filter(bob.subarray(10 * period, 10 * period + n), SAMPLE_RATE, cutoff);
        const moved = cut.map((x, k) => Math.abs(x - whole[k]!));
        // Butterworth mirrors three periods of the cut-off, after which 1.6e-6 still rings.
        expect(Math.max(...cut.map(Math.abs))).toBeLessThan(1 + 1.7e-6);
        // The spline forgets slowest: its three modes fall by e^−π and faster in a period.
        const inside = moved.subarray(period, n - period);
        expect(Math.max(...inside)).toBeLessThan(2 * Math.exp(-Math.PI));
      }
    },
  );
});

test.each(FILTERS)('%s leaves the signal it was given as it was', (_name, filter) => {
  const signal = Float64Array.from({ length: 100 }, (_, k) => Math.sin(k));
  const before = signal.slice();
  filter(signal, SAMPLE_RATE, 0.5);
  expect(signal).toEqual(before);
});

test.each(FILTERS)('%s only asks for the cut-off in cycles per sample', (_name, filter) => {
  const signal = Float64Array.from({ length: 100 }, (_, k) => Math.sin(k));
  expect(filter(signal, 60, 2)).toEqual(filter(signal, 15, 0.5));
});
