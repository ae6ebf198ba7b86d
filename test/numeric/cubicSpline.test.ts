import { describe, expect, test } from 'vitest';
import { cubicSpline, evenCubicSpline } from '../../src/numeric/cubicSpline.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';

const EPSILON = Number.EPSILON;

/** Three to ten points, ½ to 2 apart, with values from −1 to 1. */
const points = fc
  .array(fc.tuple(fc.integer({ min: 50, max: 200 }), fc.integer({ min: -1000, max: 1000 })), {
    minLength: 3,
    maxLength: 10,
  })
  .map((list) => {
    let at = 0;
    const x = list.map(([gap]) => {
      at += gap / 100;
      return at;
    });
    return { x, y: list.map(([, value]) => value / 1000) };
  });

/** Slope and curvature of a cubic at a place, from four of its values a third of an interval apart. */
function derivatives(values: readonly number[], step: number): readonly [number, number] {
  const [a, b, c, d] = values as [number, number, number, number];
  return [
    (-11 * a + 18 * b - 9 * c + 2 * d) / (6 * step),
    (2 * a - 5 * b + 4 * c - d) / (step * step),
  ];
}

describe('the natural cubic spline', () => {
  test('it has the values of scipy', () => {
    // scipy 1.10, CubicSpline(x, y, bc_type='natural'), fifteen decimals.
    const spline = cubicSpline([0, 1, 2.5, 3, 5, 7], [0.3, -0.2, 0.9, 1.1, -0.4, 0.25]);
    const values = [
      [0, 0.3],
      [0.25, 0.106207459757552],
      [0.8, -0.184532273449921],
      [1.7, 0.189561808867691],
      [2.75, 1.042570672694753],
      [4.1, 0.382183108108109],
      [5.5, -0.511624354133545],
      [6.9, 0.175833098171701],
    ];
    // A diagonally dominant system of four rows and a sum of four products on either side.
    const expected = values.map(([, y]) => y!);
    expect(
      largestGap(
        values.map(([x]) => spline(x!)),
        expected,
      ),
    ).toBeLessThan(20 * EPSILON);
  });

  test('it passes through its points', () => {
    fc.assert(
      fc.property(points, ({ x, y }) => {
        // One product by exactly 1 and three by exactly 0.
        expect(x.map(cubicSpline(x, y))).toEqual(y.map((value) => value + 0));
      }),
    );
  });

  test('value, slope and curvature go on across every inner point, and the curvature ends at zero', () => {
    fc.assert(
      fc.property(points, ({ x, y }) => {
        const spline = cubicSpline(x, y);
        const near = (at: number, step: number) =>
          derivatives(
            [0, 1, 2, 3].map((k) => spline(at + k * step)),
            step,
          );
        // Values up to 5 off by 12 epsilons, twelve of them over a squared step of at least 1/36.
        const tolerance = 5 * 12 * 12 * 36 * EPSILON;
        const gaps = x.slice(1).map((at, k) => at - x[k]!);
        gaps.forEach((gap, k) => {
          const [slope, curvature] = near(x[k]!, gap / 3);
          const before = gaps[k - 1];
          if (before === undefined) {
            expect(Math.abs(curvature)).toBeLessThan(tolerance);
            return;
          }
          const [slopeBefore, curvatureBefore] = near(x[k]!, -before / 3);
          expect(Math.abs(slope - slopeBefore)).toBeLessThan(tolerance);
          expect(Math.abs(curvature - curvatureBefore)).toBeLessThan(2 * tolerance);
        });
        const [, atEnd] = near(x.at(-1)!, -gaps.at(-1)! / 3);
        expect(Math.abs(atEnd)).toBeLessThan(tolerance);
      }),
    );
  });

  test('outside the points it holds the value of the nearer end', () => {
    const spline = cubicSpline([1, 2, 3], [5, 9, 7]);
    expect([-1, 1, 3, 8].map(spline)).toEqual([5, 5, 7, 7]);
  });

  test('one point is a constant, two are a straight line', () => {
    expect([0, 2, 4].map(cubicSpline([2], [6]))).toEqual([6, 6, 6]);
    expect([0, 2, 3, 4, 6].map(cubicSpline([2, 4], [6, 8]))).toEqual([6, 6, 7, 8, 8]);
  });

  test('the order in which places are asked for does not matter', () => {
    fc.assert(
      fc.property(
        points,
        fc.array(fc.double({ min: -1, max: 21, noNaN: true })),
        (given, places) => {
          const spline = cubicSpline(given.x, given.y);
          const fresh = (at: number) => cubicSpline(given.x, given.y)(at);
          expect(places.map((at) => spline(at))).toEqual(places.map(fresh));
        },
      ),
    );
  });
});

test('through even points it is the same spline, at every phase between them', () => {
  const values = fc.array(fc.integer({ min: -1000, max: 1000 }), { minLength: 2, maxLength: 12 });
  const whole = (max: number) => fc.integer({ min: 0, max });
  fc.assert(
    fc.property(values, whole(6), whole(60), whole(90), (list, more, start, count) => {
      const factor = more + 1;
      const y = Float64Array.from(list, (value) => value / 1000);
      const from = Math.min(start, (y.length - 1) * factor);
      const spline = cubicSpline(
        y.map((_, k) => k * factor),
        y,
      );
      const expected = Array.from({ length: count }, (_, k) => spline(from + k));
      // Second derivatives of up to 12 and a sum of four products on either side.
      expect(largestGap(evenCubicSpline(y, factor, from, count), expected)).toBeLessThan(
        2 * 20 * 12 * EPSILON,
      );
    }),
  );
});
