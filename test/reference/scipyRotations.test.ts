// SciPy 1.10, scipy.spatial.transform.Rotation and Slerp (Virtanen et al., "SciPy 1.0", Nature Methods 17, 2020).
// Random rotations with a fixed seed, written by scipy_rotations.py into scipy_rotations.json.
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import {
  type EulerAngles,
  type EulerFrame,
  type EulerSequence,
  eulerFromQuaternion,
  quaternionFromEuler,
} from '../../src/rotation/euler.js';
import { slerp } from '../../src/rotation/interpolate.js';
import {
  type Matrix3,
  matrixFromQuaternion,
  quaternionFromMatrix,
} from '../../src/rotation/matrix.js';
import { meanQuaternion } from '../../src/rotation/mean.js';
import type { Quaternion, Vector3 } from '../../src/rotation/quaternion.js';
import {
  quaternionFromRotationVector,
  rotationVectorFromQuaternion,
} from '../../src/rotation/rotationVector.js';
import { apart, largestGap } from '../apart.js';

interface Rotations {
  euler: {
    sequence: EulerSequence;
    frame: EulerFrame;
    angles: EulerAngles;
    quaternion: Quaternion;
  }[];
  rotationVectors: { rotationVector: Vector3; quaternion: Quaternion; matrix: Matrix3 }[];
  slerps: { from: Quaternion; to: Quaternion; times: number[]; quaternions: Quaternion[] }[];
  means: { quaternions: Quaternion[]; weights: number[]; mean: Quaternion }[];
}

const scipy: Rotations = JSON.parse(
  readFileSync(new URL('./scipy_rotations.json', import.meta.url), 'utf8'),
);

const EPSILON = Number.EPSILON;

test.each(scipy.euler)(
  '$frame $sequence: angles make the same quaternion as in scipy, and come back',
  (row) => {
    // Two chains of two products and three half angles, 10 epsilons each.
    const q = quaternionFromEuler(row.sequence, row.angles, row.frame);
    expect(apart(q, row.quaternion)).toBeLessThan(20 * EPSILON);
    // Reading adds 18, and the middle angle stays 0.2 rad from where the axes coincide.
    const angles = eulerFromQuaternion(row.sequence, row.quaternion, row.frame);
    expect(largestGap(angles, row.angles)).toBeLessThan(((10 + 18) * EPSILON) / Math.sin(0.2));
  },
);

describe.each(scipy.rotationVectors)('rotation vector $rotationVector', (row) => {
  test('makes the same quaternion as in scipy, and comes back', () => {
    // Ten epsilons on either side.
    const q = quaternionFromRotationVector(row.rotationVector);
    expect(apart(q, row.quaternion)).toBeLessThan(20 * EPSILON);
    const v = rotationVectorFromQuaternion(row.quaternion);
    const length = Math.hypot(...row.rotationVector);
    expect(largestGap(v, row.rotationVector)).toBeLessThan(20 * EPSILON * Math.min(length, 1));
  });

  test('makes the same matrix as in scipy, and comes back', () => {
    // Each entry is off by 2½ epsilons on either side; nine make an angle of 6, read with 6.
    const m = matrixFromQuaternion(row.quaternion);
    expect(largestGap(m, row.matrix)).toBeLessThanOrEqual(5 * EPSILON);
    expect(apart(quaternionFromMatrix(row.matrix), row.quaternion)).toBeLessThan(12 * EPSILON);
  });
});

test.each(scipy.slerps)(
  'slerp from $from to $to passes the same orientations as in scipy',
  ({ from, to, times, quaternions }) => {
    times.forEach((t, k) => {
      // Two products and two conversions on either side, 36 epsilons.
      expect(apart(slerp(from, to, t), quaternions[k]!)).toBeLessThan(2 * 36 * EPSILON);
    });
  },
);

test.each(scipy.means)('the mean of rotations with weights $weights is that of scipy', (row) => {
  const list = Float64Array.from(row.quaternions.flat());
  const mean = meanQuaternion(list, Float64Array.from(row.weights));
  // Eigenvectors by thirty plane turns of 2 epsilons, doubled by the gap to the next eigenvalue
  // (half of the total weight) and by the step from chord to angle, on either side.
  expect(apart(mean, row.mean)).toBeLessThan(2 * 30 * 2 * 2 * 2 * EPSILON);
});
