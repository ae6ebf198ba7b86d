import { describe, expect, test } from 'vitest';
import { slerp, squad, squadControl } from '../../src/rotation/interpolate.js';
import {
  angularDistance,
  invertQuaternion,
  multiplyQuaternions,
  type Quaternion,
  type Vector3,
} from '../../src/rotation/quaternion.js';
import { rotationVectorFromQuaternion } from '../../src/rotation/rotationVector.js';
import { apart, largestGap } from '../apart.js';
import { PRODUCT } from '../laws.js';
import { fc } from '../seed.js';
import { DECADES, directions, rotations, SCALES, turn, turns, turnsBy } from '../turns.js';

const EPSILON = Number.EPSILON;

/** One interpolation: two products and the conversion to a rotation vector and back. */
const SLERP = 2 * PRODUCT + 2 * 10;

const fractions = fc.integer({ min: 0, max: 1000 }).map((k) => k / 1000);
const dot = (a: Quaternion, b: Quaternion) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3];

describe('slerp', () => {
  test('it starts at the first orientation and ends at the second', () => {
    fc.assert(
      fc.property(rotations, rotations, (a, b) => {
        expect(apart(slerp(a, b, 0), a)).toBeLessThan(SLERP * EPSILON);
        expect(apart(slerp(a, b, 1), b)).toBeLessThan(SLERP * EPSILON);
      }),
    );
  });

  test.each(DECADES)('over %d rad the way covered is the share of time', (angle) => {
    fc.assert(
      fc.property(rotations, directions, fractions, (a, axis, t) => {
        const b = multiplyQuaternions(a, turn(axis, angle).q);
        const covered = angularDistance(a, slerp(a, b, t));
        const tolerance = (SLERP + 2 * PRODUCT) * EPSILON;
        expect(Math.abs(covered - t * angle)).toBeLessThan(tolerance);
      }),
    );
  });

  test('it turns about one axis at one rate, and goes on outside the span', () => {
    const times = fc.integer({ min: -1000, max: 2000 }).map((k) => k / 1000);
    fc.assert(
      fc.property(rotations, turnsBy(SCALES.random), times, (a, { axis, angle, q }, t) => {
        const expected = multiplyQuaternions(a, turn(axis, t * angle).q);
        const b = multiplyQuaternions(a, q);
        // Errors of the end double at t = 2 and −1.
        const tolerance = 2 * (SLERP + 2 * PRODUCT + 6) * EPSILON;
        expect(apart(slerp(a, b, t), expected)).toBeLessThan(tolerance);
      }),
    );
  });

  test('it takes the shorter way whatever the sign of the second quaternion', () => {
    fc.assert(
      fc.property(rotations, turnsBy(SCALES.random), fractions, (a, { q }, t) => {
        const b = multiplyQuaternions(a, q);
        const opposite: Quaternion = [-b[0], -b[1], -b[2], -b[3]];
        expect(largestGap(slerp(a, opposite, t), slerp(a, b, t))).toBe(0);
      }),
    );
  });

  test('the sign stays that of the first quaternion', () => {
    fc.assert(
      fc.property(rotations, rotations, fractions, (a, b, t) => {
        expect(dot(a, slerp(a, b, t))).toBeGreaterThan(-SLERP * EPSILON);
      }),
    );
  });

  test('a common rotation before or after turns the whole path along', () => {
    fc.assert(
      fc.property(rotations, rotations, turnsBy(SCALES.random), fractions, (c, a, { q }, t) => {
        const b = multiplyQuaternions(a, q);
        const tolerance = (2 * SLERP + 3 * PRODUCT) * EPSILON;
        const left = slerp(multiplyQuaternions(c, a), multiplyQuaternions(c, b), t);
        expect(apart(left, multiplyQuaternions(c, slerp(a, b, t)))).toBeLessThan(tolerance);
        const right = slerp(multiplyQuaternions(a, c), multiplyQuaternions(b, c), t);
        expect(apart(right, multiplyQuaternions(slerp(a, b, t), c))).toBeLessThan(tolerance);
      }),
    );
  });

  test('backwards it is the same path', () => {
    fc.assert(
      fc.property(rotations, turnsBy(SCALES.random), fractions, (a, { q }, t) => {
        const b = multiplyQuaternions(a, q);
        const tolerance = (2 * SLERP + 2 * PRODUCT) * EPSILON;
        expect(apart(slerp(b, a, 1 - t), slerp(a, b, t))).toBeLessThan(tolerance);
      }),
    );
  });
});

describe('squad', () => {
  /** Keys of a walk past four beds, each within a radian of the one before. */
  const walks = fc
    .tuple(rotations, ...Array.from({ length: 3 }, () => fc.tuple(directions, fractions)))
    .map(([first, ...steps]) => {
      const keys = [first];
      for (const [axis, angle] of steps) {
        keys.push(multiplyQuaternions(keys.at(-1)!, turn(axis, angle).q));
      }
      return keys as unknown as readonly [Quaternion, Quaternion, Quaternion, Quaternion];
    });

  test('it passes through its keys', () => {
    fc.assert(
      fc.property(walks, ([before, a, b, after]) => {
        const [atA, atB] = [squadControl(before, a, b), squadControl(a, b, after)];
        expect(apart(squad(a, b, atA, atB, 0), a)).toBeLessThan(2 * SLERP * EPSILON);
        expect(apart(squad(a, b, atA, atB, 1), b)).toBeLessThan(2 * SLERP * EPSILON);
      }),
    );
  });

  test('equal steps about one axis run at one rate', () => {
    fc.assert(
      fc.property(turns, fractions, ({ axis, q: start }, t) => {
        const at = (k: number) => multiplyQuaternions(start, turn(axis, 0.8 * k).q);
        const [atA, atB] = [squadControl(at(0), at(1), at(2)), squadControl(at(1), at(2), at(3))];
        const tolerance = 5 * SLERP * EPSILON;
        expect(apart(squad(at(1), at(2), atA, atB, t), at(1 + t))).toBeLessThan(tolerance);
      }),
    );
  });

  test('before and after a key the rate is half of the step to it plus half of the step from it', () => {
    // Both one-sided derivatives at q are (Log(q⁻¹ next) − Log(q⁻¹ previous)) / 2.
    const log = (from: Quaternion, to: Quaternion): Vector3 =>
      rotationVectorFromQuaternion(multiplyQuaternions(invertQuaternion(from), to));
    const step = 1e-6;
    fc.assert(
      fc.property(walks, walks, ([first, before, key, after], [, , , turned]) => {
        const last = slerp(after, turned, 0.2);
        const controls = [
          squadControl(first, before, key),
          squadControl(before, key, after),
          squadControl(key, after, last),
        ] as const;
        const rise = log(key, squad(key, after, controls[1], controls[2], step));
        const fall = log(key, squad(before, key, controls[0], controls[1], 1 - step));
        const [forward, backward] = [log(key, after), log(key, before)];
        const expected = forward.map((f, i) => (f - backward[i]!) / 2);
        // A one-sided difference misses by half a step times the acceleration, at most 6 rad per
        // span² for steps of a radian to and fro about one axis (doubled here for turning axes),
        // and by the rounding of an orientation over the step.
        const tolerance = 6 * step + (3 * SLERP * EPSILON) / step;
        const rates = (v: Vector3, sign: number) => v.map((x) => (sign * x) / step);
        expect(largestGap(rates(rise, 1), expected)).toBeLessThan(tolerance);
        expect(largestGap(rates(fall, -1), expected)).toBeLessThan(tolerance);
      }),
    );
  });
});

describe('squadControl', () => {
  test('between equal steps the control is the key itself', () => {
    fc.assert(
      fc.property(rotations, turnsBy(SCALES.random), (key, { q }) => {
        const next = multiplyQuaternions(key, q);
        const previous = multiplyQuaternions(key, invertQuaternion(q));
        expect(apart(squadControl(previous, key, next), key)).toBeLessThan(2 * SLERP * EPSILON);
      }),
    );
  });
});
