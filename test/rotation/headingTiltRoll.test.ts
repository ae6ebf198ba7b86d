import { describe, expect, test } from 'vitest';
import { quaternionFromEuler } from '../../src/rotation/euler.js';
import {
  headingTiltRollFromQuaternion,
  quaternionFromHeadingTiltRoll,
} from '../../src/rotation/headingTiltRoll.js';
import { rotateVector, type Vector3 } from '../../src/rotation/quaternion.js';
import { apart, largestGap } from '../apart.js';
import { PRODUCT } from '../laws.js';
import { fc } from '../seed.js';
import { DECADES, rotations } from '../turns.js';

const EPSILON = Number.EPSILON;

const AHEAD: Vector3 = [0, 0, -1];
const LEFT: Vector3 = [-1, 0, 0];

/** Angles from −span to span rad. */
const within = (span: number) =>
  fc.integer({ min: -1_000_000, max: 1_000_000 }).map((k) => (k / 1_000_000) * span);

describe('quaternionFromHeadingTiltRoll', () => {
  test('on the path between the night-blooming beds, positive heading looks to the left', () => {
    const [x, y, z] = rotateVector(quaternionFromHeadingTiltRoll(0.3, 0, 0), AHEAD);
    expect(largestGap([x, y, z], [-Math.sin(0.3), 0, -Math.cos(0.3)])).toBeLessThan(4 * EPSILON);
  });

  test('positive tilt looks up into the glass roof', () => {
    const looking = rotateVector(quaternionFromHeadingTiltRoll(0, 0.3, 0), AHEAD);
    expect(largestGap(looking, [0, Math.sin(0.3), -Math.cos(0.3)])).toBeLessThan(4 * EPSILON);
  });

  test('positive roll lowers the left side', () => {
    const left = rotateVector(quaternionFromHeadingTiltRoll(0, 0, 0.3), LEFT);
    expect(largestGap(left, [-Math.cos(0.3), -Math.sin(0.3), 0])).toBeLessThan(4 * EPSILON);
  });

  test('it is the turn about y, then about the new x, then about the new z', () => {
    fc.assert(
      fc.property(within(3), within(3), within(3), (heading, tilt, roll) => {
        const q = quaternionFromHeadingTiltRoll(heading, tilt, roll);
        const turns = quaternionFromEuler('YXZ', [heading, tilt, roll], 'intrinsic');
        expect(apart(q, turns)).toBeLessThan(3 * PRODUCT * EPSILON);
      }),
    );
  });
});

describe('headingTiltRollFromQuaternion', () => {
  test('angles with the view off the vertical come back', () => {
    fc.assert(
      fc.property(within(3.1), within(1.4), within(3.1), (heading, tilt, roll) => {
        const q = quaternionFromHeadingTiltRoll(heading, tilt, roll);
        const read = headingTiltRollFromQuaternion(q);
        // Directions off by 10 epsilons; heading and roll lean on a lever of cos(tilt).
        const tolerance = (10 * EPSILON) / Math.cos(tilt);
        expect(Math.abs(read.heading - heading)).toBeLessThan(tolerance);
        expect(Math.abs(read.tilt - tilt)).toBeLessThan(10 * EPSILON);
        expect(Math.abs(read.roll - roll)).toBeLessThan(tolerance);
      }),
    );
  });

  test.each(DECADES)('heading or roll alone by %d rad keeps every digit', (angle) => {
    const { heading } = headingTiltRollFromQuaternion(quaternionFromHeadingTiltRoll(angle, 0, 0));
    expect(Math.abs(heading - angle)).toBeLessThanOrEqual(8 * EPSILON * angle);
    const { roll } = headingTiltRollFromQuaternion(quaternionFromHeadingTiltRoll(0, 0, angle));
    expect(Math.abs(roll - angle)).toBeLessThanOrEqual(8 * EPSILON * angle);
  });

  test.each(DECADES.filter((angle) => angle < 1))('tilt alone by %d rad does too', (angle) => {
    const { tilt } = headingTiltRollFromQuaternion(quaternionFromHeadingTiltRoll(0, angle, 0));
    expect(Math.abs(tilt - angle)).toBeLessThanOrEqual(8 * EPSILON * angle);
  });

  test('the tilt stays accurate up to the zenith', () => {
    for (const short of [1e-1, 1e-4, 1e-8, 1e-12, 0]) {
      const q = quaternionFromHeadingTiltRoll(0.7, Math.PI / 2 - short, -0.4);
      const { tilt } = headingTiltRollFromQuaternion(q);
      expect(Math.abs(tilt - (Math.PI / 2 - short))).toBeLessThan(10 * EPSILON);
    }
  });

  test('heading and roll lie within half a turn, tilt within a quarter', () => {
    fc.assert(
      fc.property(rotations, (q) => {
        const { heading, tilt, roll } = headingTiltRollFromQuaternion(q);
        expect(Math.abs(heading)).toBeLessThanOrEqual(Math.PI);
        expect(Math.abs(tilt)).toBeLessThanOrEqual(Math.PI / 2);
        expect(Math.abs(roll)).toBeLessThanOrEqual(Math.PI);
      }),
    );
  });

  test('both signs of a quaternion give the same angles', () => {
    fc.assert(
      fc.property(rotations, ([x, y, z, w]) => {
        const plus = headingTiltRollFromQuaternion([x, y, z, w]);
        expect(headingTiltRollFromQuaternion([-x, -y, -z, -w])).toEqual(plus);
      }),
    );
  });
});
