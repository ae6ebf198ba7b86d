// Markley, "Attitude Determination Using Vector Observations: A Fast Optimal Matrix Algorithm", J. Astronaut. Sci. 41(2), 1993 (attribution from memory).
// The first matrix is the true attitude of the paper's test cases; its quaternion and the second
// matrix were computed with scipy 1.10 Rotation.from_matrix and Rotation.align_vectors,
// independent of this project.
import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import {
  type Matrix3,
  matrixFromQuaternion,
  nearestRotation,
  quaternionFromMatrix,
} from '../../src/rotation/matrix.js';
import { angularDistance, IDENTITY, type Quaternion } from '../../src/rotation/quaternion.js';
import { apart, largestGap } from '../apart.js';

/** Half a unit of the twelfth decimal, the last one printed. */
const HALF_UNIT = 0.5e-12;

describe('the true attitude of the test cases', () => {
  // Exactly orthogonal with these three decimals.
  const A: Matrix3 = [0.352, 0.864, 0.36, -0.864, 0.152, 0.48, 0.36, -0.48, 0.8];
  const q: Quaternion = [-0.316227766017, 0, -0.56920997883, 0.75894663844];

  test('has this quaternion', () => {
    expect(largestGap(quaternionFromMatrix(A), q)).toBeLessThan(HALF_UNIT);
  });

  test('is a turn by 81.2571526865°', () => {
    const angle = angularDistance(IDENTITY, quaternionFromMatrix(A)) / RADIANS_PER_DEGREE;
    expect(Math.abs(angle - 81.2571526865)).toBeLessThan(HALF_UNIT);
  });

  test('is its own nearest rotation and survives the way through the quaternion', () => {
    // Each entry is off by half an epsilon as typed and by 4 after the step or the two ways.
    expect(largestGap(nearestRotation(A), A)).toBeLessThan(5 * Number.EPSILON);
    const back = matrixFromQuaternion(quaternionFromMatrix(A));
    expect(largestGap(back, A)).toBeLessThan(8 * Number.EPSILON);
  });
});

describe('the best attitude for three disturbed directions with weights 1, 2 and 3', () => {
  const A: Matrix3 = [
    0.356175379588, 0.859589622044, 0.366394296693, -0.863759321368, 0.153297606139, 0.48002049821,
    0.356453270043, -0.487447972225, 0.797079381649,
  ];
  const q: Quaternion = [-0.318511535035, 0.003272800876, -0.567363727233, 0.759366901994];

  test('has this quaternion', () => {
    // Sums of up to three entries, over a norm of at least 2, and the printed quaternion.
    expect(largestGap(quaternionFromMatrix(A), q)).toBeLessThan((3 / 2 + 1) * HALF_UNIT);
    // Nine entries and four components off by half a unit.
    expect(apart(quaternionFromMatrix(nearestRotation(A)), q)).toBeLessThan(7 * HALF_UNIT);
  });

  test('has this matrix', () => {
    // An entry is quadratic in the components: at most 4 of their errors.
    expect(largestGap(matrixFromQuaternion(q), A)).toBeLessThan(5 * HALF_UNIT);
  });
});
