import { describe, expect, test } from 'vitest';
import {
  angleOverHalfSine,
  halfSineOverAngle,
  quaternionFromRotationVector,
  rotationVectorFromQuaternion,
} from '../../src/rotation/rotationVector.js';
import { SERIES_ANGLE } from '../../src/tolerances.js';
import { apart, largestGap } from '../apart.js';
import { fc } from '../seed.js';
import { DECADES, directions, rotations, SCALES, turn, turns, turnsBy } from '../turns.js';

const EPSILON = Number.EPSILON;

describe('quaternionFromRotationVector', () => {
  test('no rotation vector is no rotation', () => {
    expect(quaternionFromRotationVector([0, 0, 0])).toEqual([0, 0, 0, 1]);
  });

  test.each(DECADES)('a vector of length %d rad turns about itself by its length', (angle) => {
    fc.assert(
      fc.property(directions, (axis) => {
        const [x, y, z] = axis;
        const q = quaternionFromRotationVector([angle * x, angle * y, angle * z]);
        expect(apart(q, turn(axis, angle).q)).toBeLessThan(10 * EPSILON);
        const sine = Math.hypot(q[0], q[1], q[2]);
        // Relative: length, quotient and product round once each, sine and axis too.
        expect(Math.abs(sine / Math.sin(angle / 2) - 1)).toBeLessThan(6 * EPSILON);
      }),
    );
  });

  test('a whole turn more is the same rotation', () => {
    fc.assert(
      fc.property(turnsBy(SCALES.random), ({ axis: [x, y, z], angle, q }) => {
        const more = angle + 2 * Math.PI;
        const wound = quaternionFromRotationVector([more * x, more * y, more * z]);
        // An angle below 10 is off by 4 epsilons, its length by as much again.
        expect(apart(wound, q)).toBeLessThan(40 * EPSILON);
      }),
    );
  });
});

describe('rotationVectorFromQuaternion', () => {
  test.each(DECADES)('a turn by %d rad comes back along its axis in every digit', (angle) => {
    fc.assert(
      fc.property(directions, (axis) => {
        const v = rotationVectorFromQuaternion(turn(axis, angle).q);
        const expected = axis.map((component) => component * angle);
        expect(largestGap(v, expected)).toBeLessThanOrEqual(10 * EPSILON * angle);
      }),
    );
  });

  test('both signs of a quaternion below 180° give the same vector', () => {
    fc.assert(
      fc.property(directions, SCALES.random, (axis, angle) => {
        const plus = rotationVectorFromQuaternion(turn(axis, angle, 1).q);
        expect(rotationVectorFromQuaternion(turn(axis, angle, -1).q)).toEqual(plus);
      }),
    );
  });

  test('the vector is never longer than half a turn', () => {
    fc.assert(
      fc.property(rotations, (q) => {
        const length = Math.hypot(...rotationVectorFromQuaternion(q));
        expect(length).toBeLessThanOrEqual(Math.PI * (1 + 4 * EPSILON));
      }),
    );
  });

  test('at exactly 180° the stored axis is kept', () => {
    fc.assert(
      fc.property(turnsBy(SCALES['exactly 180°']), ({ q: [x, y, z, w] }) => {
        const expected = [x * Math.PI, y * Math.PI, z * Math.PI];
        const v = rotationVectorFromQuaternion([x, y, z, w]);
        expect(largestGap(v, expected)).toBeLessThan(10 * EPSILON * Math.PI);
      }),
    );
  });

  test('a vector shorter than half a turn survives the way there and back', () => {
    fc.assert(
      fc.property(turns, ({ axis: [x, y, z], angle }) => {
        const v = [angle * x, angle * y, angle * z] as const;
        fc.pre(angle < Math.PI);
        const back = rotationVectorFromQuaternion(quaternionFromRotationVector(v));
        // Two conversions of 10 epsilons, in proportion to the length at small angles.
        expect(largestGap(back, v)).toBeLessThanOrEqual(20 * EPSILON * Math.min(1, 2 * angle));
      }),
    );
  });
});

describe('the factors of both maps', () => {
  test('the series for small angles meets the closed form where they change over', () => {
    for (const angle of [0.99, 0.9999, 1, 1.0001].map((k) => k * SERIES_ANGLE)) {
      const closed = Math.sin(angle / 2) / angle;
      const series = halfSineOverAngle(angle, angle * angle);
      // The left-out term is angle⁴/1920 = 2⅓ epsilons, relative; each form rounds by one.
      expect(Math.abs(series / closed - 1)).toBeLessThan(5 * EPSILON);
    }
  });

  test('without a turn the factor of the logarithm is its limit, 2', () => {
    expect(angleOverHalfSine(0, 1)).toBe(2);
    expect(angleOverHalfSine(1e-300, 1)).toBe(2);
  });
});
