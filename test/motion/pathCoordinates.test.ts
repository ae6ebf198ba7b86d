import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import {
  anglesOf,
  type Coordinates,
  coordinatesAlong,
  gaussianMeanPath,
  mapCoordinates,
  orientationsAt,
  unrollPath,
} from '../../src/motion/pathCoordinates.js';
import {
  alignSigns,
  angularDistances,
  composeQuaternions,
  quaternionAt,
} from '../../src/rotation/arrays.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import { meanQuaternion } from '../../src/rotation/mean.js';
import { multiplyQuaternions } from '../../src/rotation/quaternion.js';
import { quaternionFromRotationVector } from '../../src/rotation/rotationVector.js';
import { apart, largestGap } from '../apart.js';
import { fc } from '../seed.js';
import { rotations, vectors } from '../turns.js';

const deg = RADIANS_PER_DEGREE;
const AXES = ['heading', 'tilt', 'roll'] as const;
const largest = (values: Float64Array) => values.reduce((max, x) => Math.max(max, Math.abs(x)), 0);

/** Orientations of 20 s at the given angles. */
function track(
  perSecond: number,
  anglesAt: (t: number) => readonly [heading: number, tilt: number, roll: number],
): Float64Array {
  const n = 20 * perSecond + 1;
  return alignSigns(
    Float64Array.from(
      Array.from({ length: n }, (_, k) => {
        return quaternionFromHeadingTiltRoll(...anglesAt(k / perSecond));
      }).flat(),
    ),
  );
}

describe('coordinates along a path', () => {
  /** Slow paths, of at most 20° from sample to sample, and any track. */
  const tracks = fc
    .tuple(rotations, fc.array(fc.tuple(vectors, rotations), { minLength: 2, maxLength: 30 }))
    .map(([start, list]) => {
      let at = start;
      const path = list.map(([[x, y, z]]) => {
        at = multiplyQuaternions(at, quaternionFromRotationVector([x / 5, y / 5, z / 5]));
        return at;
      });
      return {
        path: alignSigns(Float64Array.from(path.flat())),
        quaternions: alignSigns(Float64Array.from(list.flatMap(([, q]) => q))),
      };
    });

  test('lead back to the same orientations, at any attitude and however far from the path', () => {
    fc.assert(
      fc.property(tracks, ({ path, quaternions }) => {
        const reference = unrollPath(path);
        const back = orientationsAt(reference, coordinatesAlong(reference, quaternions));
        for (let k = 0; 4 * k < back.length; k++) {
          const distance = apart(quaternionAt(back, k), quaternionAt(quaternions, k));
          expect(distance).toBeLessThan(1e-9);
        }
      }),
    );
  });

  test('of the path itself are those of the path', () => {
    fc.assert(
      fc.property(tracks, ({ path }) => {
        const reference = unrollPath(path);
        const own = coordinatesAlong(reference, path);
        for (const axis of AXES) {
          expect(largestGap(own[axis], reference.coordinates[axis])).toBeLessThan(1e-14);
        }
      }),
    );
  });

  test('near a level path are the turns about the three axes of the camera', () => {
    const path = unrollPath(track(1, () => [0, 0, 0]));
    const turned = composeQuaternions(path.quaternions, [Math.sin(0.02), 0, 0, Math.cos(0.02)]);
    const { heading, tilt, roll } = coordinatesAlong(path, turned);
    expect([heading[5], roll[5]]).toEqual([0, 0]);
    expect(Math.abs(tilt[5]! - 0.04)).toBeLessThan(4 * Number.EPSILON);
  });
});

describe('within 60° of the horizon', () => {
  const anglesAt = (t: number) =>
    [
      20 * deg * t + 0.3 * Math.sin(1.1 * t),
      40 * deg * Math.sin(0.7 * t),
      8 * deg * Math.sin(1.3 * t + 0.4),
    ] as const;

  function departures(perSecond: number): number[] {
    const { coordinates } = unrollPath(track(perSecond, anglesAt));
    return AXES.map((axis, i) =>
      largest(coordinates[axis].map((x, k) => x - anglesAt(k / perSecond)[i]!)),
    );
  }

  // A step of h leaves out h³/12 (J′x″ − J″x′ + ω × ω′) of a rotation ω = J x′. Here |x′| < 0.86,
  // |x″| < 0.55, |J′| < 0.67, |J″| < 1.03, |ω| < 1.1 and |ω′| < 1.28 in rad and s; the inverse of J
  // is below (1 + sin 40°)/cos 40° = 2.15, and 20 s add up.
  const BOUND = (20 * 2.15 * (0.67 * 0.55 + 1.03 * 0.86 + 1.1 * 1.28)) / 12;

  test.each([15, 30, 60])(
    'at %d samples a second coordinates are heading, tilt and roll, through more than a whole turn',
    (perSecond) => {
      const coarse = departures(perSecond);
      const fine = departures(2 * perSecond);
      coarse.forEach((departure, i) => {
        expect(departure).toBeLessThan(BOUND / perSecond ** 2);
        // Second order: half the step leaves a quarter, but for (|ω| h)² of it.
        expect(Math.abs(departure / fine[i]! - 4)).toBeLessThan(4 * (1.1 / perSecond) ** 2 + 0.05);
      });
    },
  );

  test('they begin at the angles of the first sample', () => {
    const { coordinates } = unrollPath(track(15, anglesAt));
    AXES.forEach((axis, i) => {
      expect(Math.abs(coordinates[axis][0]! - anglesAt(0)[i]!)).toBeLessThan(1e-15);
    });
  });
});

describe('over the zenith', () => {
  test('a climb without turning reads as tilt all the way round', () => {
    // The tilt of the angles would turn back at 90°.
    const { coordinates } = unrollPath(track(15, (t) => [0, 9 * deg * t, 0]));
    const expected = coordinates.tilt.map((_, k) => (9 * deg * k) / 15);
    // 300 steps of up to 10 epsilons of ½ rad.
    expect(largestGap(coordinates.tilt, expected)).toBeLessThan(300 * 10 * Number.EPSILON);
    expect(largest(coordinates.heading) + largest(coordinates.roll)).toBeLessThan(1e-12);
  });
});

describe('no coordinate jumps', () => {
  const lean = (roll: number) => quaternionFromHeadingTiltRoll(0, 0, roll * deg);
  const nod = (t: number) => 3 * deg * Math.sin(2 * t);
  const climb = track(30, (t) => [0.1 * Math.sin(t), 9 * deg * t, 0.05 * Math.sin(2 * t)]);

  test.each([
    ['in a climb through the zenith', climb],
    ['in a climb past it at 1°', composeQuaternions(lean(1), climb)],
    ['in a climb past it at 20°', composeQuaternions(lean(20), climb)],
    ['in a climb past it at 40°', composeQuaternions(lean(40), climb)],
    ['for a camera upright', track(30, (t) => [t, nod(t), nod(t + 1)])],
    ['for a camera on its side', track(30, (t) => [t, nod(t), 90 * deg + nod(t + 1)])],
    ['for a camera upside down', track(30, (t) => [t, nod(t), 180 * deg + nod(t + 1)])],
    ['for a camera that rolls right round', track(30, (t) => [0.1 * t, nod(t), 20 * deg * t])],
    [
      'for a camera that rolls over and then climbs through the zenith',
      track(30, (t) => [0.1 * t, Math.max(0, t - 10) * 12 * deg, Math.min(t, 10) * 18 * deg]),
    ],
  ])('%s', (_what, quaternions) => {
    const { coordinates } = unrollPath(quaternions);
    const steps = angularDistances(quaternions.subarray(0, -4), quaternions.subarray(4));
    for (const axis of AXES) {
      coordinates[axis].slice(1).forEach((x, k) => {
        // Rates of the angles are at most 1/cos 60° + tan 60° times that of the camera.
        const step = Math.abs(x - coordinates[axis][k]!);
        expect(step).toBeLessThan((2 + Math.sqrt(3)) * steps[k]! + 1e-12);
      });
    }
  });
});

describe('the mean path', () => {
  test('is the mean of the orientations under a Gaussian', () => {
    const quaternions = track(15, (t) => [t / 3, 0.6 * Math.sin(t), 0.1 * Math.sin(2 * t)]);
    const weights = Float64Array.from({ length: 301 }, (_, k) =>
      Math.exp(-0.5 * ((k - 150) / 6) ** 2),
    );
    const expected = meanQuaternion(quaternions, weights);
    const mean = quaternionAt(gaussianMeanPath(quaternions, 6), 150);
    // The sum of quaternions and the eigenvector differ by the third power of the spread, some
    // 0.4 s at 0.7 rad/s, over 24; what lies beyond four deviations weighs 6.4e-5 · 1.1 rad.
    expect(apart(mean, expected)).toBeLessThan(0.28 ** 3 / 24 + 6.4e-5 * 1.1);
  });

  test('of a camera at rest is where it rests', () => {
    fc.assert(
      fc.property(rotations, (q) => {
        const still = alignSigns(Float64Array.from(Array.from({ length: 40 }, () => q).flat()));
        const mean = gaussianMeanPath(still, 5);
        for (let k = 0; k < 40; k++) {
          expect(apart(quaternionAt(mean, k), q)).toBeLessThan(41 * 2 * Number.EPSILON);
        }
      }),
    );
  });
});

test('a function of signals is applied to each of the three', () => {
  const coordinates: Coordinates = {
    heading: Float64Array.of(1),
    tilt: Float64Array.of(2),
    roll: Float64Array.of(3),
  };
  const seen: string[] = [];
  const doubled = mapCoordinates(coordinates, (signal, axis) => {
    seen.push(axis);
    return signal.map((x) => 2 * x);
  });
  expect(seen.sort()).toEqual(['heading', 'roll', 'tilt']);
  expect(AXES.map((axis) => doubled[axis][0])).toEqual([2, 4, 6]);
});

test('the angles of somebody who turns round and round go on', () => {
  for (const way of [-0.7, 0.7]) {
    const headings = Array.from({ length: 40 }, (_, k) => 1 + way * k);
    const { heading } = anglesOf(
      Float64Array.from(headings.flatMap((h) => [...quaternionFromHeadingTiltRoll(h, 0.4, -0.2)])),
    );
    // From where it starts; angles of up to 28 rad.
    expect(largestGap(heading, headings)).toBeLessThan(28 * 8 * Number.EPSILON);
  }
});
