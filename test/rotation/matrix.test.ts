import { mat3 } from 'gl-matrix';
import { describe, expect, test } from 'vitest';
import {
  type Matrix3,
  matrixFromQuaternion,
  nearestRotation,
  quaternionFromMatrix,
} from '../../src/rotation/matrix.js';
import { IDENTITY, type Quaternion, rotateVector } from '../../src/rotation/quaternion.js';
import { apart, largestGap } from '../apart.js';
import { refusal } from '../refusal.js';
import { fc } from '../seed.js';
import {
  DECADES,
  directions,
  rodrigues,
  rotations,
  SCALES,
  turn,
  turns,
  turnsBy,
} from '../turns.js';

const EPSILON = Number.EPSILON;

const AXES = [
  [1, 0, 0],
  [0, 1, 0],
  [0, 0, 1],
] as const;

const transpose = ([a, b, c, d, e, f, g, h, i]: Matrix3): Matrix3 => [a, d, g, b, e, h, c, f, i];

/** The product aᵀ b, written out as its nine sums. */
function transposedProduct(a: Matrix3, b: Matrix3): Matrix3 {
  const sum = (row: number, column: number) =>
    [0, 3, 6].reduce((total, k) => total + a[k + row]! * b[k + column]!, 0);
  return [0, 1, 2].flatMap((row) =>
    [0, 1, 2].map((column) => sum(row, column)),
  ) as unknown as Matrix3;
}

const noise = fc.array(
  fc.integer({ min: -1000, max: 1000 }).map((k) => k * 1e-6),
  { minLength: 9, maxLength: 9 },
);
const disturb = (m: Matrix3, by: readonly number[]) =>
  m.map((entry, i) => entry + by[i]!) as unknown as Matrix3;

describe('matrixFromQuaternion', () => {
  test('a quarter turn about the vertical, row by row', () => {
    const m = matrixFromQuaternion([0, Math.SQRT1_2, 0, Math.SQRT1_2]);
    expect(largestGap(m, [0, 0, 1, 0, 1, 0, -1, 0, 0])).toBeLessThanOrEqual(EPSILON);
  });

  test("gl-matrix writes the same numbers, column by column, and Rodrigues' formula agrees", () => {
    fc.assert(
      fc.property(turns, (drawn) => {
        const m = matrixFromQuaternion(drawn.q);
        const oracle = mat3.fromQuat(new Float64Array(9) as unknown as mat3, [...drawn.q]);
        expect(largestGap(transpose(m), oracle)).toBeLessThan(5 * EPSILON);
        const columns = AXES.flatMap((axis) => rodrigues(drawn, axis));
        // 2½ epsilons for the matrix, 2 for the formula, 2 × 2 for the drawn quaternion.
        expect(largestGap(transpose(m), columns)).toBeLessThan(9 * EPSILON);
      }),
    );
  });
});

describe('quaternionFromMatrix', () => {
  test('no turn and the half turns about the three axes come back exactly', () => {
    for (const q of [IDENTITY, [1, 0, 0, 0], [0, 1, 0, 0], [0, 0, 1, 0]] as Quaternion[]) {
      expect(largestGap(quaternionFromMatrix(matrixFromQuaternion(q)), q)).toBe(0);
    }
  });

  test.each(DECADES)('a turn by %d rad survives the way through its matrix', (angle) => {
    fc.assert(
      fc.property(directions, (axis) => {
        const { q } = turn(axis, angle);
        // Nine entries off by 2½ epsilons are an angle of 6, reading them is another 6.
        expect(apart(quaternionFromMatrix(matrixFromQuaternion(q)), q)).toBeLessThan(12 * EPSILON);
      }),
    );
  });

  test('the largest component is positive, in unit length', () => {
    // Between 90° and 120° the trace is positive and yet the real part may not be the largest.
    const angles = fc.oneof(fc.constant(1.9), ...Object.values(SCALES));
    fc.assert(
      fc.property(turnsBy(angles), ({ q }) => {
        const read = quaternionFromMatrix(matrixFromQuaternion(q));
        const size = Math.max(...read.map(Math.abs));
        // Equal sizes may differ in their last digits.
        expect(Math.max(...read)).toBeGreaterThan(size - 4 * EPSILON);
        expect(Math.abs(Math.hypot(...read) - 1)).toBeLessThan(2 * EPSILON);
      }),
    );
  });
});

describe('nearestRotation', () => {
  test('a rotation is its own nearest rotation', () => {
    fc.assert(
      fc.property(rotations, (q) => {
        const m = matrixFromQuaternion(q);
        // The entries are off by 2½ epsilons and move by as much; each step rounds by 2.
        expect(largestGap(nearestRotation(m), m)).toBeLessThan(8 * EPSILON);
      }),
    );
  });

  test('a disturbed matrix becomes a rotation, and what is left of it is symmetric', () => {
    fc.assert(
      fc.property(rotations, noise, (q, by) => {
        const m = disturb(matrixFromQuaternion(q), by);
        const r = nearestRotation(m);
        // Each entry of the last Newton step is off by 4 epsilons; a sum of three doubles it.
        const tolerance = 12 * EPSILON;
        expect(largestGap(transposedProduct(r, r), AXES.flat())).toBeLessThan(tolerance);
        // R is the orthogonal polar factor of M exactly when RᵀM is symmetric and positive.
        const stretch = transposedProduct(r, m);
        expect(largestGap(stretch, transpose(stretch))).toBeLessThan(tolerance);
        expect(Math.min(stretch[0], stretch[4], stretch[8])).toBeGreaterThan(0.99);
      }),
    );
  });

  test('printing three decimals moves a rotation by no more than the rounding', () => {
    fc.assert(
      fc.property(rotations, (q) => {
        const printed = matrixFromQuaternion(q).map((x) => Number(x.toFixed(3)));
        const read = quaternionFromMatrix(nearestRotation(printed as unknown as Matrix3));
        // Nine entries off by 5e-4 are a Frobenius norm of 1.5e-3, the polar factor at most
        // doubles it, and √2 rad make one unit of norm.
        expect(apart(read, q)).toBeLessThan(2 * 1.5e-3 * Math.SQRT1_2 * 1.01);
      }),
    );
  });

  test('a stretch by half a percent is mended, one by six in a thousand is refused', () => {
    const scaled = (k: number): Matrix3 => [k, 0, 0, 0, k, 0, 0, 0, k];
    // The Frobenius norm of MᵀM − I is √3 (k² − 1): 0.0174 and 0.0208 against a limit of 0.02.
    expect(largestGap(nearestRotation(scaled(1.005)), AXES.flat())).toBeLessThan(2 * EPSILON);
    expect(() => nearestRotation(scaled(1.006))).toThrow(
      refusal('rotation/not-a-rotation', 'a matrix with determinant 1.0181'),
    );
  });

  test.each<[string, Matrix3, string]>([
    ['mirrors', [1, 0, 0, 0, 1, 0, 0, 0, -1], 'determinant -1.0000'],
    ['flattens', [1, 0, 0, 0, 1, 0, 0, 0, 0], 'determinant 0.0000'],
    ['has a hole', [1, 0, 0, 0, Number.NaN, 0, 0, 0, 1], 'determinant NaN'],
    ['leans', [1, 0.1, 0, 0, 1, 0, 0, 0, 1], 'miss being perpendicular unit vectors by 0.1418'],
  ])('a matrix that %s is no rotation, and the error says by how much', (_what, m, found) => {
    expect(() => nearestRotation(m)).toThrow(
      expect.objectContaining({
        code: 'rotation/not-a-rotation',
        message: expect.stringContaining(found),
      }),
    );
  });

  test('the matrix that was passed keeps its numbers', () => {
    const m: Matrix3 = [1, 0.001, 0, 0, 1, 0, 0, 0, 1];
    nearestRotation(Object.freeze(m));
    expect(m).toEqual([1, 0.001, 0, 0, 1, 0, 0, 0, 1]);
    expect(rotateVector(quaternionFromMatrix(nearestRotation(m)), [0, 0, 1])).toEqual([0, 0, 1]);
  });
});
