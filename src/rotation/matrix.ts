import { mat3, type ReadonlyMat3 } from 'gl-matrix';
import { TwinkeelError } from '../error.js';
import { ORTHONORMAL } from '../tolerances.js';
import { normalizeQuaternion, type Quaternion } from './quaternion.js';

/** A 3 × 3 matrix, row by row. */
export type Matrix3 = readonly [
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
];

/**
 * The rotation matrix that acts on column vectors like the quaternion does.
 *
 * @param q - unit quaternion x, y, z, w
 * @returns rotation matrix, row by row
 * @example
 * const quarterRoll = quaternionFromAxisAngle([0, 0, 1], Math.PI / 2);
 * matrixFromQuaternion(quarterRoll); // [0, -1, 0, 1, 0, 0, 0, 0, 1]
 */
export function matrixFromQuaternion(q: Quaternion): Matrix3 {
  const [x, y, z, w] = q;
  return [
    1 - 2 * (y * y + z * z),
    2 * (x * y - w * z),
    2 * (x * z + w * y),
    2 * (x * y + w * z),
    1 - 2 * (x * x + z * z),
    2 * (y * z - w * x),
    2 * (x * z - w * y),
    2 * (y * z + w * x),
    1 - 2 * (x * x + y * y),
  ];
}

/**
 * The unit quaternion of a rotation matrix, by the largest of its four components so that no
 * digit is lost at any angle.
 *
 * @param m - rotation matrix, row by row; departures from orthonormality are not repaired, see
 *   {@link nearestRotation}
 * @returns unit quaternion x, y, z, w with the largest component positive
 * @throws TwinkeelError `rotation/no-direction` when an entry is not finite
 * @see Shepperd, "Quaternion from rotation matrix", J. Guidance and Control 1(3), 1978
 * @example
 * quaternionFromMatrix([0, -1, 0, 1, 0, 0, 0, 0, 1]); // [0, 0, 0.7071, 0.7071]
 */
export function quaternionFromMatrix(m: Matrix3): Quaternion {
  const [m00, m01, m02, m10, m11, m12, m20, m21, m22] = m;
  const trace = m00 + m11 + m22;
  const largest = Math.max(trace, m00, m11, m22);
  if (largest === trace) {
    return normalizeQuaternion([m21 - m12, m02 - m20, m10 - m01, 1 + trace]);
  }
  if (largest === m00) {
    return normalizeQuaternion([1 + m00 - m11 - m22, m01 + m10, m02 + m20, m21 - m12]);
  }
  if (largest === m11) {
    return normalizeQuaternion([m01 + m10, 1 - m00 + m11 - m22, m12 + m21, m02 - m20]);
  }
  return normalizeQuaternion([m02 + m20, m12 + m21, 1 - m00 - m11 + m22, m10 - m01]);
}

/**
 * The rotation nearest to a matrix that was rounded or measured, by the Newton iteration for the
 * orthogonal polar factor.
 *
 * @param m - matrix within 0.02 (Frobenius norm of MᵀM − I) of a rotation, row by row
 * @returns rotation matrix, row by row, orthonormal to rounding
 * @throws TwinkeelError `rotation/not-a-rotation` when it is further away or mirrors
 * @see Higham, "Computing the polar decomposition", SIAM J. Sci. Stat. Comput. 7(4), 1986
 * @example
 * const sheared = [1, 0.002, 0, 0, 1, 0, 0, 0, 1] as const;
 * nearestRotation(sheared); // [1.00000, 0.001, 0, -0.001, 1.00000, 0, 0, 0, 1]
 */
export function nearestRotation(m: Matrix3): Matrix3 {
  const departure = orthonormalityDeparture(m);
  const columnMajor: number[] = [m[0], m[3], m[6], m[1], m[4], m[7], m[2], m[5], m[8]];
  const determinant = mat3.determinant(columnMajor as unknown as ReadonlyMat3);
  if (!(departure <= ORTHONORMAL && determinant > 0)) {
    throw new TwinkeelError('rotation/not-a-rotation', {
      found: `a matrix with determinant ${determinant.toFixed(4)} and rows that miss being perpendicular unit vectors by ${departure.toFixed(4)}`,
      expected: `a rotation matrix (determinant 1, departure at most ${ORTHONORMAL})`,
      remedy: 'check which columns hold the matrix and in which order',
    });
  }
  // From a departure of 0.02 the quadratic convergence reaches machine precision in three steps.
  const inverseTransposed: number[] = new Array(9).fill(0);
  for (let step = 0; step < 4; step++) {
    mat3.invert(inverseTransposed as unknown as mat3, columnMajor as unknown as ReadonlyMat3);
    mat3.transpose(inverseTransposed as unknown as mat3, inverseTransposed as unknown as mat3);
    for (let i = 0; i < 9; i++) {
      columnMajor[i] = 0.5 * ((columnMajor[i] as number) + (inverseTransposed[i] as number));
    }
  }
  const [a, b, c, d, e, f, g, h, i] = columnMajor as unknown as Matrix3;
  return [a, d, g, b, e, h, c, f, i];
}

/** Frobenius norm of MᵀM − I: 0 for rows and columns that are perpendicular unit vectors. */
function orthonormalityDeparture(m: Matrix3): number {
  let sum = 0;
  for (let i = 0; i < 3; i++) {
    for (let j = 0; j < 3; j++) {
      let product = 0;
      for (let k = 0; k < 3; k++) {
        product += (m[3 * k + i] as number) * (m[3 * k + j] as number);
      }
      sum += (product - (i === j ? 1 : 0)) ** 2;
    }
  }
  return Math.sqrt(sum);
}
