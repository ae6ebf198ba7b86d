import { describe, expect, test } from 'vitest';
import { type MomentaryFigure, momentaryFigures, timesAbove } from '../../src/comfort/moments.js';
import { DEFAULT_RIG } from '../../src/rig/stereoRig.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';

const DEGREE = Math.PI / 180;

/** Twenty seconds at 60 frames a second; degrees at each. */
function take(angles: (second: number) => readonly [number, number, number]): OrientationTrack {
  const times = Float64Array.from({ length: 1201 }, (_, k) => k / 60);
  const quaternions = Float64Array.from(
    [...times].flatMap((second) => {
      const [heading, tilt, roll] = angles(second).map((angle) => angle * DEGREE);
      return [...quaternionFromHeadingTiltRoll(heading!, tilt!, roll!)];
    }),
  );
  return createTrack({ times, quaternions });
}

/** The largest of a figure away from the ends, where filters begin. */
function worst(figures: readonly MomentaryFigure[], name: RegExp): number {
  const { values } = figures.find(({ figure }) => name.test(figure))!;
  return values.subarray(180, -180).reduce((a, b) => Math.max(a, b), 0);
}

const of = (view: OrientationTrack, walking = false) =>
  momentaryFigures(view, view, [], { walking, stepFrequency: 2 }, DEFAULT_RIG);
const turn = (angle: number, lasts: number) => (second: number) => {
  const x = Math.min(1, Math.max(0, (second - 8) / lasts));
  return angle * (x - Math.sin(2 * Math.PI * x) / (2 * Math.PI));
};

describe('a moment of the view', () => {
  test('a tilt of 1° at two steps a second is a bob of 1°, and a shake of what its band leaves of 8.9 °/s', () => {
    const figures = of(
      take((s) => [0, Math.sin(2 * Math.PI * 2 * s), 0]),
      true,
    );
    expect(worst(figures, /^step bob/)).toBeCloseTo(1, 1);
    // 2π · 2 / √2 = 8.886; filters of order 2, there and back, leave 1/(1 + r⁴) at r times their edge.
    const left = 1 / (1 + (0.5 / 2) ** 4) / (1 + (2 / 3) ** 4);
    // Bending by the bilinear transform: below 2 % at a thirtieth of the sample rate.
    expect(Math.abs(worst(figures, /^shake/) / (8.886 * left) - 1)).toBeLessThan(0.02);
    expect(worst(figures, /^tremor/)).toBeLessThan(2);
  });

  test('a roll of 5° is a horizon 5° off', () => {
    expect(worst(of(take(() => [30, 10, 5])), /^horizon/)).toBeCloseTo(
      // The right side of a camera that looks up by 10° rises by asin(cos 10° sin 5°).
      Math.asin(Math.cos(10 * DEGREE) * Math.sin(5 * DEGREE)) / DEGREE,
      9,
    );
  });

  test('a smooth quarter turn of two seconds is no shake of steps', () => {
    const figures = of(take((s) => [turn(90, 2)(s), 0, 0]));
    expect(worst(figures, /^shake/)).toBeLessThan(3);
    expect(worst(figures, /^turning/)).toBeGreaterThan(60);
  });

  test('shake beside a slow pan counts in full', () => {
    const shaken = (pan: number) =>
      take((s) => [pan * s, 0.5 * Math.sin(2 * Math.PI * 1.5 * s), 0]);
    const still = worst(of(shaken(0)), /^shake/);
    // A pan below the speed from which turns leak takes nothing; net rates carry some of the shake.
    expect(worst(of(shaken(8)), /^shake/)).toBeGreaterThan(0.98 * still);
  });

  test('a lean that comes back within a second is a jolt, one that stays is none', () => {
    const back = take((s) => [
      0,
      14 *
        Math.max(0, Math.cos(((s - 10) / 0.6) * (Math.PI / 2))) ** 2 *
        Number(Math.abs(s - 10) < 0.6),
      0,
    ]);
    expect(worst(of(back), /^jolt/)).toBeCloseTo(14, 1);
    expect(worst(of(take((s) => [0, turn(14, 0.6)(s), 0])), /^jolt/)).toBeLessThan(1);
  });
});

test('times above are shares of the frames beyond each threshold', () => {
  const values = Float64Array.of(1, 4, 4, 11);
  const figure = { figure: 'shake', unit: '°/s', care: 3, bad: 10, source: 'a test' };
  const advice = { cause: 'operator', nextTime: 'tread softly' } as const;
  expect(timesAbove([{ ...figure, ...advice, values }])).toEqual([
    {
      ...{ figure: 'shake', unit: '°/s', care: 3, bad: 10, worst: 11 },
      shareAboveCare: 0.75,
      shareAboveBad: 0.25,
    },
  ]);
});
