// Winter, Biomechanics and Motor Control of Human Movement, 4th ed., 2009, p. 69 (from memory).
// Robertson et al., Research Methods in Biomechanics, 2nd ed., 2014, p. 288 (from memory).
// Coefficients computed with scipy 1.10 signal.butter, gains from the formula 1/(1 + (tan(πf/fs)/
// tan(πfc/fs))⁴), independent of this project.
import { describe, expect, test } from 'vitest';
import { butterworthFilter } from '../../src/motion/classicFilters.js';
import { type Biquad, butterworthLowPass } from '../../src/numeric/filterDesign.js';
import { largestGap } from '../apart.js';

/** Half a unit of the last printed decimal. */
const halfUnit = (decimals: number) => 0.5 * 10 ** -decimals;

/** Power gain |H|² of one pass, or the amplitude gain of a pass forward and one backward. */
function powerGain({ b, a }: Biquad, cyclesPerSample: number): number {
  const [power, poles] = [b, a].map((c) => {
    const phase = (k: number) => 2 * Math.PI * cyclesPerSample * k;
    const re = c.reduce((sum, x, k) => sum + x * Math.cos(phase(k)), 0);
    const im = c.reduce((sum, x, k) => sum + x * Math.sin(phase(k)), 0);
    return re * re + im * im;
  }) as [number, number];
  return power / poles;
}

describe('order 2, cut-off 1 Hz, 60 samples a second', () => {
  const GAINS: readonly (readonly [number, number])[] = [
    [0.25, 0.9961222184],
    [0.5, 0.94132819],
    [1, 0.5],
    [2, 0.0582174024],
    [4, 0.0036819929],
  ];

  test('has the printed coefficients', () => {
    const { b, a } = butterworthLowPass(1, 60);
    const printed = [0.002550535159, 0.005101070317, 0.002550535159];
    expect(largestGap(b, printed)).toBeLessThan(halfUnit(12));
    expect(largestGap(a, [1, -1.852146485396, 0.86234862603])).toBeLessThan(halfUnit(12));
  });

  test.each(GAINS)('at %d Hz two passes leave %d of the amplitude', (frequency, gain) => {
    const found = powerGain(butterworthLowPass(1, 60), frequency / 60);
    expect(Math.abs(found - gain)).toBeLessThan(halfUnit(10));
  });

  test.each(GAINS)('the filter of a track leaves as much at %d Hz', (frequency, gain) => {
    // An impulse amid 20 s: the response dies by exp(−√½ · 2π · 10), 5e-20, up to the ends.
    const middle = 600;
    const response = butterworthFilter(new Float64Array(1201).fill(1, middle, middle + 1), 60, 1);
    const found = response.reduce(
      (sum, x, k) => sum + x * Math.cos((2 * Math.PI * frequency * (k - middle)) / 60),
      0,
    );
    expect(Math.abs(found - gain)).toBeLessThan(halfUnit(10));
  });
});

describe('half power after two passes at 6 Hz, 100 samples a second, the correction by 0.802', () => {
  // (√2 − 1)^¼ on the warped frequency.
  const correction = (Math.SQRT2 - 1) ** 0.25;
  const designed = (Math.atan(Math.tan((Math.PI * 6) / 100) / correction) * 100) / Math.PI;

  test('needs one pass of the printed coefficients at the printed 7.430884958 Hz', () => {
    expect(Math.abs(correction - 0.802243)).toBeLessThan(halfUnit(6));
    expect(Math.abs(designed - 7.430884958)).toBeLessThan(halfUnit(9));
    const { b, a } = butterworthLowPass(designed, 100);
    const printed = [0.040594681447, 0.081189362895, 0.040594681447];
    expect(largestGap(b, printed)).toBeLessThan(halfUnit(12));
    expect(largestGap(a, [1, -1.354748815199, 0.517127540989])).toBeLessThan(halfUnit(12));
  });

  test('is what two such passes leave', () => {
    const amplitude = powerGain(butterworthLowPass(designed, 100), 6 / 100);
    // A dozen roundings, of numbers that the poles near the unit circle magnify tenfold.
    expect(Math.abs(amplitude ** 2 - 0.5)).toBeLessThan(120 * Number.EPSILON);
  });
});
