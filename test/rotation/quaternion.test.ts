import { mat3 } from 'gl-matrix';
import { describe, expect, test } from 'vitest';
import {
  angularDistance,
  IDENTITY,
  invertQuaternion,
  multiplyQuaternions,
  normalizeQuaternion,
  type Quaternion,
  quaternionFromAxisAngle,
  rotateVector,
  type Vector3,
} from '../../src/rotation/quaternion.js';
import { apart, largestGap } from '../apart.js';
import { PRODUCT } from '../laws.js';
import { refusal } from '../refusal.js';
import { fc } from '../seed.js';
import { DECADES, directions, rotations, turn, turns, vectors } from '../turns.js';

const EPSILON = Number.EPSILON;

const matrixOf = (q: Quaternion) => mat3.fromQuat(new Float64Array(9) as unknown as mat3, [...q]);

describe('multiplyQuaternions', () => {
  test('two quarter turns about the vertical are half a turn', () => {
    const quarter: Quaternion = [0, Math.SQRT1_2, 0, Math.SQRT1_2];
    const half = multiplyQuaternions(quarter, quarter);
    // Each √½ is off by at most half an epsilon, relative.
    expect(largestGap(half, [0, 1, 0, 0])).toBeLessThanOrEqual(EPSILON);
  });

  test('looking left and then nodding about the new side axis is the turn times the nod', () => {
    const left = turn([0, 1, 0], Math.PI / 2).q;
    const nod = turn([1, 0, 0], Math.PI / 2).q;
    const ahead = rotateVector(multiplyQuaternions(left, nod), [0, 0, -1]);
    expect(largestGap(ahead, [0, 1, 0])).toBeLessThan(4 * EPSILON);
    const right = rotateVector(multiplyQuaternions(left, nod), [1, 0, 0]);
    expect(largestGap(right, [0, 0, -1])).toBeLessThan(4 * EPSILON);
  });

  test("the matrix of a product is gl-matrix's product of the matrices", () => {
    fc.assert(
      fc.property(rotations, rotations, (a, b) => {
        const product = mat3.multiply(
          new Float64Array(9) as unknown as mat3,
          matrixOf(a),
          matrixOf(b),
        );
        // Entries: 2½ epsilons for each matrix, 1½ for the sum of three, 2 × 4 for the product.
        expect(largestGap(matrixOf(multiplyQuaternions(a, b)), product)).toBeLessThan(15 * EPSILON);
      }),
    );
  });

  test('a common rotation leaves the relative rotation of two orientations unchanged', () => {
    fc.assert(
      fc.property(rotations, rotations, rotations, (common, left, right) => {
        const before = multiplyQuaternions(invertQuaternion(left), right);
        const after = multiplyQuaternions(
          invertQuaternion(multiplyQuaternions(common, left)),
          multiplyQuaternions(common, right),
        );
        expect(apart(before, after)).toBeLessThan(4 * PRODUCT * EPSILON);
      }),
    );
  });
});

describe('invertQuaternion', () => {
  test('the inverse turns by the same angle about the opposite axis', () => {
    fc.assert(
      fc.property(turns, ({ q: [x, y, z, w] }) => {
        expect(largestGap(invertQuaternion([x, y, z, w]), [-x, -y, -z, w])).toBe(0);
      }),
    );
  });
});

describe('normalizeQuaternion', () => {
  test('any multiple of a rotation comes back as the rotation', () => {
    const factors = fc.constantFrom(1e-11, 1e-4, 0.99, 1, 1.01, 1e4, 1e200);
    fc.assert(
      fc.property(rotations, factors, ([x, y, z, w], k) => {
        const unit = normalizeQuaternion([k * x, k * y, k * z, k * w]);
        // The drawn norm is off by 2 epsilons, norm and quotient by 1 each.
        expect(apart(unit, [x, y, z, w])).toBeLessThan(8 * EPSILON);
        expect(Math.abs(Math.hypot(...unit) - 1)).toBeLessThan(2 * EPSILON);
      }),
    );
  });

  test.each<[string, Quaternion]>([
    ['the quaternion (0, 0, 0, 0)', [0, 0, 0, 0]],
    ['the quaternion (0, 1e-13, 0, 0)', [0, 1e-13, 0, 0]],
    ['the quaternion (0, 0, NaN, 1)', [0, 0, Number.NaN, 1]],
    ['the quaternion (0, Infinity, 0, 1)', [0, Number.POSITIVE_INFINITY, 0, 1]],
  ])('%s has no direction, and the error names it', (found, q) => {
    expect(() => normalizeQuaternion(q)).toThrow(refusal('rotation/no-direction', found));
  });
});

describe('rotateVector', () => {
  test('a quarter turn about the vertical carries ahead to the left', () => {
    const turned = rotateVector(turn([0, 1, 0], Math.PI / 2).q, [0, 0, -1]);
    expect(largestGap(turned, [-1, 0, 0])).toBeLessThan(2 * EPSILON);
  });

  test('lengths and angles between vectors survive', () => {
    fc.assert(
      fc.property(rotations, vectors, vectors, (q, v, w) => {
        const dot = (a: Vector3, b: Vector3) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
        const turned = dot(rotateVector(q, v), rotateVector(q, w));
        // Products of lengths up to 3; each vector is off by 7 epsilons of its length.
        expect(Math.abs(turned - dot(v, w))).toBeLessThan(3 * 18 * EPSILON);
      }),
    );
  });

  test('the axis stays where it is', () => {
    fc.assert(
      fc.property(turns, ({ axis, q }) => {
        expect(largestGap(rotateVector(q, axis), axis)).toBeLessThan(8 * EPSILON);
      }),
    );
  });
});

describe('quaternionFromAxisAngle', () => {
  test.each(DECADES)('a turn by %d rad has the sine and cosine of half the angle', (angle) => {
    fc.assert(
      fc.property(directions, (axis) => {
        const q = quaternionFromAxisAngle(axis, angle);
        expect(apart(q, turn(axis, angle).q)).toBeLessThan(8 * EPSILON);
        const sine = Math.hypot(q[0], q[1], q[2]);
        // Relative: a small angle keeps all its digits.
        expect(Math.abs(sine / Math.sin(angle / 2) - 1)).toBeLessThan(4 * EPSILON);
      }),
    );
  });

  test('the length of the axis does not matter', () => {
    fc.assert(
      fc.property(turns, fc.constantFrom(1e-9, 0.5, 3, 1e9), ({ axis, angle }, k) => {
        const [x, y, z] = axis;
        const q = quaternionFromAxisAngle([k * x, k * y, k * z], angle);
        expect(apart(q, quaternionFromAxisAngle(axis, angle))).toBeLessThan(8 * EPSILON);
      }),
    );
  });

  test.each<[string, Vector3]>([
    ['the axis (0, 0, 0)', [0, 0, 0]],
    ['the axis (1e-13, 0, 0)', [1e-13, 0, 0]],
    ['the axis (NaN, 0, 1)', [Number.NaN, 0, 1]],
    ['the axis (0, -Infinity, 1)', [0, Number.NEGATIVE_INFINITY, 1]],
  ])('%s has no direction, and the error names it', (found, axis) => {
    expect(() => quaternionFromAxisAngle(axis, 1)).toThrow(refusal('rotation/no-direction', found));
  });
});

describe('angularDistance', () => {
  test.each(DECADES)('a turn by %d rad is that far from no turn, in every digit', (angle) => {
    fc.assert(
      fc.property(directions, fc.constantFrom(1, -1), (axis, sign) => {
        const distance = angularDistance(IDENTITY, turn(axis, angle, sign).q);
        // Below 1e-154 rad the squares underflow: the distance is then zero, off by the angle.
        expect(Math.abs(distance - angle)).toBeLessThanOrEqual(
          Math.max(8 * EPSILON * angle, angle < 1e-150 ? angle : 0),
        );
      }),
    );
  });

  test('it is zero only between equal orientations and at most half a turn', () => {
    fc.assert(
      fc.property(rotations, rotations, (a, b) => {
        expect(angularDistance(a, a)).toBeLessThan(PRODUCT * EPSILON);
        expect(angularDistance(a, b)).toBeLessThanOrEqual(Math.PI);
      }),
    );
  });

  test('no detour is shorter than the direct way', () => {
    fc.assert(
      fc.property(rotations, rotations, rotations, (a, b, c) => {
        const detour = angularDistance(a, b) + angularDistance(b, c);
        expect(angularDistance(a, c)).toBeLessThanOrEqual(detour + 4 * PRODUCT * EPSILON);
      }),
    );
  });
});
