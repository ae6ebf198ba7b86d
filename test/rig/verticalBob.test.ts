import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { measuredBob, typicalBob } from '../../src/rig/verticalBob.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import { invertQuaternion, rotateVector } from '../../src/rotation/quaternion.js';

const deg = RADIANS_PER_DEGREE;
const RATE = 100;
const STEPS = 1.9;

/** A minute of a camera carried up and down by an amplitude, with a sensor that drifts. */
function carried(amplitudeM: number, bias: number, ramp: number, nod = 0) {
  const n = 60 * RATE;
  const times = Float64Array.from({ length: n }, (_, k) => k / RATE);
  const omega = 2 * Math.PI * STEPS;
  const quaternions = new Float64Array(4 * n);
  const acceleration = new Float64Array(3 * n);
  times.forEach((t, k) => {
    const q = quaternionFromHeadingTiltRoll(0.1 * t, nod * Math.sin(omega * t), 0.2);
    const up = 9.80665 + bias + ramp * t - amplitudeM * omega ** 2 * Math.sin(omega * t);
    quaternions.set(q, 4 * k);
    acceleration.set(rotateVector(invertQuaternion(q), [0, up, 0]), 3 * k);
  });
  return { times, quaternions, acceleration };
}

/**
 * What the filters leave of a sine, forward and backward: 1/(1 + tan⁴) for each of three high-passes
 * and the low-pass, and x/tan x for each of two trapezoids, x half the angle of a sample.
 */
function gain(): number {
  const warped = (hertz: number) => Math.tan((Math.PI * hertz) / RATE);
  const high = 1 / (1 + (warped(0.5) / warped(STEPS)) ** 4);
  const low = 1 / (1 + (warped(STEPS) / warped(6)) ** 4);
  const x = (Math.PI * STEPS) / RATE;
  return high ** 3 * low * (x / Math.tan(x)) ** 2;
}

describe('the up and down of a carried camera from its accelerometer', () => {
  // The high-pass forgets what it starts with as exp(−√½ · 2π · 0.5 t): 1.2 % after two seconds,
  // of at most the whole amplitude, over the first of 56 s. What is measured over whole and parts of
  // steps differs by 1/(4 · 2π · 1.9 · 56) at most.
  const tolerance = 0.012 / Math.sqrt(56) + 1 / (8 * Math.PI * STEPS * 56);

  test.each([
    ['a sensor without faults', 0, 0],
    ['a bias of 0.05 m/s²', 0.05, 0],
    ['a bias that grows by 0.002 m/s² in a second', 0.05, 0.002],
  ])('±2 cm come out as 2 cm with %s', (_, bias, ramp) => {
    const { times, quaternions, acceleration } = carried(0.02, bias, ramp);
    const { amplitudeCm, source } = measuredBob(times, quaternions, acceleration, 1);
    expect(source).toBe('accelerometer');
    expect(Math.abs(amplitudeCm / (2 * gain()) - 1)).toBeLessThan(tolerance);
    // The filters themselves cost less than 3 %.
    expect(gain()).toBeGreaterThan(0.97);
  });

  test('is measured along the vertical of the world, however the camera nods', () => {
    const still = carried(0.02, 0, 0);
    const nodding = carried(0.02, 0, 0, 5 * deg);
    const [a, b] = [still, nodding].map(({ times, quaternions, acceleration }) =>
      measuredBob(times, quaternions, acceleration, 1),
    );
    expect(a!.amplitudeCm).toBeCloseTo(b!.amplitudeCm, 10);
  });

  test('is nothing for a camera that stands', () => {
    const { times, quaternions, acceleration } = carried(0, 0.05, 0);
    expect(measuredBob(times, quaternions, acceleration, 1).amplitudeCm).toBeCloseTo(0, 9);
  });
});

describe('the up and down of a walking person', () => {
  test('is 2.30 cm at two steps a second', () => {
    const { amplitudeCm, source } = typicalBob(2, 1);
    expect(source).toBe('published gait');
    // Half a unit of the second decimal.
    expect(Math.abs(amplitudeCm - 2.3)).toBeLessThanOrEqual(0.005);
  });

  test.each([
    [0.5, 2.63],
    [1, 1.32],
    [2, 0.66],
    [5, 0.26],
  ])('lets a subject at %d m bob by %d°', (distance, printed) => {
    // 2.30 cm are printed to half a unit as well: 0.2 %.
    const { visibleDeg } = typicalBob(2, distance);
    expect(Math.abs(visibleDeg - printed)).toBeLessThanOrEqual(0.005 + 0.002 * printed);
  });

  test('falls with the square of the step frequency', () => {
    expect(typicalBob(1, 1).amplitudeCm / typicalBob(2, 1).amplitudeCm).toBeCloseTo(4, 12);
  });
});
