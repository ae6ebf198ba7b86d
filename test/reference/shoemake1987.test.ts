// Shoemake, "Animating rotation with quaternion curves", SIGGRAPH 1985 (slerp), and "Quaternion calculus and fast animation", SIGGRAPH course material, 1987 (squad).
// The formulas are the papers'; the numbers were computed with scipy 1.10 Slerp and, for squad, with
// Rotation.from_rotvec and Rotation.as_rotvec, independent of this project.
import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { slerp, squad, squadControl } from '../../src/rotation/interpolate.js';
import { type Quaternion, quaternionFromAxisAngle } from '../../src/rotation/quaternion.js';
import { largestGap } from '../apart.js';

/**
 * Half a unit of the twelfth decimal: once for the printed result, once for the keys that are read
 * in and once for the controls. A mixture of two orientations is off by no more than the worse.
 */
const HALF_UNIT = 0.5e-12;

/** Turns about z, y, x by (0, 0, 0), (30, 20, 10), (50, −10, 35) and (120, 5, −20) degrees. */
const KEYS: readonly [Quaternion, Quaternion, Quaternion, Quaternion] = [
  [0, 0, 0, 1],
  [0.038134576475, 0.189307857412, 0.239298337745, 0.951548524644],
  [0.306623777913, 0.051266136605, 0.425277171334, 0.849995864459],
  [-0.123943054406, -0.128762245759, 0.855844003654, 0.485375570812],
];

const CONTROLS: readonly [Quaternion, Quaternion] = [
  [-0.022084383682, 0.26603742847, 0.244223344889, 0.932250676836],
  [0.459078183281, 0.059779195887, 0.308417547598, 0.830994756727],
];

const SPAN: [t: number, slerp: Quaternion, squad: Quaternion][] = [
  [
    0.25,
    [0.107221812648, 0.156519661533, 0.289938528765, 0.938051559342],
    [0.105816237924, 0.180274499946, 0.281864131629, 0.936406236503],
  ],
  [
    0.5,
    [0.175387508542, 0.12238622471, 0.338086782501, 0.916492313851],
    [0.201295453905, 0.1458890813, 0.312763185095, 0.916720080637],
  ],
  [
    0.75,
    [0.242045799836, 0.087200913898, 0.38332927872, 0.887056083612],
    [0.281715469452, 0.098037251249, 0.352987035092, 0.886806204701],
  ],
];

test.each(SPAN)(
  'slerp and squad at %d of the span from the second key to the third are those of scipy',
  (t, great, smooth) => {
    expect(largestGap(slerp(KEYS[1], KEYS[2], t), great)).toBeLessThan(2 * HALF_UNIT);
    const curve = squad(KEYS[1], KEYS[2], CONTROLS[0], CONTROLS[1], t);
    expect(largestGap(curve, smooth)).toBeLessThan(3 * HALF_UNIT);
  },
);

test('the controls of the two middle keys are those of scipy', () => {
  const first = squadControl(KEYS[0], KEYS[1], KEYS[2]);
  const second = squadControl(KEYS[1], KEYS[2], KEYS[3]);
  expect(largestGap(first, CONTROLS[0])).toBeLessThan(3 * HALF_UNIT);
  expect(largestGap(second, CONTROLS[1])).toBeLessThan(3 * HALF_UNIT);
});

describe('keys at 0°, 10°, 40° and 50° about one axis', () => {
  const at = (degrees: number) => quaternionFromAxisAngle([2, -1, 2], degrees * RADIANS_PER_DEGREE);
  const controls = [
    squadControl(at(0), at(10), at(40)),
    squadControl(at(10), at(40), at(50)),
  ] as const;

  // By hand: controls at 10 − (30 − 10)/4 = 5° and 40 − (10 − 30)/4 = 45°.
  test.each([
    [0.25, 16.5625],
    [0.5, 25],
    [0.75, 33.4375],
  ])('at %d of the middle span the angle is %d°', (t, degrees) => {
    const q = squad(at(10), at(40), controls[0], controls[1], t);
    // Three interpolations of 36 epsilons and two controls of the same size.
    expect(largestGap(q, at(degrees))).toBeLessThan(5 * 36 * Number.EPSILON);
  });
});
