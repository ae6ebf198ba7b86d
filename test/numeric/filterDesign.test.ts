import { describe, expect, test } from 'vitest';
import {
  type Biquad,
  butterworthHighPass,
  butterworthLowPass,
  filterOnce,
  savitzkyGolayWeights,
  windowedSinc,
} from '../../src/numeric/filterDesign.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';

const EPSILON = Number.EPSILON;
const unit = fc.integer({ min: -1000, max: 1000 }).map((k) => k / 1000);
/** Cycles per sample, from a hundredth to 0.49. */
const frequencies = fc.integer({ min: 10, max: 490 }).map((k) => k / 1000);

/** |H|² at a number of cycles per sample. */
function powerGain({ b, a }: Biquad, frequency: number): number {
  const power = (c: readonly number[]) =>
    c.reduce((sum, x, k) => sum + x * Math.cos(2 * Math.PI * frequency * k), 0) ** 2 +
    c.reduce((sum, x, k) => sum + x * Math.sin(2 * Math.PI * frequency * k), 0) ** 2;
  return power(b) / power(a);
}

/**
 * The denominator is at least tan⁴(π/100)/4 ≈ 2.4e-7 where the cut-off is a hundredth, and its
 * terms, up to 16, round by 10 epsilons.
 */
const GAIN = (16 * 10 * EPSILON) / 2.4e-7;

describe('the Butterworth filters of order 2', () => {
  test('the low-pass leaves 1/(1 + (tan πf / tan πfc)⁴) of the power', () => {
    fc.assert(
      fc.property(frequencies, frequencies, (cutoff, f) => {
        const expected = 1 / (1 + (Math.tan(Math.PI * f) / Math.tan(Math.PI * cutoff)) ** 4);
        const found = powerGain(butterworthLowPass(cutoff, 1), f);
        expect(Math.abs(found - expected)).toBeLessThan(GAIN);
      }),
    );
  });

  test('low-pass and high-pass share the power between them', () => {
    fc.assert(
      fc.property(frequencies, frequencies, (cutoff, f) => {
        const low = powerGain(butterworthLowPass(cutoff, 1), f);
        const high = powerGain(butterworthHighPass(cutoff, 1), f);
        expect(Math.abs(low + high - 1)).toBeLessThan(2 * GAIN);
      }),
    );
  });

  test('only the ratio of cut-off and sample rate matters', () => {
    expect(butterworthLowPass(3, 60)).toEqual(butterworthLowPass(1.5, 30));
    expect(butterworthHighPass(3, 60)).toEqual(butterworthHighPass(1.5, 30));
  });
});

describe('one pass of a section', () => {
  test('obeys y = (b₀ + b₁z⁻¹ + b₂z⁻²)/(1 + a₁z⁻¹ + a₂z⁻²) x', () => {
    const signals = fc.array(unit, { minLength: 1, maxLength: 40 });
    fc.assert(
      fc.property(frequencies, signals, (cutoff, list) => {
        const section = butterworthLowPass(cutoff, 1);
        const { b, a } = section;
        const x = Float64Array.from(list);
        const y = filterOnce(section, x);
        // Before the first sample everything stood at its value.
        const at = (values: Float64Array, k: number) => values[Math.max(k, 0)]!;
        const given = (k: number) => (k < 0 ? x[0]! : y[k]!);
        const departures = y.map((value, k) => {
          const fed = b[0] * at(x, k) + b[1] * at(x, k - 1) + b[2] * at(x, k - 2);
          return value - (fed - a[1] * given(k - 1) - a[2] * given(k - 2));
        });
        // Five products and their sums in two orders, of at most 2; the first state divides by
        // 1 + a₁ + a₂ ≥ 4 tan²(π/100) / 1.05.
        const tolerance = (20 * 2 + 8 / 0.0037) * EPSILON;
        expect(Math.max(...departures.map(Math.abs))).toBeLessThan(tolerance);
      }),
    );
  });

  test('a constant passes the low-pass unchanged and the high-pass not at all', () => {
    fc.assert(
      fc.property(frequencies, unit, (cutoff, value) => {
        const constant = new Float64Array(50).fill(value);
        // The steady state carries the rounding of the first, see above, and adds its own.
        const tolerance = (50 * 4 + 8 / 0.0037) * EPSILON;
        const low = filterOnce(butterworthLowPass(cutoff, 1), constant);
        expect(largestGap(low, constant)).toBeLessThan(tolerance);
        const high = filterOnce(butterworthHighPass(cutoff, 1), constant);
        expect(largestGap(high, new Float64Array(50))).toBeLessThan(tolerance);
      }),
    );
  });
});

describe('Savitzky–Golay weights', () => {
  test('give back any polynomial up to their degree, anywhere in the window', () => {
    const cases = fc.integer({ min: 2, max: 20 }).chain((half) =>
      fc.record({
        half: fc.constant(half),
        at: fc.integer({ min: -half, max: half }),
        coefficients: fc.array(unit, { minLength: 1, maxLength: 4 }),
      }),
    );
    fc.assert(
      fc.property(cases, ({ half, at, coefficients }) => {
        const degree = coefficients.length - 1;
        const value = (k: number) =>
          coefficients.reduce((sum, c, power) => sum + c * (k / half) ** power, 0);
        const found = savitzkyGolayWeights(half, degree, at).reduce(
          (sum, weight, i) => sum + weight * value(i - half),
          0,
        );
        // Values up to 4; the normal equations of degree 3 have condition numbers up to 62, and
        // sums of 41 products round by 41 epsilons.
        expect(Math.abs(found - value(at))).toBeLessThan(4 * 62 * 41 * EPSILON);
      }),
    );
  });
});

describe('the windowed sinc', () => {
  const cases = fc.record({
    half: fc.integer({ min: 15, max: 60 }),
    cutoff: fc.integer({ min: 10, max: 40 }).map((k) => k / 100),
  });
  const gain = (kernel: Float64Array, frequency: number) =>
    kernel.reduce(
      (sum, x, i) => sum + x * Math.cos(2 * Math.PI * frequency * (i - (kernel.length >> 1))),
      0,
    );

  test('is symmetric and has the sum 1', () => {
    fc.assert(
      fc.property(cases, ({ half, cutoff }) => {
        const kernel = windowedSinc(half, cutoff * 15, 15);
        expect(kernel).toHaveLength(2 * half + 1);
        expect(largestGap(kernel, kernel.slice().reverse())).toBe(0);
        expect(Math.abs(gain(kernel, 0) - 1)).toBeLessThan(121 * EPSILON);
      }),
    );
  });

  test('leaves half of the amplitude at the cut-off, all of it below and nothing above', () => {
    // Oppenheim and Schafer: with a Hamming window of 2 half + 1 taps the transition reaches 1/half
    // cycles per sample to either side, and ripples beside it stay below −53 dB: those of the
    // cut-off, of its mirror image at negative frequencies, and of the sum that is divided by.
    const ripple = 3 * 10 ** (-53 / 20);
    fc.assert(
      fc.property(cases, ({ half, cutoff }) => {
        const kernel = windowedSinc(half, cutoff, 1);
        expect(Math.abs(gain(kernel, cutoff) - 0.5)).toBeLessThan(ripple);
        const edge = 1 / half;
        if (cutoff > edge) expect(Math.abs(gain(kernel, cutoff - edge) - 1)).toBeLessThan(ripple);
        for (let f = cutoff + edge; f <= 0.5; f += 0.01) {
          expect(Math.abs(gain(kernel, f))).toBeLessThan(ripple);
        }
      }),
    );
  });
});
