import { expect, test } from 'vitest';
import { lineSpectrum } from '../../src/motion/lineSpectrum.js';
import { largestGap } from '../apart.js';

const SAMPLE_RATE = 15;
const N = 120;
const START = 7;
const HIGHEST = 2.65;
const ALL = { from: 0, to: HIGHEST };

/** Slow wandering and two lines. */
const signal = (phase: number) =>
  Float64Array.from({ length: 150 }, (_, k) => {
    const t = k / SAMPLE_RATE;
    return (
      0.3 * Math.sin(0.9 * t + phase) +
      0.02 * Math.sin(2 * Math.PI * 1.9 * t + 2 * phase) +
      0.01 * Math.sin(2 * Math.PI * 0.95 * t + 3 * phase) +
      0.002 * Math.sin(12.9898 * k * (k + phase))
    );
  });

const middle = (values: readonly number[]) => {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1]!;
};

/** The same by its words: sums over the window for each frequency, logarithms, three medians. */
function written(values: Float64Array): { resolution: number; relative: number[] } {
  const rates = Array.from({ length: N }, (_, k) => values[START + k]! - values[START + k - 1]!);
  rates[0] = rates[1]!;
  const centre = (N - 1) / 2;
  const mean = rates.reduce((sum, x) => sum + x, 0) / N;
  const slope =
    rates.reduce((sum, x, k) => sum + x * (k - centre), 0) /
    rates.reduce((sum, _, k) => sum + (k - centre) ** 2, 0);
  const faded = rates.map(
    (x, k) =>
      (x - mean - slope * (k - centre)) * (0.5 - 0.5 * Math.cos((2 * Math.PI * (k + 1)) / (N + 1))),
  );
  const resolution = SAMPLE_RATE / 2048;
  const power = Array.from({ length: 500 }, (_, bin) => {
    const turn = (2 * Math.PI * bin) / 2048;
    const re = faded.reduce((sum, x, k) => sum + x * Math.cos(turn * k), 0);
    const im = faded.reduce((sum, x, k) => sum + x * Math.sin(turn * k), 0);
    return re * re + im * im;
  });
  const place = (f: number) => Math.log(f / 0.55) / Math.log(3.6 / 0.55);
  const [y0, y1, y2] = [0, 1, 2].map((band) =>
    middle(
      power
        .map((value, bin) => [value, place(bin * resolution)] as const)
        .filter(([, at]) => at >= band / 3 && at < (band + 1) / 3)
        .map(([value]) => Math.log(value)),
    ),
  ) as [number, number, number];
  const relative = power.map((value, bin) => {
    const x = place(Math.max(bin * resolution, 0.3)) - 1 / 2;
    // The parabola through (−1/3, y0), (0, y1), (1/3, y2).
    const log = y1 + (3 * x * (y2 - y0)) / 2 + (9 * x * x * (y0 + y2 - 2 * y1)) / 2;
    return value / Math.exp(log);
  });
  return { resolution, relative };
}

test('lines stand above a parabola through the medians of three bands', () => {
  const { resolution, of } = lineSpectrum(N, SAMPLE_RATE, HIGHEST);
  const [found] = of(START, ALL, signal(1));
  const expected = written(signal(1));
  expect(resolution).toBe(expected.resolution);
  expect(found!.length).toBeGreaterThan(HIGHEST / resolution + 1);
  const largest = Math.max(...expected.relative);
  // Transforms round amplitudes by some 20 ε of the largest; powers by twice that.
  expect(
    largestGap(
      found!.map((x) => x / largest),
      expected.relative.slice(0, found!.length).map((x) => x / largest),
    ),
  ).toBeLessThan(1000 * Number.EPSILON);
});

test('two signals in one transform are what each is alone', () => {
  const { of } = lineSpectrum(N, SAMPLE_RATE, HIGHEST);
  const together = of(START, ALL, signal(1), signal(2));
  [1, 2].forEach((phase, which) => {
    const [alone] = of(START, ALL, signal(phase));
    const largest = Math.max(...alone!);
    expect(largestGap(together[which]!, alone!)).toBeLessThan(1000 * Number.EPSILON * largest);
  });
});

test('a camera that stands still has no lines', () => {
  const [relative] = lineSpectrum(N, SAMPLE_RATE, HIGHEST).of(
    START,
    ALL,
    new Float64Array(150).fill(0.4),
  );
  expect(Math.max(...relative!)).toBe(0);
});

test('only what is asked for is worked out, and both neighbours of every frequency', () => {
  const { resolution, of } = lineSpectrum(N, SAMPLE_RATE, HIGHEST);
  const [all] = of(START, ALL, signal(1));
  const band = { from: 0.6, to: 1.3 };
  const [part] = of(START, band, signal(1));
  part!.forEach((value, k) => {
    if (k >= Math.floor(band.from / resolution) && k <= band.to / resolution + 1) {
      expect(value).toBe(all![k]);
    } else if (
      k * resolution < band.from - resolution ||
      k * resolution > band.to + 2 * resolution
    ) {
      expect(value).toBe(0);
    }
  });
});
