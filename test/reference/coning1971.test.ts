// Bortz, "A new mathematical formulation for strapdown inertial navigation", IEEE Trans. Aerospace and Electronic Systems 7(1), 1971 (equations from memory).
// Savage, "Strapdown inertial navigation integration algorithm design", J. Guidance, Control, and
// Dynamics 21(1), 1998 (equations from memory). The printed numbers are the closed form evaluated
// with numpy, independent of this project.
import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import {
  composeQuaternions,
  invertQuaternions,
  quaternionAt,
  quaternionsFromRotationVectors,
  rotationVectorsFromQuaternions,
  vectorAt,
} from '../../src/rotation/arrays.js';
import {
  angularDistance,
  IDENTITY,
  multiplyQuaternions,
  type Quaternion,
  type Vector3,
} from '../../src/rotation/quaternion.js';
import { integrateRate, rotationIncrements } from '../../src/track/integrate.js';
import { apart, largestGap } from '../apart.js';

// A camera whose axis runs round a cone of 5° once a second.
const CONE = 5 * RADIANS_PER_DEGREE;
const SPIN = 2 * Math.PI;
const SECONDS = 10;
const s = Math.sin(CONE);

function orientation(t: number): Quaternion {
  const half = Math.sin(CONE / 2);
  return [half * Math.cos(SPIN * t), half * Math.sin(SPIN * t), 0, Math.cos(CONE / 2)];
}

function rate(t: number, cone = CONE): Vector3 {
  const around = SPIN * Math.sin(cone);
  return [-around * Math.sin(SPIN * t), around * Math.cos(SPIN * t), -SPIN * (1 - Math.cos(cone))];
}

/** Rates at the whole multiples of a step, from one to another, both included. */
function sampled(perSecond: number, from: number, to: number) {
  const times = Float64Array.from({ length: to - from + 1 }, (_, k) => (from + k) / perSecond);
  return { times, rate: Float64Array.from([...times].flatMap((t) => rate(t))) };
}

/** The angle that is left after whole turns of the cone, between two samples. */
function angleLeft(path: Float64Array, first: number, last: number): number {
  return angularDistance(quaternionAt(path, first), quaternionAt(path, last));
}

/** Ten turns with one more sample at either end, so that every step has both its neighbours. */
function errorInside(perSecond: number): number {
  const log = sampled(perSecond, -1, SECONDS * perSecond + 1);
  return angleLeft(integrateRate(log.times, log.rate), 1, SECONDS * perSecond + 1);
}

function errorFromEndToEnd(perSecond: number): number {
  const log = sampled(perSecond, 0, SECONDS * perSecond);
  return angleLeft(integrateRate(log.times, log.rate), 0, SECONDS * perSecond);
}

/** Ten turns by the mean of two rates times the step, and nothing else. */
function errorOfTrapezoid(perSecond: number): number {
  const means = Array.from({ length: SECONDS * perSecond }, (_, k) => {
    const [a, b] = [rate(k / perSecond), rate((k + 1) / perSecond)];
    return a.map((x, i) => (x + b[i]!) / 2 / perSecond);
  });
  const steps = quaternionsFromRotationVectors(Float64Array.from(means.flat()));
  return angularDistance(
    IDENTITY,
    means.reduce((q, _, k) => multiplyQuaternions(q, quaternionAt(steps, k)), IDENTITY),
  );
}

describe('the closed form of coning', () => {
  /** Half a unit of the twelfth decimal, the last one printed. */
  const HALF_UNIT = 0.5e-12;

  test.each<[number, Quaternion, Vector3]>([
    [
      0.1,
      [0.035288825663, 0.025638832607, 0, 0.999048221582],
      [-0.321880421961, 0.443030393341, -0.023909417039],
    ],
    [
      0.37,
      [-0.029859525383, 0.031797164937, 0, 0.999048221582],
      [-0.399194652258, -0.374868730458, -0.023909417039],
    ],
  ])('at %d s it has the printed orientation and rate', (t, q, w) => {
    expect(largestGap(orientation(t), q)).toBeLessThan(HALF_UNIT);
    expect(largestGap(rate(t), w)).toBeLessThan(HALF_UNIT);
  });

  test.each([
    [1, 0.0548297],
    [2, 0.2193023],
    [5, 1.3699087],
    [10, 5.4692089],
  ])('on a cone of %d° the rate about the axis alone drifts by %d° a second', (cone, drift) => {
    const [, , about] = rate(0, cone * RADIANS_PER_DEGREE);
    const path = integrateRate(Float64Array.of(0, 1), Float64Array.of(0, 0, about, 0, 0, about));
    const turned = angleLeft(path, 0, 1) / RADIANS_PER_DEGREE;
    expect(Math.abs(turned - drift)).toBeLessThan(0.5e-7);
  });
});

// To second order in the cone angle θ, for steps of ψ = spin · step, seen in the frame that turns
// with the cone: a step misses the true rotation vector by
//   sin θ (ψ (13 cos ψ/2 − cos 3ψ/2)/12 − 2 sin ψ/2) = −11/720 sin θ ψ⁵ + …  along the rate and
//   sin²θ (ψ² sin ψ/12 − (ψ − sin ψ)/2)              = −7/720 sin²θ ψ⁵ + …  about the cone.
// Only the parts along the tilted axis (0, sin θ, cos θ) add up from step to step:
//   sin²θ (−ψ⁵/40 + 23 ψ⁷/6048 − …).
// Terms of fourth order in θ are below ½ sin²θ of that: their coefficients 1/240 + 1/720 + 2/1440
// of the Magnus series and the 7/1440 of cos θ against 1/40.
describe('rates with the coning term and the four-point rule', () => {
  test.each([25, 50, 100, 200])(
    'at %d samples a second ten turns miss by sin²θ ψ⁵/40 for each step',
    (perSecond) => {
      const psi = SPIN / perSecond;
      const expected = (SECONDS * perSecond * s ** 2 * psi ** 5) / 40;
      const tolerance = 0.16 * psi ** 2 + 0.5 * s ** 2;
      expect(Math.abs(errorInside(perSecond) / expected - 1)).toBeLessThan(tolerance);
    },
  );

  test.each([25, 50, 100])(
    'halving the step at %d samples a second divides the error by sixteen',
    (perSecond) => {
      const order = Math.log2(errorInside(perSecond) / errorInside(2 * perSecond));
      // The next term changes the quotient by ¾ · 0.152 ψ², its logarithm by 0.165 ψ².
      expect(Math.abs(order - 4)).toBeLessThan(0.2 * (SPIN / perSecond) ** 2);
    },
  );

  test.each([25, 50])(
    'from the first sample to the last at %d samples a second, too, it is fourth order',
    (perSecond) => {
      const order = Math.log2(errorFromEndToEnd(perSecond) / errorFromEndToEnd(2 * perSecond));
      // Third order would give 3, steps of local order 5 at the ends 4 to 5.
      expect(order).toBeGreaterThan(3.7);
    },
  );

  test('no step inside misses the true one by more than 11/720 sin θ ψ⁵, no step by sin θ ψ³/12', () => {
    const perSecond = 50;
    const psi = SPIN / perSecond;
    const log = sampled(perSecond, 0, perSecond);
    const found = rotationIncrements(log.times, log.rate);
    const truth = Float64Array.from([...log.times].flatMap((t) => orientation(t)));
    const exact = rotationVectorsFromQuaternions(
      composeQuaternions(invertQuaternions(truth.subarray(0, -4)), truth.subarray(4)),
    );
    const misses = Array.from({ length: perSecond }, (_, k) =>
      Math.hypot(...vectorAt(found, k).map((x, i) => x - vectorAt(exact, k)[i]!)),
    );
    // The share about the cone comes on top; both series alternate, so the first term bounds them.
    const inside = (Math.hypot(11, 7 * s) / 720) * s * psi ** 5;
    expect(Math.max(...misses.slice(1, -1))).toBeLessThan(inside);
    // The trapezoid along the rate, and its 1/480 + 1/288 ψ⁵ that the cone takes part in.
    expect(Math.max(...misses)).toBeLessThan((s * psi ** 3) / 12 + s ** 2 * psi ** 5);
  });

  test('the axes of the camera are all treated alike', () => {
    const log = sampled(50, 0, 50);
    const renamed = log.rate.map((_, i) => log.rate[i - (i % 3) + ((i + 1) % 3)]!);
    const increments = rotationIncrements(log.times, log.rate);
    const expected = increments.map((_, i) => increments[i - (i % 3) + ((i + 1) % 3)]!);
    // The same sums of at most 8 products, of 0.55 rad/s times 0.02 s.
    const gap = largestGap(rotationIncrements(log.times, renamed), expected);
    expect(gap).toBeLessThan(8 * 0.011 * Number.EPSILON);
  });

  test('every orientation on the way stays within the error of the two ends and the steps between', () => {
    const perSecond = 100;
    const psi = SPIN / perSecond;
    const log = sampled(perSecond, 0, SECONDS * perSecond);
    const path = integrateRate(log.times, log.rate, orientation(0));
    log.times.forEach((t, k) => {
      // The part along the rate turns once a second and never adds up to more than 2/ψ steps.
      const bound =
        (s * psi ** 3) / 6 + ((2 * 11) / 720) * s * psi ** 4 + (k * s ** 2 * psi ** 5) / 40;
      expect(apart(quaternionAt(path, k), orientation(t))).toBeLessThan((1 + s) * bound);
    });
  });
});

describe('the trapezoid alone', () => {
  test.each([25, 50, 100])(
    'at %d samples a second ten turns miss by sin²θ ψ³/6 for each step: second order',
    (perSecond) => {
      // The same two parts: (ψ cos ψ/2 − 2 sin ψ/2) cos ψ/2 − (ψ − sin ψ)/2 = −ψ³/6 + ψ⁵/60 − ….
      const psi = SPIN / perSecond;
      const expected = (SECONDS * perSecond * s ** 2 * psi ** 3) / 6;
      const tolerance = 0.1 * psi ** 2 + 0.5 * s ** 2;
      expect(Math.abs(errorOfTrapezoid(perSecond) / expected - 1)).toBeLessThan(tolerance);
      const order = Math.log2(errorOfTrapezoid(perSecond) / errorOfTrapezoid(2 * perSecond));
      expect(Math.abs(order - 2)).toBeLessThan(0.2 * psi ** 2);
    },
  );
});
