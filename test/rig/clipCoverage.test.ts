import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { clipCoverage, coverageWithin } from '../../src/rig/clipCoverage.js';
import { uncoveredShare } from '../../src/rig/coverage.js';
import { eyeCorrections } from '../../src/rig/eyeCorrections.js';
import { DEFAULT_RIG, type StereoRig } from '../../src/rig/stereoRig.js';
import {
  multiplyQuaternions,
  type Quaternion,
  type Vector3,
} from '../../src/rotation/quaternion.js';
import { largestGap } from '../apart.js';
import { turn } from '../turns.js';

const deg = RADIANS_PER_DEGREE;
const FRAMES = 9;
const FPS = 50;
const READOUT_MS = 20;

/** A lens that holds just what is shown, whose rows are read around the frame's time. */
const rigOf = (readoutMs: number, firstRow: 'top' | 'bottom' = 'top'): StereoRig => {
  const eye = { ...DEFAULT_RIG.eyes.left, readout: { startMs: -readoutMs / 2, firstRow } };
  return {
    ...DEFAULT_RIG,
    lens: { ...DEFAULT_RIG.lens, fieldDeg: 180 },
    outputFieldDeg: 180,
    readoutMs,
    eyes: { left: eye, right: eye },
  };
};

/** A camera that turns about an axis, rad/s; the view goes along, but for one correction. */
const turning = (axis: Vector3, rate: number, correction: Quaternion = [0, 0, 0, 1]) => {
  const times = Float64Array.from({ length: FRAMES }, (_, k) => k / FPS);
  const camera = [...times].map((time) => turn(axis, rate * time).q);
  const back: Quaternion = [-correction[0], -correction[1], -correction[2], correction[3]];
  return {
    corrections: { quaternions: Float64Array.from(camera.flatMap(() => [...correction])) },
    intended: {
      times,
      quaternions: Float64Array.from(camera.flatMap((c) => [...multiplyQuaternions(c, back)])),
      up: 'stated' as const,
      warnings: [],
    },
  };
};

describe('what a rolling shutter leaves black', () => {
  // Half a readout of 20 ms at 100 °/s turns the first and the last row by δ = 1°. The rim of a half-sphere at
  // the angle φ lies in a row that turns by δ sin φ. In a tilt that comes in by δ sin² φ, or goes out;
  // in a pan by δ sin φ cos φ, in for half of the way; a roll slides the rim along itself. Black is the
  // mean over 2π: δ/2, δ/2π and nothing, but for a share δ of itself and 2° from point to point.
  const delta = 1 * deg;
  const rate = (2 * delta) / (READOUT_MS / 1000);
  test.each<[string, Vector3, number, number]>([
    ['a tilt upwards', [1, 0, 0], 1, delta / 2],
    ['a tilt downwards', [1, 0, 0], -1, 0],
    ['a pan to the left', [0, 1, 0], 1, delta / (2 * Math.PI)],
    ['a pan to the right', [0, 1, 0], -1, delta / (2 * Math.PI)],
    ['a roll', [0, 0, 1], 1, 0],
  ])('in %s is what its rows bring in', (_what, axis, sign, expected) => {
    const { left, right, mask } = clipCoverage(
      turning(axis, sign * rate),
      rigOf(READOUT_MS),
      'fisheye',
    );
    for (const share of [...left.uncovered, ...right.uncovered]) {
      expect(Math.abs(share - expected)).toBeLessThan((delta + 2 * deg) * (delta / 2));
    }
    expect(Math.max(...left.swings)).toBeLessThan(1e-12);
    if (expected > 0) expect(mask).toBeDefined();
  });

  test('is that of the other direction where the rows are read from the bottom', () => {
    const [up, down] = [1, -1].map((sign) => turning([1, 0, 0], sign * rate));
    const shares = (clip: typeof up, firstRow: 'top' | 'bottom') =>
      clipCoverage(clip!, rigOf(READOUT_MS, firstRow), 'fisheye').left.uncovered;
    expect(largestGap(shares(up, 'bottom'), shares(down, 'top'))).toBeLessThan(1e-12);
    expect(largestGap(shares(down, 'bottom'), shares(up, 'top'))).toBeLessThan(1e-12);
  });

  test.each([3, 10, 40, 89, 91, 130, 180])(
    'under a camera that stands is that of one rotation: by %d°',
    (degrees) => {
      const clip = turning([0, 1, 0], 0, turn([0.6, 0.8, 0], degrees * deg).q);
      const expected = uncoveredShare(degrees * deg, 90 * deg, 90 * deg);
      const { left } = clipCoverage(clip, rigOf(READOUT_MS), 'fisheye');
      for (const share of left.uncovered) {
        expect(share).toBeGreaterThan(expected - 1e-9);
        // Straight lines 2° apart lie outside their arcs by (1°)²/2 at most.
        expect(share).toBeLessThan(expected + (1 * deg) ** 2 / 2);
      }
      for (const swing of left.swings) expect(Math.abs(swing - degrees * deg)).toBeLessThan(1e-9);
    },
  );
});

describe('without a readout', () => {
  const margin = 4;
  const clip = (degrees: number) => turning([0, 1, 0], 1, turn([1, 0, 0], degrees * deg).q);

  test('edges show, and a mask hides them, beyond the margin of the picture', () => {
    const shown = (degrees: number) => coverageWithin(clip(degrees), rigOf(0), (90 + margin) * deg);
    const within = shown(margin - 0.1);
    expect(within).not.toHaveProperty('mask');
    expect(Math.max(...within.left.uncovered)).toBe(0);
    const beyond = shown(margin + 0.1);
    expect(beyond.mask).toBeDefined();
    expect(Math.min(...beyond.right.uncovered)).toBeGreaterThan(0);
  });

  test('each eye is judged by its own alignment', () => {
    const rig = rigOf(0);
    const aligned: StereoRig = {
      ...rig,
      eyes: { ...rig.eyes, right: { ...rig.eyes.right, alignment: turn([1, 0, 0], 2 * deg).q } },
    };
    const { left, right } = clipCoverage(clip(3), aligned, 'fisheye');
    expect(Math.abs(left.swings[0]! - 3 * deg)).toBeLessThan(1e-12);
    expect(Math.abs(right.swings[0]! - 5 * deg)).toBeLessThan(1e-12);
  });
});

test('the rotations of a lens are the corrections after its own alignment', () => {
  const clip = turning([0, 1, 0], 1, turn([1 / 3, 2 / 3, 2 / 3], 0.3).q);
  const alignment = turn([0, 0, 1], 0.02).q;
  const rig: StereoRig = {
    ...DEFAULT_RIG,
    eyes: { ...DEFAULT_RIG.eyes, right: { ...DEFAULT_RIG.eyes.right, alignment } },
  };
  const { quaternions } = clip.corrections;
  const whole = multiplyQuaternions(turn([1 / 3, 2 / 3, 2 / 3], 0.3).q, alignment);
  expect(largestGap(eyeCorrections({ ...clip, rig }, 'right').subarray(0, 4), whole)).toBeLessThan(
    4 * Number.EPSILON,
  );
  expect(eyeCorrections({ ...clip, rig }, 'left')).toEqual(quaternions);
  const own = eyeCorrections(clip, 'right');
  expect(own).toEqual(quaternions);
  expect(own).not.toBe(quaternions);
});
