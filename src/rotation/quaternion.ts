import { quat, type ReadonlyQuat, type ReadonlyVec3, vec3 } from 'gl-matrix';
import { TwinkeelError } from '../error.js';
import { ZERO_NORM } from '../tolerances.js';

/** A rotation as a Hamilton unit quaternion, stored x, y, z, w; q and −q are the same rotation. */
export type Quaternion = readonly [x: number, y: number, z: number, w: number];

/** A direction or a rotation vector; x, y, z. */
export type Vector3 = readonly [x: number, y: number, z: number];

/**
 * The rotation that turns nothing: a camera that looks level along −z, upright.
 *
 * @example
 * rotateVector(IDENTITY, [1, 2, 3]); // [1, 2, 3]
 */
export const IDENTITY: Quaternion = [0, 0, 0, 1];

/**
 * The rotation that does `b` first and then `a`: rotating a vector by the product equals rotating
 * it by `b`, then by `a`.
 *
 * @param a - unit quaternion x, y, z, w
 * @param b - unit quaternion x, y, z, w
 * @returns the Hamilton product a b
 * @see Shuster, "A Survey of Attitude Representations", J. Astronaut. Sci. 41(4), 1993
 * @example
 * const quarterTurn = quaternionFromAxisAngle([0, 1, 0], Math.PI / 2);
 * multiplyQuaternions(quarterTurn, quarterTurn); // [0, 1, 0, 0], half a turn about y
 */
export function multiplyQuaternions(a: Quaternion, b: Quaternion): Quaternion {
  const product: [number, number, number, number] = [0, 0, 0, 0];
  quat.multiply(product, a as ReadonlyQuat, b as ReadonlyQuat);
  return product;
}

/**
 * The opposite rotation of a unit quaternion: its conjugate −x, −y, −z, w.
 *
 * @param q - unit quaternion x, y, z, w; a norm other than 1 is not made up for
 * @returns unit quaternion x, y, z, w
 * @example
 * invertQuaternion([0, 0.6, 0, 0.8]); // [0, -0.6, 0, 0.8]
 */
export function invertQuaternion(q: Quaternion): Quaternion {
  return [-q[0], -q[1], -q[2], q[3]];
}

/**
 * The unit quaternion in the direction of `q`.
 *
 * @param q - any quaternion x, y, z, w with a direction
 * @returns unit quaternion x, y, z, w with the signs of `q`
 * @throws TwinkeelError `rotation/no-direction` when the norm is not finite or below 1e-12
 * @example
 * normalizeQuaternion([0, 3, 0, 4]); // [0, 0.6, 0, 0.8]
 */
export function normalizeQuaternion(q: Quaternion): Quaternion {
  const norm = Math.hypot(q[0], q[1], q[2], q[3]);
  if (!(norm > ZERO_NORM && norm < Number.POSITIVE_INFINITY)) {
    throw new TwinkeelError('rotation/no-direction', {
      found: `the quaternion (${q.join(', ')})`,
      expected: 'four finite numbers that are not all zero',
      remedy: 'leave the sample out or mark it as missing',
    });
  }
  return [q[0] / norm, q[1] / norm, q[2] / norm, q[3] / norm];
}

/**
 * A vector turned by a rotation: v' = q v q*.
 *
 * @param q - unit quaternion x, y, z, w
 * @param v - any vector
 * @returns the turned vector, in the frame that `q` leads to
 * @example
 * const toTheLeft = quaternionFromHeadingTiltRoll(Math.PI / 2, 0, 0);
 * rotateVector(toTheLeft, [0, 0, -1]); // [-1, 0, 0], where the lens then points in the world
 */
export function rotateVector(q: Quaternion, v: Vector3): Vector3 {
  const turned: [number, number, number] = [0, 0, 0];
  vec3.transformQuat(turned, v as ReadonlyVec3, q as ReadonlyQuat);
  return turned;
}

/**
 * The rotation by `angle` about `axis`, right-handed.
 *
 * @param axis - any vector with a direction; its length does not matter
 * @param angle - radians
 * @returns unit quaternion x, y, z, w
 * @throws TwinkeelError `rotation/no-direction` when the axis is shorter than 1e-12
 * @example
 * quaternionFromAxisAngle([0, 2, 0], Math.PI / 2); // [0, 0.7071, 0, 0.7071]
 */
export function quaternionFromAxisAngle(axis: Vector3, angle: number): Quaternion {
  const length = Math.hypot(axis[0], axis[1], axis[2]);
  if (!(length > ZERO_NORM && length < Number.POSITIVE_INFINITY)) {
    throw new TwinkeelError('rotation/no-direction', {
      found: `the axis (${axis.join(', ')})`,
      expected: 'three finite numbers that are not all zero',
      remedy: 'give the direction to turn about',
    });
  }
  const s = Math.sin(angle / 2) / length;
  return [axis[0] * s, axis[1] * s, axis[2] * s, Math.cos(angle / 2)];
}

/**
 * The angle of the rotation that leads from one orientation to the other, 0 to π rad. Accurate
 * to machine precision from 0 to 180°, because both sine and cosine of the half angle enter.
 *
 * @param a - unit quaternion x, y, z, w
 * @param b - unit quaternion x, y, z, w; its sign does not matter
 * @returns rad, 0 to π
 * @example
 * angularDistance(IDENTITY, quaternionFromAxisAngle([1, 0, 0], -0.3)); // 0.3 rad
 */
export function angularDistance(a: Quaternion, b: Quaternion): number {
  const [x, y, z, w] = multiplyQuaternions(invertQuaternion(a), b);
  return 2 * Math.atan2(Math.sqrt(x * x + y * y + z * z), Math.abs(w));
}
