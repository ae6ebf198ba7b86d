import { describe, expect, test } from 'vitest';
import {
  angleOverHalfSine,
  halfCosine,
  halfSineOverAngle,
  quaternionFromRotationVector,
  rotationVectorFromQuaternion,
} from '../../src/rotation/rotationVector.js';
import { SERIES_ANGLE, SERIES_TANGENT } from '../../src/tolerances.js';
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
  test('the series for small angles meet the closed forms up to where they change over', () => {
    for (const share of [1e-8, 1e-3, 0.1, 0.5, 0.9, 0.99, 0.9999, 1, 1.0001]) {
      const angle = share * SERIES_ANGLE;
      const sine = Math.sin(angle / 2) / angle;
      // The left-out term is half an epsilon; each form rounds by one.
      expect(Math.abs(halfSineOverAngle(angle, angle * angle) / sine - 1)).toBeLessThan(
        3 * EPSILON,
      );
      const cosine = Math.cos(angle / 2);
      expect(Math.abs(halfCosine(angle, angle * angle) - cosine)).toBeLessThan(2 * EPSILON);
    }
  });

  test('the series of the logarithm meets the closed form up to where it changes over', () => {
    for (const share of [1e-8, 1e-3, 0.1, 0.5, 0.9, 0.99, 0.9999, 1, 1.0001]) {
      const half = Math.atan(share * SERIES_TANGENT);
      const [sine, cosine] = [Math.sin(half), Math.cos(half)];
      // Quotient, arctangent or sum, and product round by an epsilon in both forms, sine too.
      const closed = (2 * half) / sine;
      expect(Math.abs(angleOverHalfSine(sine, cosine) / closed - 1)).toBeLessThan(8 * EPSILON);
      // A common factor of sine and cosine is not part of the angle.
      const longer = angleOverHalfSine(1.01 * sine, 1.01 * cosine) * 1.01;
      expect(Math.abs(longer / closed - 1)).toBeLessThan(11 * EPSILON);
    }
  });

  test('without a turn the factor of the logarithm is its limit, 2', () => {
    expect(angleOverHalfSine(0, 1)).toBe(2);
    expect(angleOverHalfSine(1e-300, 1)).toBe(2);
  });
});
