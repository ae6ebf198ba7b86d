import { describe, expect, test } from 'vitest';
import {
  angularDistance,
  IDENTITY,
  multiplyQuaternions,
  type Quaternion,
  rotateVector,
  type Vector3,
} from '../../src/rotation/quaternion.js';
import { swingTwist } from '../../src/rotation/swingTwist.js';
import { apart, largestGap } from '../apart.js';
import { PRODUCT } from '../laws.js';
import { refusal } from '../refusal.js';
import { fc } from '../seed.js';
import { DECADES, directions, rotations, turn } from '../turns.js';

const EPSILON = Number.EPSILON;

/** How far half the swing is from half a turn: what the twist leans on. */
const lever = ([x, y, z, w]: Quaternion, [a, b, c]: Vector3) =>
  Math.hypot(x * a + y * b + z * c, w);

describe('swingTwist', () => {
  test('swing after twist is the rotation', () => {
    fc.assert(
      fc.property(rotations, directions, (q, axis) => {
        const { swing, twist } = swingTwist(q, axis);
        // Two products, and a twist whose length is off by 2 epsilons.
        const tolerance = (2 * PRODUCT + 8) * EPSILON;
        expect(apart(multiplyQuaternions(swing, twist), q)).toBeLessThan(tolerance);
      }),
    );
  });

  test('the twist leaves the axis alone, the swing turns about a direction across it', () => {
    fc.assert(
      fc.property(rotations, directions, (q, axis) => {
        const { swing, twist } = swingTwist(q, axis);
        expect(largestGap(rotateVector(twist, axis), axis)).toBeLessThan(8 * EPSILON);
        const along = swing[0] * axis[0] + swing[1] * axis[1] + swing[2] * axis[2];
        // One product of 4 epsilons, the scalar product, and the lengths of twist and axis.
        expect(Math.abs(along)).toBeLessThan(8 * EPSILON);
      }),
    );
  });

  test('the swing carries the axis where the rotation carries it', () => {
    fc.assert(
      fc.property(rotations, directions, (q, axis) => {
        const { swing } = swingTwist(q, axis);
        const gap = largestGap(rotateVector(swing, axis), rotateVector(q, axis));
        expect(gap).toBeLessThan((2 * PRODUCT + 2 * 8) * EPSILON);
      }),
    );
  });

  test('no turn about the axis comes nearer to the rotation than its twist', () => {
    const angles = fc.integer({ min: -3141, max: 3141 }).map((k) => k / 1000);
    fc.assert(
      fc.property(rotations, directions, angles, (q, axis, angle) => {
        const { twist } = swingTwist(q, axis);
        const other = turn(axis, angle).q;
        expect(angularDistance(twist, q)).toBeLessThan(
          angularDistance(other, q) + 2 * PRODUCT * EPSILON,
        );
      }),
    );
  });

  test.each(DECADES)('a turn by %d rad about the axis itself is all twist', (angle) => {
    fc.assert(
      fc.property(directions, (axis) => {
        const { swing, twistAngle } = swingTwist(turn(axis, angle).q, axis);
        expect(apart(swing, IDENTITY)).toBeLessThan(2 * PRODUCT * EPSILON);
        expect(Math.abs(twistAngle - angle)).toBeLessThanOrEqual(8 * EPSILON * angle);
      }),
    );
  });

  test('a turn across the axis is all swing', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 3000 }), (thousandths) => {
        const { q } = turn([0.6, 0, 0.8], thousandths / 1000);
        const { swing, twistAngle } = swingTwist(q, [0, 1, 0]);
        expect(twistAngle).toBeCloseTo(0, 15);
        expect(apart(swing, q)).toBeLessThan(PRODUCT * EPSILON);
      }),
    );
  });

  test('a turn about the axis beforehand adds to the twist and leaves the swing', () => {
    const angles = fc.integer({ min: -1000, max: 1000 }).map((k) => k / 1000);
    fc.assert(
      fc.property(rotations, directions, angles, (q, axis, angle) => {
        fc.pre(lever(q, axis) > 0.1);
        const before = swingTwist(q, axis);
        const after = swingTwist(multiplyQuaternions(q, turn(axis, angle).q), axis);
        // A product and twice the twist's 8 epsilons, leaning on a lever of 0.1.
        const tolerance = ((PRODUCT + 2 * 8) * EPSILON) / 0.1;
        const added = after.twistAngle - before.twistAngle - angle;
        expect(Math.abs(Math.sin(added / 2))).toBeLessThan(tolerance);
        expect(apart(after.swing, before.swing)).toBeLessThan(tolerance);
      }),
    );
  });

  test('neither the length of the axis nor the sign of the quaternion matters', () => {
    const lengths = fc.constantFrom(1e-9, 0.5, 7, 1e9);
    fc.assert(
      fc.property(rotations, directions, lengths, (q, axis, k) => {
        fc.pre(lever(q, axis) > 0.1 && Math.abs(q[3]) > 1e-3);
        const [x, y, z] = axis;
        const long = swingTwist([-q[0], -q[1], -q[2], -q[3]], [k * x, k * y, k * z]);
        const unit = swingTwist(q, axis);
        // The direction of a stretched axis is off by 2 epsilons, on a lever of 0.1.
        const tolerance = (8 * EPSILON) / 0.1;
        expect(Math.abs(long.twistAngle - unit.twistAngle)).toBeLessThan(tolerance);
        expect(apart(long.twist, unit.twist)).toBeLessThan(tolerance);
        expect(apart(long.swing, unit.swing)).toBeLessThan(tolerance);
      }),
    );
  });

  test('the twist angle is greater than −180° and at most 180°', () => {
    fc.assert(
      fc.property(rotations, directions, (q, axis) => {
        const { twistAngle } = swingTwist(q, axis);
        expect(twistAngle).toBeGreaterThan(-Math.PI);
        expect(twistAngle).toBeLessThanOrEqual(Math.PI);
      }),
    );
  });

  test('half a turn counts as +180° from either sign of the quaternion', () => {
    expect(swingTwist([0, 1, 0, 0], [0, 1, 0]).twistAngle).toBe(Math.PI);
    expect(swingTwist([0, -1, 0, 0], [0, 1, 0]).twistAngle).toBe(Math.PI);
    expect(swingTwist([0, -1, 0, 1e-20], [0, 1, 0]).twistAngle).toBe(Math.PI);
  });

  test('a swing by exactly half a turn leaves no twist', () => {
    expect(swingTwist([1, 0, 0, 0], [0, 1, 0])).toEqual({
      swing: [1, 0, 0, 0],
      twist: IDENTITY,
      twistAngle: 0,
    });
  });

  test.each<[string, Vector3]>([
    ['the axis (0, 0, 0)', [0, 0, 0]],
    ['the axis (0, 1e-13, 0)', [0, 1e-13, 0]],
    ['the axis (0, NaN, 1)', [0, Number.NaN, 1]],
    ['the axis (Infinity, 0, 0)', [Number.POSITIVE_INFINITY, 0, 0]],
  ])('%s has no direction, and the error names it', (found, axis) => {
    expect(() => swingTwist(IDENTITY, axis)).toThrow(refusal('rotation/no-direction', found));
  });
});
