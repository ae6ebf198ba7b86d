import { Matrix, SVD } from 'ml-matrix';
import { describe, expect, test } from 'vitest';
import { bestRotation3, singularValues3 } from '../../src/numeric/svd3.js';
import { matrixFromQuaternion } from '../../src/rotation/matrix.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';
import { rotations } from '../turns.js';

const EPSILON = Number.EPSILON;
const entry = fc.integer({ min: -1000, max: 1000 }).map((k) => k / 1000);
const matrices = fc.array(entry, { minLength: 9, maxLength: 9 }).map((a) => Float64Array.from(a));
const dense = (a: ArrayLike<number>) => Matrix.from1DArray(3, 3, Array.from(a));
const trace = (c: ArrayLike<number>, h: ArrayLike<number>) =>
  Array.from(c).reduce((sum, value, i) => sum + value * h[i]!, 0);

describe('the singular values of three by three', () => {
  test('are those of the general decomposition, also of matrices without full rank', () => {
    const flat = matrices.map((a) => a.map((value, i) => (i < 6 ? value : a[i - 3]! - a[i - 6]!)));
    fc.assert(
      fc.property(fc.oneof(matrices, flat), (a) => {
        const { values, determinant } = singularValues3(a);
        const expected = new SVD(dense(a)).diagonal;
        // The squares are found in AᵀA, elements up to 12 (flat: entries to 2): 3 products, then
        // 15 rotations of 4 operations each.
        values.forEach((value, i) => {
          expect(Math.abs(value ** 2 - expected[i]! ** 2)).toBeLessThan(63 * 12 * EPSILON);
        });
        // Six products of three entries up to 2, in sums of six.
        const product = expected.reduce((all, value) => all * value, 1);
        expect(Math.abs(Math.abs(determinant) - product)).toBeLessThan(48 * 8 * EPSILON);
      }),
    );
  });

  test('a mirror shows in the sign of the determinant', () => {
    const { values, determinant } = singularValues3(Float64Array.of(3, 0, 0, 0, 2, 0, 0, 0, -1));
    expect(values).toEqual([3, 2, 1]);
    expect(determinant).toBe(-6);
  });
});

describe('the best rotation', () => {
  test('is found again behind any positive stretch', () => {
    const stretches = fc.array(fc.integer({ min: 1, max: 1000 }), { minLength: 3, maxLength: 3 });
    fc.assert(
      fc.property(rotations, stretches, (q, stretch) => {
        const c = matrixFromQuaternion(q);
        const h = Float64Array.from(c, (value, i) => (value * stretch[i % 3]!) / 1000);
        // Values from 0.001 to 1: 100 operations, their rounding magnified a thousandfold.
        expect(largestGap(bestRotation3(h), c)).toBeLessThan(100 * 1000 * EPSILON);
      }),
    );
  });

  test('is proper, and explains what the signed singular values say, more than any other', () => {
    fc.assert(
      fc.property(matrices, rotations, (h, q) => {
        const c = bestRotation3(h);
        const { values, determinant } = singularValues3(h);
        const gain = values[0] + values[1] + Math.sign(determinant) * values[2];
        // The smallest value is the root of a square known to 63 · 9 ε.
        const tolerance = 2 * Math.sqrt(63 * 9 * EPSILON);
        expect(singularValues3(Float64Array.from(c)).determinant).toBeCloseTo(1, 12);
        expect(Math.abs(trace(c, h) - gain)).toBeLessThan(tolerance);
        expect(trace(matrixFromQuaternion(q), h)).toBeLessThan(trace(c, h) + 100 * EPSILON);
      }),
    );
  });
});
