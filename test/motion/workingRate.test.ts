import { expect, test } from 'vitest';
import { decimate, decimationFactor, undecimate } from '../../src/motion/workingRate.js';
import { largestGap } from '../apart.js';

/** A parabola of values up to 1 whose bend at the ends is as strong as anywhere. */
const parabola = (length: number, scale: number) =>
  Float64Array.from({ length }, (_, k) => 4 * (k / scale) * (1 - k / scale));

test.each([
  [4, 100],
  [4, 3],
  [8, 40],
  [2, 5],
])(
  'brought back to %d times the rate a parabola of %d samples is itself, up to its ends',
  (factor, n) => {
    // The last samples of the clip lie up to factor − 1 frames beyond the last sample that is kept.
    const length = factor * n;
    const slow = parabola(n, n);
    const fast = parabola(length, length);
    // A natural spline lacks the bend y″ = 8/n² per square knot at its own ends, and what it lacks falls
    // by 2 − √3 per knot. 12 knots were added, and the last frames lie within the first of them. Wrong
    // bends m at one end of an interval and (2 − √3) m at the other move it by m/(9√3) and that share more.
    const left = 2 - Math.sqrt(3);
    const tolerance =
      ((8 / n ** 2) * left ** 11 * (1 + left)) / (9 * Math.sqrt(3)) + 100 * Number.EPSILON;
    expect(largestGap(undecimate(slow, factor, length), fast)).toBeLessThan(tolerance);
  },
);

test('what is slow comes through the working rate and back unchanged at both ends', () => {
  const sampleRate = 60;
  const factor = decimationFactor(sampleRate);
  const n = 20 * sampleRate + 3;
  // Point-mirrored ends leave a straight line alone, and the pass band reaches to 5 Hz.
  const line = Float64Array.from({ length: n }, (_, k) => 0.3 + k / n);
  const back = undecimate(decimate(line, sampleRate, factor), factor, n);
  // Sums of 31 weights and a spline of values up to 1.3.
  expect(largestGap(back, line)).toBeLessThan(1000 * Number.EPSILON);
});
