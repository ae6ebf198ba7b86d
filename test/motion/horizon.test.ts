import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../bench/accuracy/random.js';
import { makeWalk } from '../../bench/accuracy/walks.js';
import { RADIANS_PER_DEGREE, wrapAngle } from '../../src/math.js';
import { isUpsideDown, levelPath, levelWorld } from '../../src/motion/horizon.js';
import { composeQuaternions, quaternionAt } from '../../src/rotation/arrays.js';
import {
  headingTiltRollFromQuaternion,
  quaternionFromHeadingTiltRoll,
} from '../../src/rotation/headingTiltRoll.js';
import {
  invertQuaternion,
  quaternionFromAxisAngle,
  rotateVector,
} from '../../src/rotation/quaternion.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import { apart } from '../apart.js';
import { refusal } from '../refusal.js';
import { fc } from '../seed.js';
import { rotations } from '../turns.js';

const deg = RADIANS_PER_DEGREE;
const anglesAt = (quaternions: Float64Array, k: number) =>
  headingTiltRollFromQuaternion(quaternionAt(quaternions, k));
const angle = (most: number) => fc.integer({ min: -most, max: most }).map((k) => k * deg);

/** Reading and writing three angles: ten epsilons each way, magnified by 1/cos 65° in tilt. */
const ROUNDING = 50 * Number.EPSILON;

describe('levelling a path', () => {
  const shares = fc.integer({ min: 0, max: 100 }).map((k) => k / 100);

  test('takes the given share of the roll out and keeps heading and tilt', () => {
    fc.assert(
      fc.property(angle(180), angle(65), angle(45), shares, (heading, tilt, roll, share) => {
        const q = Float64Array.from(quaternionFromHeadingTiltRoll(heading, tilt, roll));
        const expected = quaternionFromHeadingTiltRoll(heading, tilt, (1 - share) * roll);
        const levelled = quaternionAt(levelPath(q, share), 0);
        expect(apart(levelled, expected)).toBeLessThan(ROUNDING);
      }),
    );
  });

  test.each([
    ['1', 1, 0],
    ['0.25', 0.25, 9],
    ['0', 0, 12],
  ])('by a share of %s leaves of 12° of roll', (_words, share, left) => {
    const q = Float64Array.from(quaternionFromHeadingTiltRoll(1, 0.3, 12 * deg));
    expect(Math.abs(anglesAt(levelPath(q, share), 0).roll - left * deg)).toBeLessThan(ROUNDING);
  });

  test.each([
    ['straight up', 0, 85, 10],
    ['straight down', 0, -88, 10],
    ['on its side', 0, 10, 90],
    ['past its side', 50, 0, -95],
  ])('leaves a camera that looks or lies %s as it is', (_words, heading, tilt, roll) => {
    const upright = quaternionFromHeadingTiltRoll(0, 0, 0);
    const q = quaternionFromHeadingTiltRoll(heading * deg, tilt * deg, roll * deg);
    const path = Float64Array.from([...upright, ...upright, ...q]);
    // Near straight down heading and roll lose the digits that 1/cos 88° = 29 takes.
    expect(apart(quaternionAt(levelPath(path, 1), 2), q)).toBeLessThan(29 * ROUNDING);
  });

  test.each([
    ['tilt', 65, 85, (x: number) => [x, 10] as const],
    ['roll', 45, 90, (x: number) => [0, x] as const],
  ])(
    'between clear and meaningless %s the share taken falls without a step',
    (_axis, from, to, at) => {
      const taken = Array.from({ length: 201 }, (_, k) => {
        const [tilt, roll] = at(from + ((to - from) * k) / 200);
        const upright = quaternionFromHeadingTiltRoll(0, 0, 0);
        const q = quaternionFromHeadingTiltRoll(0, tilt * deg, roll * deg);
        const levelled = levelPath(Float64Array.from([...upright, ...upright, ...q]), 1);
        return 1 - anglesAt(levelled, 2).roll / (roll * deg);
      });
      // The steepest slope of u²(3 − 2u) is 1.5; angles near 85° round by 12 times an epsilon or ten.
      taken.slice(1).forEach((share, k) => {
        expect(share).toBeLessThan(taken[k]! + 1e-12);
        expect(taken[k]! - share).toBeLessThan(1.5 / 200 + 1e-12);
      });
      expect(Math.abs(taken[0]! - 1) + Math.abs(taken.at(-1)!)).toBeLessThan(1e-12);
    },
  );

  test('measures the roll of a camera that hangs upside down from there', () => {
    const q = Float64Array.from(
      [175, -170, 178].flatMap((roll) => [...quaternionFromHeadingTiltRoll(0.5, 0.2, roll * deg)]),
    );
    const levelled = levelPath(q, 1);
    for (let k = 0; k < 3; k++) {
      const { heading, tilt, roll } = anglesAt(levelled, k);
      expect(Math.abs(heading - 0.5) + Math.abs(tilt - 0.2)).toBeLessThan(ROUNDING);
      expect(Math.abs(wrapAngle(roll - Math.PI))).toBeLessThan(ROUNDING);
    }
  });
});

test('a camera is upside down when its y axis points down for most of the clip', () => {
  const upright = quaternionFromHeadingTiltRoll(1, 0.2, 0.1);
  const hanging = quaternionFromHeadingTiltRoll(1, 0.2, Math.PI + 0.1);
  expect(isUpsideDown(Float64Array.from([...upright, ...upright, ...hanging]))).toBe(false);
  expect(isUpsideDown(Float64Array.from([...upright, ...hanging, ...hanging]))).toBe(true);
});

describe('a moment at which the camera stood level', () => {
  const tracks = fc.array(rotations, { minLength: 3, maxLength: 8 }).map((list) =>
    createTrack({
      times: Float64Array.from(list, (_, k) => k),
      quaternions: Float64Array.from(list.flat()),
      up: 'unknown',
    }),
  );

  test('levels the camera there and turns the whole track along', () => {
    fc.assert(
      fc.property(tracks, (track) => {
        const levelled = levelWorld(track, 1);
        // Where 1 + y < 1e-12 the camera counts as exactly upside down: √(2 · 1e-12) rad are left.
        const up = rotateVector(quaternionAt(levelled.quaternions, 1), [0, 1, 0]);
        expect(Math.hypot(up[0], up[1] - 1, up[2])).toBeLessThan(1.42e-6);
        const step = (q: Float64Array) =>
          composeQuaternions(invertQuaternion(quaternionAt(q, 1)), q);
        const [before, after] = [step(track.quaternions), step(levelled.quaternions)];
        track.times.forEach((_, k) => {
          const gap = apart(quaternionAt(before, k), quaternionAt(after, k));
          expect(gap).toBeLessThan(32 * Number.EPSILON);
        });
        expect(levelled.up).toBe('stated');
      }),
    );
  });

  test('does not turn the heading of a camera that already stands level', () => {
    const quaternions = Float64Array.from(
      [0, 1, 2].flatMap((h) => [...quaternionFromHeadingTiltRoll(h, 0, 0)]),
    );
    const track = createTrack({ times: Float64Array.of(0, 1, 2), quaternions });
    const levelled = levelWorld(track, 1);
    track.times.forEach((_, k) => {
      const gap = apart(quaternionAt(levelled.quaternions, k), quaternionAt(quaternions, k));
      expect(gap).toBeLessThan(16 * Number.EPSILON);
    });
  });

  test.each([-0.1, 2.1, Number.NaN])('at %d s, outside the clip, it is refused', (moment) => {
    const quaternions = Float64Array.from([0, 1, 2].flatMap(() => [0, 0, 0, 1]));
    const track = createTrack({ times: Float64Array.of(0, 1, 2), quaternions });
    expect(() => levelWorld(track, moment)).toThrow(
      refusal('argument/invalid', `a level moment at ${moment} s`),
    );
  });
});

describe('the vertical of a carried camera', () => {
  /** A walk in a world that leans by up to 70°, and how far off its estimated vertical is, rad. */
  function estimate(kind: 'heading' | 'scurve' | 'turn90' | 'panhold' | 'roaming', seed: number) {
    const { times, measured } = makeWalk(kind, seed, { frameRate: 15 });
    const random = seededRandom(`leaning ${kind} ${seed}`);
    const axis = [random.normal(), random.normal(), random.normal()] as const;
    const lean = quaternionFromAxisAngle(axis, random.uniform(0, 70 * deg));
    const leaning: OrientationTrack = createTrack({
      times,
      quaternions: composeQuaternions(lean, measured),
      up: 'unknown',
    });
    const levelled = levelWorld(leaning);
    const plumb = rotateVector(invertQuaternion(quaternionAt(measured, 0)), [0, 1, 0]);
    const [x, y, z] = rotateVector(quaternionAt(levelled.quaternions, 0), plumb);
    return { levelled, error: Math.atan2(Math.hypot(x, z), y) };
  }

  const walks = (['heading', 'scurve', 'turn90', 'panhold', 'roaming'] as const).flatMap((kind) =>
    [1, 2, 3, 4].map((seed) => [kind, seed] as const),
  );

  test.each(walks)('on a walk (%s %d) it is found within three stated deviations', (kind, seed) => {
    const { levelled, error } = estimate(kind, seed);
    expect(levelled.up).toBe('estimated');
    expect(error).toBeLessThan(3 * levelled.upDeviation!);
    expect(levelled.warnings.map(({ code }) => code)).toContain('horizon/estimated');
  });

  test('over all of them the error is no larger than stated', () => {
    const squares = walks.map(([kind, seed]) => {
      const { levelled, error } = estimate(kind, seed);
      return (error / levelled.upDeviation!) ** 2;
    });
    // The stated deviation covers both directions: a square has mean 1 and, when one direction
    // dominates, deviation √2; twenty of them, three deviations.
    const mean = squares.reduce((sum, x) => sum + x, 0) / squares.length;
    expect(mean).toBeLessThan(1 + (3 * Math.SQRT2) / Math.sqrt(squares.length));
  });

  // Twenty seconds hold ten independent rolls of 2° and one tilt of 15° (our judgement). Somebody who
  // turns round once sees every horizontal direction along x for half of the time, and along z; who
  // looks one way has one direction along x throughout and the other along z.
  test.each([
    ['turns round', 2 * Math.PI, Math.sqrt(2 / (10 / 2 / 2 ** 2 + 1 / 2 / 15 ** 2))],
    ['looks one way', 0, Math.sqrt(2 ** 2 / 10 + 15 ** 2)],
  ])('of somebody who %s is stated as well as rolls and tilts tell it', (_who, way, expected) => {
    const count = 600;
    const times = Float64Array.from({ length: count }, (_, k) => (20 * k) / (count - 1));
    const lean = quaternionFromAxisAngle([1, 2, -1], 0.8);
    const level = Float64Array.from(
      [...times].flatMap((_, k) => [...quaternionFromHeadingTiltRoll((way * k) / count, 0, 0)]),
    );
    const track = createTrack({
      times,
      quaternions: composeQuaternions(lean, level),
      up: 'unknown',
    });
    const { quaternions, upDeviation } = levelWorld(track);
    expect(Math.abs(upDeviation! / (expected * deg) - 1)).toBeLessThan(1e-9);
    const up = rotateVector(quaternionAt(quaternions, 99), [0, 1, 0]);
    expect(Math.hypot(up[0], up[1] - 1, up[2])).toBeLessThan(1e-9);
  });

  test.each(['stated', 'gravity', 'estimated'] as const)(
    'is left alone when it is already %s',
    (up) => {
      const quaternions = Float64Array.from(
        [0, 1, 2].flatMap((h) => [...quaternionFromHeadingTiltRoll(h, 0.1, 0.2)]),
      );
      const known = up === 'estimated' ? { up, upDeviation: 0.02 } : { up };
      const track = createTrack({ times: Float64Array.of(0, 1, 2), quaternions, ...known });
      expect(levelWorld(track)).toBe(track);
    },
  );
});
