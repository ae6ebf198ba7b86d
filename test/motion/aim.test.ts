import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { type AimKey, aimPath } from '../../src/motion/aim.js';
import { quaternionAt } from '../../src/rotation/arrays.js';
import {
  headingTiltRollFromQuaternion,
  quaternionFromHeadingTiltRoll,
} from '../../src/rotation/headingTiltRoll.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import { apart } from '../apart.js';
import { refusal } from '../refusal.js';
import { fc } from '../seed.js';

const deg = RADIANS_PER_DEGREE;
const PER_SECOND = 10;
const SECONDS = 20;

/** A camera that turns slowly from where it begins, nods, and rolls a little. */
function path(heading = 0): OrientationTrack {
  const times = Float64Array.from({ length: SECONDS * PER_SECOND + 1 }, (_, k) => k / PER_SECOND);
  const at = (t: number) =>
    quaternionFromHeadingTiltRoll(heading + 0.1 * t, 0.2 * Math.sin(t), 0.05 * Math.cos(t));
  return createTrack({ times, quaternions: Float64Array.from([...times].flatMap(at)) });
}

const anglesAt = (quaternions: Float64Array, time: number) =>
  headingTiltRollFromQuaternion(quaternionAt(quaternions, Math.round(time * PER_SECOND)));

/** Reading angles within 60° of the horizon and writing them again, some ten epsilons each. */
const ROUNDING = 40 * Number.EPSILON;

const angle = (most: number) => fc.integer({ min: -most, max: most }).map((k) => k * deg);
const keys = fc
  .uniqueArray(fc.integer({ min: 0, max: SECONDS * PER_SECOND }), { minLength: 1, maxLength: 6 })
  .chain((frames) =>
    fc.tuple(
      ...frames
        .sort((a, b) => a - b)
        .map((frame) =>
          fc.record<AimKey, 'time' | 'heading' | 'tilt'>(
            {
              time: fc.constant(frame / PER_SECOND),
              heading: angle(180),
              tilt: angle(60),
              roll: angle(45),
            },
            { requiredKeys: ['time', 'heading', 'tilt'] },
          ),
        ),
    ),
  );

describe('an aimed path', () => {
  test('looks exactly where each key says when its time comes', () => {
    fc.assert(
      fc.property(keys, angle(180), (aims, start) => {
        const track = path(start);
        const aimed = aimPath(track, aims);
        for (const key of aims) {
          const own = anglesAt(track.quaternions, key.time);
          const found = quaternionAt(aimed, Math.round(key.time * PER_SECOND));
          const wanted = quaternionFromHeadingTiltRoll(key.heading, key.tilt, key.roll ?? own.roll);
          expect(apart(found, wanted)).toBeLessThan(ROUNDING);
        }
      }),
    );
  });

  test('holds the difference to the own path before the first key and after the last', () => {
    const track = path();
    const aimed = aimPath(track, [{ time: 8, heading: 1, tilt: 0.3, roll: 0 }]);
    const own = anglesAt(track.quaternions, 8);
    for (const time of [0, 3, 12, 20]) {
      const before = anglesAt(track.quaternions, time);
      const after = anglesAt(aimed, time);
      const turned = Math.cos(after.heading - before.heading - (1 - own.heading));
      expect(1 - turned).toBeLessThan(ROUNDING);
      expect(Math.abs(after.tilt - before.tilt - (0.3 - own.tilt))).toBeLessThan(ROUNDING);
      expect(Math.abs(after.roll - before.roll + own.roll)).toBeLessThan(ROUNDING);
    }
  });

  test('goes over from the difference of one of two keys to that of the other at an even pace', () => {
    const track = path();
    const own = (time: number) => anglesAt(track.quaternions, time);
    const aimed = aimPath(track, [
      { time: 4, heading: own(4).heading, tilt: own(4).tilt },
      { time: 14, heading: own(14).heading + 0.5, tilt: own(14).tilt - 0.2 },
    ]);
    for (const [time, share] of [
      [4, 0],
      [6, 0.2],
      [9, 0.5],
      [14, 1],
    ] as const) {
      expect(
        Math.abs(anglesAt(aimed, time).heading - own(time).heading - 0.5 * share),
      ).toBeLessThan(ROUNDING);
      expect(Math.abs(anglesAt(aimed, time).tilt - own(time).tilt + 0.2 * share)).toBeLessThan(
        ROUNDING,
      );
    }
  });

  test('turns to a heading beyond 180° by the short way', () => {
    const still = createTrack({
      times: Float64Array.of(0, 5, 10),
      quaternions: Float64Array.from(
        [0, 0, 0].flatMap(() => quaternionFromHeadingTiltRoll(170 * deg, 0, 0)),
      ),
    });
    const aimed = aimPath(still, [
      { time: 0, heading: 170 * deg, tilt: 0 },
      { time: 10, heading: -170 * deg, tilt: 0 },
    ]);
    const middle = quaternionFromHeadingTiltRoll(180 * deg, 0, 0);
    expect(apart(quaternionAt(aimed, 1), middle)).toBeLessThan(ROUNDING);
  });

  test.each([
    ['after the end', [{ time: 21, heading: 0, tilt: 0 }], 'aim key 1 at 21 s'],
    ['before the beginning', [{ time: -1, heading: 0, tilt: 0 }], 'aim key 1 at -1 s'],
    [
      'not later than the one before',
      [
        { time: 3, heading: 0, tilt: 0 },
        { time: 3, heading: 1, tilt: 0 },
      ],
      'aim key 2 at 3 s',
    ],
    ['without a direction', [{ time: 3, heading: Number.NaN, tilt: 0 }], 'aim key 1 at 3 s'],
  ])('refuses a key %s', (_what, wrong, found) => {
    expect(() => aimPath(path(), wrong)).toThrow(refusal('argument/invalid', found));
  });
});
