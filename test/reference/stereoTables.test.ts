// What a common rotation of two parallel lenses does to the pair: tables computed with numpy from the exact formula; derivation in the docstring.
import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { baselineTurnLimit, stereoCost, verticalDisparity } from '../../src/rig/stereoCost.js';
import { quaternionFromEuler } from '../../src/rotation/euler.js';
import { IDENTITY, type Quaternion } from '../../src/rotation/quaternion.js';
import { largestGap } from '../apart.js';

/**
 * The lenses sit at ∓(b/2) eₓ. Each sees of a point P only the direction P ± (b/2) eₓ, which the
 * correction turns into K P ± (b/2) K eₓ: the pair of a rig whose baseline is B = b K eₓ = b (cx, cy,
 * −cf), so much to the right, up and forward. With Y = d sin el, F = d cos el cos az, the elevations
 * above the plane of both eyes differ by
 *   α_L − α_R = atan2(b (cy F − cf Y), Y² + F² − (b²/4)(cy² + cf²)),
 * straight ahead under a roll r by 2 atan(b sin r / 2d). A viewer's eyes must bridge η = cos β · Δα
 * with sin β = cos el sin az; its largest value is (b/d) sin δ, δ the angle of K eₓ to eₓ.
 */
const deg = RADIANS_PER_DEGREE;

/** Half a unit of the last printed decimal. */
const halfUnit = (decimals: number) => 0.5 * 10 ** -decimals;

const roll = (degrees: number) => quaternionFromEuler('ZYX', [degrees * deg, 0, 0], 'intrinsic');
const heading = (degrees: number) => quaternionFromEuler('YXZ', [degrees * deg, 0, 0], 'intrinsic');
const at = (azimuth: number, elevation: number) => ({
  azimuth: azimuth * deg,
  elevation: elevation * deg,
});
const ahead = (k: Quaternion, mm: number, m: number) =>
  verticalDisparity(k, mm, m, at(0, 0)).elevationArcmin;

const DISTANCES = [0.5, 1, 2, 5];

describe('vertical disparity straight ahead of a rolled pair, arcmin', () => {
  test.each<[number, number, readonly number[]]>([
    [0.5, 60, [3.6, 1.8, 0.9, 0.36]],
    [0.5, 64, [3.84, 1.92, 0.96, 0.384]],
    [0.5, 65, [3.9, 1.95, 0.975, 0.39]],
    [1, 60, [7.2, 3.6, 1.8, 0.72]],
    [1, 64, [7.68, 3.84, 1.92, 0.768]],
    [1, 65, [7.8, 3.9, 1.95, 0.78]],
    [2, 60, [14.397, 7.199, 3.599, 1.44]],
    [2, 64, [15.357, 7.678, 3.839, 1.536]],
    [2, 65, [15.597, 7.798, 3.899, 1.56]],
    [3, 60, [21.59, 10.795, 5.398, 2.159]],
    [3, 64, [23.029, 11.515, 5.757, 2.303]],
    [3, 65, [23.389, 11.695, 5.847, 2.339]],
    [5, 60, [35.954, 17.977, 8.989, 3.595]],
    [5, 64, [38.351, 19.176, 9.588, 3.835]],
    [5, 65, [38.95, 19.475, 9.738, 3.895]],
    [7.5, 60, [53.845, 26.923, 13.461, 5.385]],
    [7.5, 64, [57.434, 28.718, 14.359, 5.744]],
    [7.5, 65, [58.332, 29.166, 14.583, 5.833]],
    [10, 60, [71.632, 35.817, 17.909, 7.163]],
    [10, 64, [76.408, 38.205, 19.103, 7.641]],
    [10, 65, [77.601, 38.802, 19.401, 7.76]],
  ])('rolled by %d° with %d mm between the lenses', (degrees, mm, printed) => {
    const found = DISTANCES.map((m) => ahead(roll(degrees), mm, m));
    expect(largestGap(found, printed)).toBeLessThanOrEqual(halfUnit(3));
  });
});

test.each([
  [0.5, 63.998],
  [1, 63.99],
  [2, 63.961],
  [3, 63.912],
  [5, 63.756],
  [7.5, 63.452],
  [10, 63.028],
])('rolled by %d°, of 64 mm there are %d mm left', (degrees, printed) => {
  const { effectiveInteraxialMm } = stereoCost(roll(degrees), 64, 1);
  expect(Math.abs(effectiveInteraxialMm - printed)).toBeLessThanOrEqual(halfUnit(3));
});

test.each<[number, readonly number[]]>([
  [5, [0.65, 1.3, 2.61, 6.52]],
  [10, [1.3, 2.61, 5.22, 13.14]],
  [15, [1.95, 3.91, 7.84, 19.93]],
  [30, [3.91, 7.84, 15.83, 42.98]],
])('%d arcmin at 0.5, 1, 2 and 5 m allow as much roll as printed', (tolerance, printed) => {
  const found = DISTANCES.map((m) => baselineTurnLimit(tolerance, 64, m) / deg);
  // The table has tan(τ/2) where the limit has τ/2: relative τ²/12 ≤ 7e-6, 4e-4° at 43°.
  expect(largestGap(found, printed)).toBeLessThanOrEqual(halfUnit(2) + 4e-4);
});

test.each<[number, readonly number[], number, number, number]>([
  [5, [-4.963, -9.588, -13.559], 63.76, 5.58, 1.00559],
  [10, [-9.889, -19.103, -27.016], 63.03, 11.11, 1.01116],
  [20, [-19.478, -37.628, -53.212], 60.14, 21.89, 1.02211],
  [30, [-28.479, -55.013, -77.794], 55.43, 32.0, 1.03249],
])(
  'a heading of %d° costs base and puts one eye in front',
  (degrees, printed, base, front, ratio) => {
    const k = heading(degrees);
    const found = [15, 30, 45].map((el) => verticalDisparity(k, 64, 1, at(0, el)).elevationArcmin);
    expect(largestGap(found, printed)).toBeLessThanOrEqual(halfUnit(3));
    expect(Math.abs(ahead(k, 64, 1))).toBeLessThan(1e-12);
    const { effectiveInteraxialMm: right, forwardOffsetMm: forward } = stereoCost(k, 64, 1);
    expect(Math.abs(right - base)).toBeLessThanOrEqual(halfUnit(2));
    expect(Math.abs(forward - front)).toBeLessThanOrEqual(halfUnit(2));
    // Distances of the two lenses from a point 1 m straight ahead.
    const [left, other] = [1, -1].map((s) => Math.hypot(1000 + (s * forward) / 2, right / 2));
    expect(Math.abs(left! / other! - ratio)).toBeLessThanOrEqual(halfUnit(5));
  },
);

test.each<[number, number, number | undefined, number | undefined]>([
  [0, 0, 7.678, 7.678],
  [30, 0, 8.866, 7.678],
  [60, 0, 15.357, 7.678],
  [80, 0, 44.218, 7.678],
  [0, 30, 6.65, undefined],
  [60, 30, 7.6, 5.027],
  [45, 45, 5.119, undefined],
])('rolled by 2°, at azimuth %d° and elevation %d°', (azimuth, elevation, alpha, eta) => {
  const found = verticalDisparity(roll(2), 64, 1, at(azimuth, elevation));
  if (alpha) expect(Math.abs(found.elevationArcmin - alpha)).toBeLessThanOrEqual(halfUnit(3));
  if (eta) expect(Math.abs(found.greatCircleArcmin - eta)).toBeLessThanOrEqual(halfUnit(3));
});

describe('heading 10°, tilt 5° and roll 3° together', () => {
  test.each<['YXZ' | 'ZXY', readonly number[], readonly number[], number, number | undefined]>([
    [
      'YXZ',
      [0.98425018, 0.0521368, -0.16891812],
      [22.9444, 11.4712, 5.7355, 2.2942],
      62.99201,
      38.895,
    ],
    [
      'ZXY',
      [0.98266603, 0.06665455, -0.17298739],
      [29.3335, 14.6655, 7.3326, 2.933],
      62.89063,
      undefined,
    ],
  ])('in the order %s', (sequence, baseline, printed, base, worst) => {
    const angles = { YXZ: [10, 5, 3], ZXY: [3, 5, 10] }[sequence].map((angle) => angle * deg);
    const k = quaternionFromEuler(sequence, [angles[0]!, angles[1]!, angles[2]!], 'intrinsic');
    const cost = stereoCost(k, 1, 1);
    expect(
      largestGap(
        [cost.effectiveInteraxialMm, cost.verticalOffsetMm, -cost.forwardOffsetMm],
        baseline,
      ),
    ).toBeLessThanOrEqual(halfUnit(8));
    const found = DISTANCES.map((m) => ahead(k, 64, m));
    expect(largestGap(found, printed)).toBeLessThanOrEqual(halfUnit(4));
    const { effectiveInteraxialMm, worstDisparityArcmin } = stereoCost(k, 64, 1);
    expect(Math.abs(effectiveInteraxialMm - base)).toBeLessThanOrEqual(halfUnit(5));
    if (worst) expect(Math.abs(worstDisparityArcmin - worst)).toBeLessThanOrEqual(halfUnit(3));
  });
});

test('an untouched pair has no vertical disparity where its rows differ by 109.9 arcmin', () => {
  const direction = at(45, 45);
  expect(verticalDisparity(IDENTITY, 64, 1, direction).elevationArcmin).toBe(0);
  const [x, y, f] = [0.5, Math.SQRT1_2, 0.5];
  const [left, right] = [1, -1].map((s) => Math.atan2(y, Math.hypot(x + s * 0.032, f)));
  expect(Math.abs(((left! - right!) / deg) * 60 + 109.9)).toBeLessThanOrEqual(halfUnit(1));
});
