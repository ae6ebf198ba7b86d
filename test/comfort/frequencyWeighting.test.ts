import { describe, expect, test } from 'vitest';
import { motionSicknessWeight } from '../../src/comfort/frequencyWeighting.js';
import { fc } from '../seed.js';

/** Frequency, Hz, and 1000 W_f as printed. Source: ISO 2631-1:1997, Table 3. */
const TABLE_3: readonly (readonly [number, string])[] = [
  [0.02, '24.2'],
  [0.025, '37.7'],
  [0.0315, '59.7'],
  [0.04, '97.1'],
  [0.05, '157'],
  [0.063, '267'],
  [0.08, '461'],
  [0.1, '695'],
  [0.125, '895'],
  [0.16, '1006'],
  [0.2, '992'],
  [0.25, '854'],
  [0.315, '619'],
  [0.4, '384'],
  [0.5, '224'],
  [0.63, '116'],
  [0.8, '53.0'],
  [1, '23.5'],
  [1.25, '9.98'],
  [1.6, '3.77'],
  [2, '1.55'],
  [2.5, '0.64'],
  [3.15, '0.25'],
  [4, '0.097'],
];

type Complex = readonly [re: number, im: number];

const times = ([a, b]: Complex, [c, d]: Complex): Complex => [a * c - b * d, a * d + b * c];
const over = (p: Complex, [c, d]: Complex): Complex => {
  const [re, im] = times(p, [c, -d]);
  return [re / (c * c + d * d), im / (c * c + d * d)];
};

/**
 * |H(i 2πf)| from the transfer functions as the standard writes them, in the variable p and not in
 * ratios of frequencies; parameters of W_f from ISO 2631-1:1997, Annex A.
 */
function gainByComplexNumbers(f: number): number {
  const p: Complex = [0, 2 * Math.PI * f];
  const omega = (hz: number) => 2 * Math.PI * hz;
  const [w1, w2, w4, w5, w6] = [0.08, 0.63, 0.25, 0.0625, 0.1].map(omega) as [
    number,
    number,
    number,
    number,
    number,
  ];
  const quadratic = (a0: number, a1: number, a2: number): Complex => {
    const square = times(p, p);
    return [a0 + a1 * p[0] + a2 * square[0], a1 * p[1] + a2 * square[1]];
  };
  const squared = times(p, p);
  const highPass = over(squared, quadratic(w1 * w1, Math.SQRT2 * w1, 1));
  const lowPass = over([w2 * w2, 0], quadratic(w2 * w2, Math.SQRT2 * w2, 1));
  const transition = over([1, 0], quadratic(1, 1 / (0.86 * w4), 1 / (w4 * w4)));
  const step = over(quadratic(w5 * w5, w5 / 0.8, 1), quadratic(w6 * w6, w6 / 0.8, 1));
  return Math.hypot(...times(times(highPass, lowPass), times(transition, step)));
}

/** Where a function crosses a level between two places on either side of it, by halving. */
function crossing(f: (x: number) => number, level: number, from: number, to: number): number {
  let [a, b] = [from, to];
  for (let step = 0; step < 60; step++) {
    const middle = (a + b) / 2;
    if (f(a) < level === f(middle) < level) a = middle;
    else b = middle;
  }
  return (a + b) / 2;
}

/** Where a function with one summit is largest, by thirds. */
function summit(f: (x: number) => number, from: number, to: number): number {
  let [a, b] = [from, to];
  for (let step = 0; step < 60; step++) {
    const third = (b - a) / 3;
    if (f(a + third) < f(b - third)) a += third;
    else b -= third;
  }
  return (a + b) / 2;
}

describe('the weighting for motion sickness', () => {
  test.each(TABLE_3)('at %d Hz is %s thousandths as printed', (frequency, printed) => {
    const digits = printed.split('.')[1]?.length ?? 0;
    expect((1000 * motionSicknessWeight(frequency)).toFixed(digits)).toBe(printed);
  });

  // Computed with scipy.signal.freqs from the same transfer functions; half a unit of the last digit.
  test.each([
    [0.1, 0.6950909],
    [0.16, 1.0060032],
    [0.5, 0.2238905],
    [1, 0.0235203],
    [2, 0.001551],
  ])('at %d Hz is %d as scipy has it', (frequency, expected) => {
    expect(Math.abs(motionSicknessWeight(frequency) - expected)).toBeLessThanOrEqual(0.5e-7);
  });

  test('is the modulus of the transfer functions of the standard at every frequency', () => {
    fc.assert(
      fc.property(fc.integer({ min: -3000, max: 2000 }), (thousandths) => {
        const f = 10 ** (thousandths / 1000);
        const expected = gainByComplexNumbers(f);
        // A dozen sums and products on either side. Where 1 − (f/f₀)² cancels the other part of the
        // modulus stays of the size of 1, so that no digit is lost: 64 roundings are plenty.
        expect(Math.abs(motionSicknessWeight(f) / expected - 1)).toBeLessThan(64 * Number.EPSILON);
      }),
    );
  });

  // The place and the two below with scipy.optimize on the same transfer functions.
  test('peaks with 1.0143265 at 0.174438 Hz', () => {
    const peak = summit(motionSicknessWeight, 0.1, 0.3);
    expect(peak).toBeCloseTo(0.174438, 6);
    const top = motionSicknessWeight(peak);
    expect(top).toBeCloseTo(1.0143265, 7);
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 100_000 }), (k) => {
        expect(motionSicknessWeight(k / 1e4)).toBeLessThanOrEqual(top);
      }),
    );
  });

  test('is 3 dB below its peak at 0.1022 and 0.2874 Hz', () => {
    // 3 dB as half the power; half a unit of the last digit.
    const level = 1.0143265 / Math.SQRT2;
    expect(crossing(motionSicknessWeight, level, 0.02, 0.17)).toBeCloseTo(0.1022, 4);
    expect(crossing(motionSicknessWeight, level, 0.18, 4)).toBeCloseTo(0.2874, 4);
  });
});
