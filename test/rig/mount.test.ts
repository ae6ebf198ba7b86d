import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../bench/accuracy/random.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { detectMount, HALF_TURN, turnMount } from '../../src/rig/mount.js';
import { verticalDisparity } from '../../src/rig/stereoCost.js';
import { quaternionAt } from '../../src/rotation/arrays.js';
import {
  headingTiltRollFromQuaternion,
  quaternionFromHeadingTiltRoll,
} from '../../src/rotation/headingTiltRoll.js';
import { multiplyQuaternions, rotateVector, type Vector3 } from '../../src/rotation/quaternion.js';
import { apart } from '../apart.js';
import { fc } from '../seed.js';
import { directions, rotations } from '../turns.js';

const deg = RADIANS_PER_DEGREE;

/** Four seconds of looking about around a tilt, rolled by about 0° or 180°. */
function clip(tilt: number, roll: number, seed: number): Float64Array {
  const random = seededRandom(`gardener ${seed}`);
  return Float64Array.from(
    Array.from({ length: 240 }, () =>
      quaternionFromHeadingTiltRoll(
        random.uniform(-180, 180) * deg,
        (tilt + 2 * random.normal()) * deg,
        (roll + 5 * random.normal()) * deg,
      ),
    ).flat(),
  );
}

const SEEDS = Array.from({ length: 20 }, (_, seed) => seed);

describe('how a camera hangs', () => {
  test.each([0, 30, 60, -60])('is clear at a tilt of %d°', (tilt) => {
    for (const seed of SEEDS) {
      expect(detectMount(clip(tilt, 0, seed)).mount).toBe('upright');
      expect(detectMount(clip(tilt, 180, seed)).mount).toBe('inverted');
    }
  });

  test.each([75, 85, 90, -80])('is undecided when it looks as steeply as %d°', (tilt) => {
    for (const seed of SEEDS) {
      expect(detectMount(clip(tilt, 0, seed)).mount).toBe('undecided');
      expect(detectMount(clip(tilt, 180, seed)).mount).toBe('undecided');
    }
  });

  test('is undecided on its side, and when it is turned over half-way', () => {
    expect(detectMount(clip(0, 90, 1)).mount).toBe('undecided');
    expect(detectMount(Float64Array.of(...clip(0, 0, 1), ...clip(0, 180, 1))).mount).toBe(
      'undecided',
    );
  });

  test('is known with all certainty when every sample stands level', () => {
    expect(detectMount(Float64Array.of(0, 0, 0, 1))).toEqual({ mount: 'upright', confidence: 1 });
    expect(detectMount(Float64Array.of(...HALF_TURN))).toEqual({
      mount: 'inverted',
      confidence: 1,
    });
  });

  test('takes the part of gravity across the picture, sin of its angle to the axis, times cos roll', () => {
    fc.assert(
      fc.property(rotations, (q) => {
        const { tilt, roll } = headingTiltRollFromQuaternion(q);
        fc.pre(Math.abs(tilt) < 69 * deg);
        expect(detectMount(Float64Array.of(...q)).confidence).toBeCloseTo(
          Math.abs(Math.cos(roll)),
          6,
        );
      }),
    );
  });
});

describe('turning the picture of an upside-down camera', () => {
  const angles = fc
    .tuple(...[170, 80, 170].map((max) => fc.integer({ min: -max, max })))
    .map((all) => all.map((angle) => angle * deg) as [number, number, number]);

  test('keeps where it looks and turns what is up', () => {
    fc.assert(
      fc.property(rotations, (q) => {
        const turned = quaternionAt(turnMount(Float64Array.of(...q)), 0);
        const pairs: [Vector3, Vector3][] = [
          [
            [0, 0, -1],
            [0, 0, -1],
          ],
          [
            [0, 1, 0],
            [0, -1, 0],
          ],
          [
            [1, 0, 0],
            [-1, 0, 0],
          ],
        ];
        for (const [after, before] of pairs) {
          const [a, b] = [rotateVector(turned, after), rotateVector(q, before)];
          expect(Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2])).toBeLessThan(1e-14);
        }
      }),
    );
  });

  test('of a rotation in its axes changes the sign of heading and tilt, not of roll', () => {
    fc.assert(
      fc.property(angles, ([heading, tilt, roll]) => {
        const there = multiplyQuaternions(
          multiplyQuaternions(HALF_TURN, quaternionFromHeadingTiltRoll(heading, tilt, roll)),
          [0, 0, -1, 0],
        );
        expect(apart(there, quaternionFromHeadingTiltRoll(-heading, -tilt, roll))).toBeLessThan(
          8 * Number.EPSILON,
        );
      }),
    );
  });

  test('twice changes nothing', () => {
    fc.assert(
      fc.property(rotations, (q) => {
        const twice = quaternionAt(turnMount(turnMount(Float64Array.of(...q))), 0);
        expect(apart(twice, q)).toBe(0);
      }),
    );
  });

  test('makes near far, and exchanging the eyes makes it near again: 1.857° at 2 m', () => {
    // Azimuths of a bloom 2 m ahead, from lenses 64.8 mm apart, to the left less to the right.
    const parallax = (left: number, right: number) => (right - left) / deg;
    const point = [0.0648 / 2, -0.0648 / 2].map((x): Vector3 => [x, 0, -2]);
    const azimuth = ([x, , z]: Vector3) => -Math.atan2(x, -z);
    const [left, right] = point.map(azimuth);
    const [over, under] = point.map((ray) => azimuth(rotateVector(HALF_TURN, ray)));
    expect(parallax(left!, right!)).toBeCloseTo(1.857, 2);
    expect(parallax(over!, under!)).toBeCloseTo(-1.857, 2);
    expect(parallax(under!, over!)).toBeCloseTo(1.857, 2);
  });

  test('costs no vertical disparity anywhere', () => {
    fc.assert(
      fc.property(directions, ([x, y, z]) => {
        fc.pre(Math.abs(x) < 0.99);
        const direction = { azimuth: Math.atan2(x, -z), elevation: Math.asin(y) };
        const { greatCircleArcmin } = verticalDisparity(HALF_TURN, 64, 1, direction);
        expect(greatCircleArcmin).toBeCloseTo(0, 11);
      }),
    );
  });
});
