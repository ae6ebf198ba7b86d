import { SERIES_ANGLE } from '../tolerances.js';
import type { Quaternion, Vector3 } from './quaternion.js';

/**
 * The rotation about the direction of `v` by its length in radians: the exponential map.
 *
 * @param v - rotation vector, rad; any length
 * @returns unit quaternion x, y, z, w
 * @see Solà, Deray, Atchuthan, "A micro Lie theory for state estimation in robotics", 2018,
 *   Appendix B, the Exp map of S³
 */
export function quaternionFromRotationVector(v: Vector3): Quaternion {
  const [x, y, z] = v;
  const squared = x * x + y * y + z * z;
  const angle = Math.sqrt(squared);
  const s = halfSineOverAngle(angle, squared);
  return [x * s, y * s, z * s, Math.cos(angle / 2)];
}

/**
 * The shortest rotation vector of a rotation, length 0 to π rad: the logarithm map. At exactly
 * 180° both axis directions are right; the one of the stored quaternion is returned.
 *
 * @param q - unit quaternion x, y, z, w
 * @returns rotation vector, rad
 * @see Solà, Deray, Atchuthan 2018, Appendix B, the Log map of S³
 */
export function rotationVectorFromQuaternion(q: Quaternion): Vector3 {
  const sign = q[3] < 0 ? -1 : 1;
  const x = sign * q[0];
  const y = sign * q[1];
  const z = sign * q[2];
  const factor = angleOverHalfSine(Math.sqrt(x * x + y * y + z * z), sign * q[3]);
  return [x * factor, y * factor, z * factor];
}

/** sin(a/2)/a, by its series where the quotient would lose digits. */
export function halfSineOverAngle(angle: number, squared: number): number {
  return angle < SERIES_ANGLE ? 0.5 - squared / 48 : Math.sin(angle / 2) / angle;
}

/** a/sin(a/2) from sine and non-negative cosine of the half angle. */
export function angleOverHalfSine(sine: number, cosine: number): number {
  return sine === 0 ? 2 : (2 * Math.atan2(sine, cosine)) / sine;
}
