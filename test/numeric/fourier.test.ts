import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../bench/accuracy/random.js';
import {
  fourierTransform,
  hannWindow,
  nextPowerOfTwo,
  planFourier,
  powerDensity,
} from '../../src/numeric/fourier.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';

const EPSILON = Number.EPSILON;
const sum = (values: Float64Array) => values.reduce((total, value) => total + value, 0);
const energy = (values: Float64Array) => sum(values.map((value) => value * value));
const unit = fc.integer({ min: -1000, max: 1000 }).map((k) => k / 1000);
const lists = (minLength: number, maxLength: number) =>
  fc.array(unit, { minLength, maxLength }).map((list) => Float64Array.from(list));

/** Complex signals of 1, 2, 4 … 64 values. */
const signals = fc.integer({ min: 0, max: 6 }).chain((stages) => {
  const n = 2 ** stages;
  return fc.record({ stages: fc.constant(stages), re: lists(n, n), im: lists(n, n) });
});

/** X[k] = Σ x[j] exp(−2πi jk/n) as it is written. */
function direct(re: Float64Array, im: Float64Array): { re: Float64Array; im: Float64Array } {
  const n = re.length;
  const at = (k: number, part: (c: number, s: number, j: number) => number) =>
    re.reduce((total, _, j) => {
      const angle = (-2 * Math.PI * ((j * k) % n)) / n;
      return total + part(Math.cos(angle), Math.sin(angle), j);
    }, 0);
  return {
    re: re.map((_, k) => at(k, (c, s, j) => c * re[j]! - s * im[j]!)),
    im: re.map((_, k) => at(k, (c, s, j) => s * re[j]! + c * im[j]!)),
  };
}

describe('the fast Fourier transform', () => {
  test('it is the sum that defines it', () => {
    fc.assert(
      fc.property(signals, ({ re, im }) => {
        const expected = direct(re, im);
        fourierTransform(re, im);
        // Sums of n values of at most 2: each addition rounds by up to n epsilons.
        const tolerance = 2 * re.length ** 2 * EPSILON;
        expect(largestGap(re, expected.re)).toBeLessThanOrEqual(tolerance);
        expect(largestGap(im, expected.im)).toBeLessThanOrEqual(tolerance);
      }),
    );
  });

  test('it keeps the energy, times the length (Parseval)', () => {
    fc.assert(
      fc.property(signals, ({ stages, re, im }) => {
        const before = energy(re) + energy(im);
        fourierTransform(re, im);
        const after = (energy(re) + energy(im)) / re.length;
        // Each stage rounds the norm by at most 4 epsilons; the two sums add one per value.
        const tolerance = (2 * 4 * stages + 4 * re.length) * EPSILON * before;
        expect(Math.abs(after - before)).toBeLessThanOrEqual(tolerance);
      }),
    );
  });
});

test('the next power of two is the number itself or above it', () => {
  expect([0, 1, 2, 3, 4, 5, 1023, 1024, 1025].map(nextPowerOfTwo)).toEqual([
    1, 1, 2, 4, 4, 8, 1024, 1024, 2048,
  ]);
});

test('a plan transforms as often as wanted', () => {
  const transform = planFourier(8);
  const once = [Float64Array.of(1, 2, 3, 4, 5, 6, 7, 8), new Float64Array(8)] as const;
  const again = [once[0].slice(), new Float64Array(8)] as const;
  transform(...once);
  transform(Float64Array.of(3, 1, 4, 1, 5, 9, 2, 6), new Float64Array(8));
  transform(...again);
  expect(again).toEqual(once);
});

test('the Hann window is symmetric, 1 in the middle, and leaves out its zero ends', () => {
  const window = hannWindow(7);
  // (1 − cos 2πk/8)/2 at k = 1 … 7.
  const r = Math.SQRT1_2 / 2;
  expect(largestGap(window, [0.5 - r, 0.5, 0.5 + r, 1, 0.5 + r, 0.5, 0.5 - r])).toBeLessThan(
    2 * EPSILON,
  );
});

describe('the power density', () => {
  test('of one segment it integrates to the windowed mean square, exactly', () => {
    fc.assert(
      fc.property(lists(2, 100), (signal) => {
        const { frequencies, density } = powerDensity(signal, 15, signal.length);
        const window = hannWindow(signal.length);
        const mean = sum(signal) / signal.length;
        const windowed = energy(signal.map((x, k) => (x - mean) * window[k]!)) / energy(window);
        // By Parseval; 128 squares of at most 2, over a window energy that is as large.
        const tolerance = 4 * 128 * 8 * EPSILON;
        expect(Math.abs(sum(density) * frequencies[1]! - windowed)).toBeLessThan(tolerance);
      }),
    );
  });

  test.each([1, 2, 3])('of white noise it integrates to the variance (noise %d)', (seed) => {
    const random = seededRandom(`white noise ${seed}`);
    const signal = Float64Array.from({ length: 60_000 }, () => 0.3 * random.normal());
    const { frequencies, density } = powerDensity(signal, 15, 256);
    // The variance of n normal deviates is off by √(2/n) of itself. The squares of half-overlapping
    // Hann windows add up to weights from ½ to 1, which waste one sample in 18; the mean taken off
    // each segment costs 1/256. Four standard deviations and that.
    const tolerance = 4 * Math.sqrt((2 * 19) / 18 / 60_000) + 1 / 256;
    expect(Math.abs((sum(density) * frequencies[1]!) / 0.09 - 1)).toBeLessThan(tolerance);
  });

  test('of white noise it is the same at all frequencies: twice the variance over the rate', () => {
    const random = seededRandom('white noise');
    const signal = Float64Array.from({ length: 60_000 }, () => random.normal());
    const { density } = powerDensity(signal, 15, 256);
    // 467 half-overlapping segments are worth 18 of 19 of as many separate ones (Welch 1967); 126
    // values away from the two ends stay within five standard deviations.
    const tolerance = 5 / Math.sqrt((467 * 18) / 19);
    for (const value of density.slice(2, -1)) {
      expect(Math.abs((value * 15) / 2 - 1)).toBeLessThan(tolerance);
    }
  });

  test('a sine stands at its frequency, with half of its squared amplitude', () => {
    const signal = Float64Array.from(
      { length: 960 },
      (_, k) => 0.2 * Math.sin((2 * Math.PI * 2 * k) / 15),
    );
    const { frequencies, density } = powerDensity(signal, 15, 240);
    const top = density.indexOf(Math.max(...density));
    expect(Math.abs(frequencies[top]! - 2)).toBeLessThanOrEqual(15 / 256 / 2);
    // The Hann window lets less than 1e-3 of the mean square beat at twice the frequency.
    expect(Math.abs((sum(density) * frequencies[1]!) / 0.02 - 1)).toBeLessThan(1e-3);
  });

  test('a constant has none', () => {
    const { density } = powerDensity(new Float64Array(100).fill(7), 15, 64);
    // The mean of 7s is off by at most 64 epsilons of 7.
    expect(Math.max(...density)).toBeLessThan((64 * 7 * EPSILON) ** 2 * 64);
  });
});
