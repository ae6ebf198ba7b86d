import { describe, expect, test } from 'vitest';
import { correct } from '../../src/correct.js';
import { composeQuaternions, quaternionAt } from '../../src/rotation/arrays.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';
import {
  type Corrections,
  correctionsAt,
  type EarlierCorrections,
  trackBeforeCorrections,
} from '../../src/track/corrections.js';
import { frameTimes } from '../../src/track/frameRate.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import { createRetiming, originalTimes, type Retiming, trimmed } from '../../src/track/retiming.js';
import { apart, largestGap } from '../apart.js';
import { complaint } from '../complaint.js';
import { matrixOf, product, type Rows, transposed, turnAbout } from '../handoff/results.js';
import { turn } from '../turns.js';

const nod = (time: number) => turn([1, 0, 0], 0.02 * time).q;
const corrections: Corrections = {
  times: Float64Array.of(0, 1, 2, 3),
  quaternions: Float64Array.from([0, 1, 2, 3].flatMap((time) => [...nod(time)])),
};

test('corrections at their own times are the stored ones', () => {
  const same = correctionsAt(corrections, Float64Array.of(0, 1, 2, 3));
  expect(same).toBe(corrections.quaternions);
});

test('corrections at other times are interpolated, and held outside the clip', () => {
  const between = correctionsAt(corrections, Float64Array.of(-1, 1.5, 7));
  [0, 1.5, 3].forEach((time, k) => {
    expect(apart(quaternionAt(between, k), nod(time))).toBeLessThan(40 * Number.EPSILON);
  });
});

/** How the camera turned: swinging left and right, and nodding at every step. */
const SWING = { amplitude: 0.3, omega: 1.1 };
const NOD = { amplitude: 0.03, omega: 6 };
/** How the first pass turned the picture about an axis of its own. */
const FIRST = { amplitude: 0.05, omega: 3 };
const wave = ({ amplitude, omega }: typeof SWING, t: number) => amplitude * Math.sin(omega * t);

const cameraAt = (t: number): Rows =>
  product(turnAbout('y', wave(SWING, t)), turnAbout('x', wave(NOD, t)));
const firstPassAt = (t: number): Quaternion => turn([0.48, 0.6, 0.64], wave(FIRST, t)).q;
/** What a tracker sees of the edit: C K₁⁻¹ at the moment of the original that is shown. */
const trackedAt = (t: number): Rows => product(cameraAt(t), transposed(matrixOf(firstPassAt(t))));

const RATE = { numerator: 25, denominator: 1 };
const FIRST_FRAME = 100;
const earlier: EarlierCorrections = {
  times: frameTimes(RATE, 250),
  quaternions: Float64Array.from([...frameTimes(RATE, 250)].flatMap((t) => [...firstPassAt(t)])),
  frames: Int32Array.from({ length: 250 }, (_, k) => FIRST_FRAME + k),
  frameRate: RATE,
};

/** The track of an edit of so many frames, at the edit's own 25 frames per second. */
function trackOfEdit(retiming: Retiming, count: number): OrientationTrack {
  const times = frameTimes(RATE, count);
  const shown = originalTimes(retiming, times);
  return createTrack({
    times,
    quaternions: Float64Array.from([...shown].flatMap((t) => quaternionOf(trackedAt(t)))),
    frameRate: RATE,
  });
}

/** The unit quaternion of a turn of less than 120°, so that its w is far from zero. */
function quaternionOf(m: Rows): number[] {
  const w = Math.sqrt(1 + m[0]![0] + m[1]![1] + m[2]![2]) / 2;
  return [
    (m[2]![1] - m[1]![2]) / (4 * w),
    (m[0]![2] - m[2]![0]) / (4 * w),
    (m[1]![0] - m[0]![1]) / (4 * w),
    w,
  ];
}

/**
 * The nth derivative of the path of quaternions is at most λⁿ, n up to 4: each of its three turns
 * has one with its own λ, the largest nth root of what the chain rule leaves of a sine, and the λs of
 * a product add up.
 */
const LAMBDA = [SWING, NOD, FIRST].reduce((sum, { amplitude, omega }) => {
  const [a, b] = [(amplitude * omega) / 2, (amplitude * omega ** 2) / 2];
  const [c, d] = [(amplitude * omega ** 3) / 2, (amplitude * omega ** 4) / 2];
  const roots = [
    a,
    (a ** 2 + b) ** (1 / 2),
    (a ** 3 + 3 * a * b + c) ** (1 / 3),
    (a ** 4 + 6 * a ** 2 * b + 3 * b ** 2 + 4 * a * c + d) ** (1 / 4),
  ];
  return sum + Math.max(...roots);
}, 0);

/**
 * What interpolation between frames of the edit may miss, rad (twice the chord of quaternions). The
 * curve is a cubic whose slopes at the samples miss by h²f‴/6, which leaves 0.0963 h of that, and
 * h⁴f⁗/384 of its own; the sphere bends it by the square of a step more.
 */
function missed(speed: number): number {
  const step = (LAMBDA * speed) / 25;
  return 2 * ((0.0963 * step ** 3) / 6 + step ** 4 / 384) * (1 + step ** 2);
}

/** In the outermost stretches of the edit, a straight line: h²f″/8. */
const missedAtEnds = (speed: number) => (2 * ((LAMBDA * speed) / 25) ** 2) / 8;

/** Next to a kink of the speed the slope at the sample misses by half its step: 4/27 h of that. */
const missedAtKinks = (speedStep: number) => ((2 * LAMBDA * speedStep) / 25) * (2 / 27);

/** S K of every frame of a result must be what the camera did on that frame of the original. */
function largestMiss(
  { corrections: k, intended }: ReturnType<typeof correct>,
  boundAt: (t: number) => number,
): { miss: number; frames: number[] } {
  const measured = composeQuaternions(intended.quaternions, k.quaternions);
  const misses = Array.from(k.frames!, (frame, index) => {
    const t = (frame - FIRST_FRAME) / 25;
    const found = matrixOf(quaternionAt(measured, index));
    // An entry of a matrix changes by no more than the angle.
    return largestGap(found.flat(), cameraAt(t).flat()) / boundAt(t);
  });
  return { miss: Math.max(...misses), frames: [k.frames![0]!, k.frames!.at(-1)!] };
}

describe('a second pass on steadied footage gives one correction of the original', () => {
  const options = { shot: 'travelling', filter: 'spline' } as const;

  test('uncut, to rounding', () => {
    const track = trackOfEdit(trimmed(0, 1), 250);
    const result = correct(track, { ...options, earlier: [earlier] });
    const { times, frames } = result.corrections;
    expect(times).toEqual(earlier.times);
    expect(frames).toEqual(earlier.frames);
    const measured = composeQuaternions(
      result.intended.quaternions,
      result.corrections.quaternions,
    );
    times.forEach((t, k) => {
      const gap = largestGap(matrixOf(quaternionAt(measured, k)).flat(), cameraAt(t).flat());
      expect(gap).toBeLessThan(1e-13);
    });
  });

  test('trimmed to whole frames, to rounding, under the original’s frame numbers', () => {
    const retiming = trimmed(30 / 25, 170 / 25);
    const track = trackOfEdit(retiming, 141);
    const result = correct(track, { ...options, earlier: [{ ...earlier, retiming }] });
    const { miss, frames } = largestMiss(result, () => 1e-13);
    expect(frames).toEqual([130, 270]);
    expect(miss).toBeLessThan(1);
    expect(result.corrections.frameRate).toEqual(RATE);
    expect(result.corrections.times[0]).toBe(0);
  });

  test('cut between frames, to what interpolation leaves', () => {
    const retiming = trimmed(1.217, 6.817);
    const track = trackOfEdit(retiming, 141);
    const result = correct(track, { ...options, earlier: [{ ...earlier, retiming }] });
    const { miss, frames } = largestMiss(result, (t) =>
      t < 1.217 + 1 / 25 || t > 6.817 - 1 / 25 ? missedAtEnds(1) : missed(1),
    );
    // The first whole frame after 30.4, the last before 170.4.
    expect(frames).toEqual([131, 270]);
    expect(miss).toBeLessThan(1);
  });

  test('ramped from normal to double to half speed, to what interpolation leaves', () => {
    const knots = [
      [0, 1.2],
      [1, 2.2],
      [3, 6.2],
      [5, 7.2],
    ] as const;
    const retiming = createRetiming(knots);
    const track = trackOfEdit(retiming, 126);
    const result = correct(track, { ...options, earlier: [{ ...earlier, retiming }] });
    const near = (t: number, knot: number, speed: number) => Math.abs(t - knot) < speed / 25;
    const { miss, frames } = largestMiss(result, (t) => {
      if (near(t, 1.2, 1)) return missedAtEnds(1);
      if (near(t, 7.2, 0.5)) return missedAtEnds(0.5);
      if (near(t, 2.2, 2)) return missed(2) + missedAtKinks(1);
      if (near(t, 6.2, 2)) return missed(2) + missedAtKinks(1.5);
      return missed(t < 2.2 ? 1 : t < 6.2 ? 2 : 0.5);
    });
    expect(frames).toEqual([130, 280]);
    expect(miss).toBeLessThan(1);
    // The bound is no licence: a track taken one frame late misses by more.
    const late = { ...earlier, retiming: createRetiming(knots.map(([e, o]) => [e, o + 0.04])) };
    const shifted = correct(track, { ...options, earlier: [late] });
    expect(largestMiss(shifted, () => missed(2)).miss).toBeGreaterThan(1);
  });

  test('two earlier passes are taken out in the order they were applied', () => {
    const second = turn([0, 0, 1], 0.2).q;
    const again: Corrections = {
      times: earlier.times,
      quaternions: Float64Array.from([...earlier.times].flatMap(() => [...second])),
    };
    const times = earlier.times;
    // C″ = C K₁⁻¹ K₂⁻¹.
    const seen = [...times].map((t) => product(trackedAt(t), transposed(matrixOf(second))));
    const track = createTrack({
      times,
      quaternions: Float64Array.from(seen.flatMap(quaternionOf)),
      frameRate: RATE,
    });
    const result = correct(track, { ...options, earlier: [earlier, again] });
    const measured = composeQuaternions(
      result.intended.quaternions,
      result.corrections.quaternions,
    );
    const gaps = [...times].map((t, k) =>
      largestGap(matrixOf(quaternionAt(measured, k)).flat(), cameraAt(t).flat()),
    );
    expect(Math.max(...gaps)).toBeLessThan(1e-13);
  });
});

test('what the earlier pass says of its rate and frames goes over to the track', () => {
  const retiming = trimmed(1, 5);
  const track = trackOfEdit(retiming, 101);
  const before = trackBeforeCorrections(track, { ...earlier, retiming });
  expect(before.frames).toEqual(Int32Array.from({ length: 101 }, (_, k) => FIRST_FRAME + 25 + k));
  expect(before.frameRate).toEqual(RATE);
  const { frameRate: _, frames: __, ...bare } = earlier;
  const unnumbered = trackBeforeCorrections(track, { ...bare, retiming });
  expect(unnumbered).not.toHaveProperty('frames');
  expect(unnumbered).not.toHaveProperty('frameRate');
});

describe('footage that shows the whole original', () => {
  const whole = trackOfEdit(trimmed(0, 1), 250);
  const numbered = (first: number, count: number): OrientationTrack => ({
    ...trackOfEdit(trimmed(0, 1), count),
    frames: Int32Array.from({ length: count }, (_, k) => first + k),
  });

  test('bears the original’s numbers, with a note where its own were others', () => {
    const before = trackBeforeCorrections(numbered(7, 250), earlier);
    expect(before.frames).toEqual(earlier.frames);
    expect(before.warnings.map(({ code }) => code)).toEqual(['earlier/renumbered']);
    expect(before.warnings[0]!.message).toContain('7 to 256, the original 100 to 349');
    const same = trackBeforeCorrections(numbered(FIRST_FRAME, 250), earlier);
    expect(same.warnings).toEqual([]);
  });

  test.each([
    ['shorter', numbered(0, 240), 'tracked footage of 240 samples in 9.56 s'],
    ['longer', numbered(0, 300), 'tracked footage of 300 samples in 11.96 s'],
    ['numbered as a part', numbered(150, 100), '(150 to 249, corrections of 100 to 349)'],
    ['without numbers and shorter', unnumbered(trackOfEdit(trimmed(0, 1), 200)), 'in 7.96 s'],
  ])('is not one that is %s: which frames it shows must be said', (_, track, words) => {
    expect(() => trackBeforeCorrections(track, earlier)).toThrow(
      complaint('argument/invalid', words),
    );
    expect(() => trackBeforeCorrections(track, earlier)).toThrow('--trim A..B');
  });

  test('may be sampled at other times, and lies on the original’s frames', () => {
    const times = Float64Array.from({ length: 997 }, (_, k) => k * 0.01);
    const quaternions = Float64Array.from([...times].flatMap((t) => quaternionOf(trackedAt(t))));
    const before = trackBeforeCorrections(createTrack({ times, quaternions }), earlier);
    expect(before.frames).toEqual(earlier.frames);
    expect(before.times).toEqual(earlier.times);
    // A quadrangle through samples 0.01 s apart, ends by straight lines: far below a thousandth.
    before.times.forEach((t, k) => {
      const gap = largestGap(
        matrixOf(quaternionAt(before.quaternions, k)).flat(),
        cameraAt(t).flat(),
      );
      expect(gap).toBeLessThan(1e-3);
    });
  });

  test('is not changed itself', () => {
    const { frames, quaternions } = whole;
    const copy = quaternions.slice();
    trackBeforeCorrections(whole, earlier);
    expect(whole.frames).toBe(frames);
    expect(quaternions).toEqual(copy);
  });
});

function unnumbered(track: OrientationTrack): OrientationTrack {
  const { frames: _, frameRate: __, ...rest } = track;
  return rest;
}
