// Markley, Cheng, Crassidis, Oshman, "Averaging Quaternions", J. Guidance, Control, and Dynamics 30(4), 2007, pp. 1193–1197.
// The definition is the paper's eq. (12); the numbers were computed with scipy 1.10 Rotation.mean
// and, about one axis, with numpy arctan2(Σ w sin, Σ w cos), independent of this project.
import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { meanQuaternion } from '../../src/rotation/mean.js';
import { type Quaternion, quaternionFromAxisAngle } from '../../src/rotation/quaternion.js';
import { rotationVectorFromQuaternion } from '../../src/rotation/rotationVector.js';
import { largestGap } from '../apart.js';

/**
 * Turns about z, y, x by (30, 20, 10), (40, −10, 5) and (−20, 15, 60) degrees, weights 1, 2, 3.
 */
const ROTATIONS: readonly Quaternion[] = [
  [0.038134576475, 0.189307857412, 0.239298337745, 0.951548524644],
  [0.070613489654, -0.066959719113, 0.343966775501, 0.933925579715],
  [0.507820309146, 0.025240385223, -0.213368782531, 0.834239305723],
];

/** Half a unit of the twelfth decimal for the printed mean and as much for the inputs. */
const TOLERANCE = 2 * 0.5e-12;

describe('rotations about different axes', () => {
  test('three with weights 1, 2 and 3', () => {
    const mean = meanQuaternion(Float64Array.from(ROTATIONS.flat()), Float64Array.of(1, 2, 3));
    const expected = [0.305600776746, 0.023698338942, 0.049569663963, 0.95057319676];
    expect(largestGap(mean, expected)).toBeLessThan(TOLERANCE);
  });

  test('two with weights 1 and 2', () => {
    const list = Float64Array.from(ROTATIONS.slice(0, 2).flat());
    const mean = meanQuaternion(list, Float64Array.of(1, 2));
    const expected = [0.060407761404, 0.017850646626, 0.312094570589, 0.947960566578];
    expect(largestGap(mean, expected)).toBeLessThan(TOLERANCE);
  });

  test('the sign of an input changes nothing', () => {
    const list = ROTATIONS.flatMap((q, k) => (k === 1 ? q.map((component) => -component) : q));
    const mean = meanQuaternion(Float64Array.from(list), Float64Array.of(1, 2, 3));
    const expected = [0.305600776746, 0.023698338942, 0.049569663963, 0.95057319676];
    expect(largestGap(mean, expected)).toBeLessThan(TOLERANCE);
  });
});

describe('rotations about one axis', () => {
  test.each<[number[], number[], number]>([
    [[0, 90], [1, 1], 45],
    // Not the 30° of a mean of angles: the weights act on the sphere.
    [[0, 90], [2, 1], 26.565051177078],
    [[10, 20, 60], [1, 1, 1], 29.678297459818],
    [[0, 0, 120], [1, 1, 1], 30],
    // Not 0°, as a mean of numbers would have it.
    [[170, -170], [1, 1], 180],
  ])('the mean of %j degrees with weights %j is %d degrees', (angles, weights, degrees) => {
    const list = angles.flatMap((a) => quaternionFromAxisAngle([0, 0, 1], a * RADIANS_PER_DEGREE));
    const mean = meanQuaternion(Float64Array.from(list), Float64Array.from(weights));
    const [x, y, z] = rotationVectorFromQuaternion(mean);
    expect(Math.abs(Math.abs(z) / RADIANS_PER_DEGREE - degrees)).toBeLessThan(0.5e-12);
    expect([x, y]).toEqual([0, 0]);
  });
});
