// Eilers, "A perfect smoother", Analytical Chemistry 75(14), 3631–3636, 2003: the smooth series z
// solves (I + λ D'D) z = y with D the differences of some order (eq. 5, here order three); with
// weights of the single differences, (I + D'ΛD) z = y.
import { describe, expect, test } from 'vitest';
import { splinePenalty, splineWithCutoffs } from '../../src/motion/classicFilters.js';
import { fc } from '../seed.js';

const SAMPLE_RATE = 15;

test('a spline with a cut-off of its own at each sample solves the equation of the paper', () => {
  const value = fc.integer({ min: -1000, max: 1000 }).map((k) => k / 1000);
  const cutoff = fc.integer({ min: 25, max: 300 }).map((k) => k / 100);
  fc.assert(
    fc.property(fc.array(fc.tuple(value, cutoff), { minLength: 4, maxLength: 60 }), (rows) => {
      const y = Float64Array.from(rows, ([each]) => each);
      const cutoffs = Float64Array.from(rows, ([, each]) => each);
      const z = splineWithCutoffs(y, SAMPLE_RATE, cutoffs);
      const left = z.slice();
      let largest = 0;
      for (let k = 0; k + 3 < y.length; k++) {
        const lambda = splinePenalty(Math.sqrt(cutoffs[k + 1]! * cutoffs[k + 2]!), SAMPLE_RATE);
        largest = Math.max(largest, lambda);
        const third = z[k + 3]! - 3 * z[k + 2]! + 3 * z[k + 1]! - z[k]!;
        [-1, 3, -3, 1].forEach((weight, i) => {
          left[k + i]! += lambda * weight * third;
        });
      }
      // The norm of D'ΛD is at most 64 λ, and the solution is rounded relative to it.
      const tolerance = 8 * (1 + 64 * largest) * Math.sqrt(y.length) * Number.EPSILON;
      left.forEach((value, k) => {
        expect(Math.abs(value - y[k]!)).toBeLessThan(tolerance);
      });
    }),
  );
});

describe('where its cut-off changes', () => {
  // 80 s at 0.3 Hz, then 80 s at 1.2 Hz: far from the change each half filters as a whole would.
  const n = 160 * SAMPLE_RATE;
  const cutoffs = Float64Array.from({ length: n }, (_, k) => (k < n / 2 ? 0.3 : 1.2));

  test.each([
    [0.3, n / 4],
    [1.2, (3 * n) / 4],
  ])('a wave keeps 1/(1 + λ (2 sin πf/fs)⁶) around it: %d Hz', (cutoff, middle) => {
    for (const f of [0.1, 0.3, 0.6, 1.2, 3]) {
      const wave = (k: number) => Math.cos((2 * Math.PI * f * (k - middle)) / SAMPLE_RATE);
      const found = splineWithCutoffs(
        Float64Array.from({ length: n }, (_, k) => wave(k)),
        SAMPLE_RATE,
        cutoffs,
      );
      const gain =
        1 /
        (1 + splinePenalty(cutoff, SAMPLE_RATE) * (2 * Math.sin((Math.PI * f) / SAMPLE_RATE)) ** 6);
      // An end is forgotten as e^−π per period of the cut-off or faster: 12 periods of 0.3 Hz to the
      // change and the end, e^−37. λ of 8e5 times 64 rounds by 1e-8.
      for (let k = middle - 20; k < middle + 20; k++) {
        expect(Math.abs(found[k]! - gain * wave(k))).toBeLessThan(1e-7);
      }
    }
  });
});

test.each([20, 40])(
  'the corner where a speed v sets in is cut by v/(6πf), at %d samples a period',
  (ratio) => {
    const cutoff = SAMPLE_RATE / ratio;
    const n = 60 * ratio;
    const v = 0.7;
    const corner = Float64Array.from({ length: n + 1 }, (_, k) =>
      Math.max(0, (v * (k - n / 2)) / SAMPLE_RATE),
    );
    const cut = splineWithCutoffs(corner, SAMPLE_RATE, new Float64Array(n + 1).fill(cutoff));
    const law = v / (6 * Math.PI * cutoff);
    // Sums over samples instead of integrals: by the formula of Euler and Maclaurin the corner of |t|
    // adds h(0)/12 per square sample, h(0) = 2π/3 f, which is π²/3/ratio² of the law; the warped
    // frequency (2 sin πf/fs for 2πf/fs) shifts as much as π²/6/ratio² of it.
    expect(Math.abs(cut[n / 2]! / law - 1)).toBeLessThan(
      (Math.PI ** 2 / 3 + Math.PI ** 2 / 6) / ratio ** 2,
    );
  },
);
