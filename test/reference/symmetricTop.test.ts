// Goldstein, Classical Mechanics, 2nd ed., 1980, section 5-6, torque-free motion of a symmetric top (section from memory).
// The printed numbers are the closed form evaluated with numpy; they agree with scipy's DOP853
// (rtol 1e-13) to 5.3e-14, independent of this project.
import { expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { quaternionAt } from '../../src/rotation/arrays.js';
import { quaternionFromEuler } from '../../src/rotation/euler.js';
import {
  invertQuaternion,
  multiplyQuaternions,
  type Quaternion,
  rotateVector,
  type Vector3,
} from '../../src/rotation/quaternion.js';
import { quaternionFromRotationVector } from '../../src/rotation/rotationVector.js';
import { integrateRate } from '../../src/track/integrate.js';
import { apart, largestGap } from '../apart.js';

/** Half a unit of the twelfth decimal, the last one printed. */
const HALF_UNIT = 0.5e-12;

// Moments of inertia 1, 1 and 1.8; the rate goes round the axis at 0.96 rad/s.
const INERTIA: Vector3 = [1, 1, 1.8];
const PRECESSION = 0.96;
const rate = (t: number): Vector3 => [
  0.5 * Math.cos(PRECESSION * t),
  0.5 * Math.sin(PRECESSION * t),
  1.2,
];
const START = quaternionFromEuler(
  'ZYX',
  [30 * RADIANS_PER_DEGREE, 20 * RADIANS_PER_DEGREE, 10 * RADIANS_PER_DEGREE],
  'intrinsic',
);
const momentum = (q: Quaternion, [x, y, z]: Vector3) =>
  rotateVector(q, [INERTIA[0] * x, INERTIA[1] * y, INERTIA[2] * z]);
const H: Vector3 = [1.224507022433, 0.273864307467, 1.827889737678];

/** R(t) = Exp(H t) R₀ Exp(−0.96 t e₃). */
function orientation(t: number): Quaternion {
  const [x, y, z] = momentum(START, rate(0));
  const turned = quaternionFromRotationVector([x * t, y * t, z * t]);
  const spun = quaternionFromRotationVector([0, 0, -PRECESSION * t]);
  return multiplyQuaternions(multiplyQuaternions(turned, START), spun);
}

const PRINTED: readonly (readonly [number, Quaternion])[] = [
  [1, [0.285938682536, 0.261007553861, 0.700704662963, 0.599272143486]],
  [5, [0.090995542991, -0.25748652686, -0.274975481723, -0.921850846988]],
  [10, [-0.034204716101, 0.392492576421, 0.24984561288, 0.884509346799]],
];

/** Orientations at whole steps from 0 to 10 s; one more rate at either end serves the first and the last. */
function integrated(perSecond: number): (k: number) => Quaternion {
  const times = Float64Array.from({ length: 10 * perSecond + 3 }, (_, k) => (k - 1) / perSecond);
  const path = integrateRate(times, Float64Array.from([...times].flatMap((t) => rate(t))));
  const back = multiplyQuaternions(START, invertQuaternion(quaternionAt(path, 1)));
  return (k) => multiplyQuaternions(back, quaternionAt(path, k + 1));
}

// What one step of h leaves out, by the Magnus series at its middle, over h⁵, with the norms 1.3,
// 0.48, 0.4608, 0.4424 and 0.4247 of the rate and its derivatives:
//   11/720 ω⁗ of the four-point rule                                   0.0065
//   ω × ω‴/720 + ω″ × ω′/120 of the coning term                        0.0026
//   ω × (ω × ω″)/720 + ω′ × (ω × ω′)/240 + ω × (ω × (ω × ω′))/720      0.0033
const PER_SECOND = 0.0124;

test('the closed form has the printed momentum', () => {
  // Three products and a rotation, against twelve decimals.
  expect(largestGap(momentum(START, rate(0)), H)).toBeLessThan(HALF_UNIT);
});

test.each(PRINTED)('after %d s the closed form has the printed orientation', (t, q) => {
  // Four components off by half a unit make a chord of one unit, and an angle of two.
  expect(apart(orientation(t), q)).toBeLessThan(4 * HALF_UNIT);
});

test.each(PRINTED)('its rates lead to the printed orientation after %d s', (t, q) => {
  for (const perSecond of [100, 400]) {
    const bound = PER_SECOND * t * perSecond ** -4;
    expect(apart(integrated(perSecond)(t * perSecond), q)).toBeLessThan(bound + 4 * HALF_UNIT);
  }
});

test('halving the step divides the error by sixteen', () => {
  const error = (perSecond: number) =>
    apart(integrated(perSecond)(10 * perSecond), orientation(10));
  for (const perSecond of [20, 40, 80]) {
    // The next term is smaller by some (|ω| h)² = 1.7 h², 0.004 at the longest step.
    const order = Math.log2(error(perSecond) / error(2 * perSecond));
    expect(Math.abs(order - 4)).toBeLessThan(0.02);
  }
});

test('the angular momentum stays where it was', () => {
  const at = integrated(100);
  for (let k = 0; k <= 1000; k++) {
    // An angle times the norm of the momentum, 2.22, and the printed decimals.
    const bound = 2.22 * PER_SECOND * 10 * 100 ** -4 + 2 * HALF_UNIT;
    expect(largestGap(momentum(at(k), rate(k / 100)), H)).toBeLessThan(bound);
  }
});
