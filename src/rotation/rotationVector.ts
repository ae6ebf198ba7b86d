import { SERIES_ANGLE, SERIES_TANGENT } from '../tolerances.js';
import type { Quaternion, Vector3 } from './quaternion.js';

/**
 * The rotation about the direction of `v` by its length in radians: the exponential map.
 *
 * @param v - rotation vector, rad; any length
 * @returns unit quaternion x, y, z, w
 * @see Solà, Deray, Atchuthan, "A micro Lie theory for state estimation in robotics", 2018,
 *   Appendix B, the Exp map of S³
 * @example
 * quaternionFromRotationVector([0, Math.PI / 2, 0]); // [0, 0.7071, 0, 0.7071]
 */
export function quaternionFromRotationVector(v: Vector3): Quaternion {
  const [x, y, z] = v;
  const squared = x * x + y * y + z * z;
  const angle = Math.sqrt(squared);
  const s = halfSineOverAngle(angle, squared);
  return [x * s, y * s, z * s, halfCosine(angle, squared)];
}

/**
 * The shortest rotation vector of a rotation, length 0 to π rad: the logarithm map. At exactly
 * 180° both axis directions are right; the one of the stored quaternion is returned.
 *
 * @param q - unit quaternion x, y, z, w
 * @returns rotation vector, rad
 * @see Solà, Deray, Atchuthan 2018, Appendix B, the Log map of S³
 * @example
 * rotationVectorFromQuaternion([0, -0.6, 0, -0.8]); // [0, 1.2870, 0] rad
 */
export function rotationVectorFromQuaternion(q: Quaternion): Vector3 {
  const sign = q[3] < 0 ? -1 : 1;
  const x = sign * q[0];
  const y = sign * q[1];
  const z = sign * q[2];
  const factor = angleOverHalfSine(Math.sqrt(x * x + y * y + z * z), sign * q[3]);
  return [x * factor, y * factor, z * factor];
}

/**
 * sin(a/2)/a from an angle and its square. Small angles use the series ½ Σ (−u)ᵏ/(2k + 1)! with
 * u = a²/4.
 */
export function halfSineOverAngle(angle: number, squared: number): number {
  if (squared >= SERIES_ANGLE * SERIES_ANGLE) return Math.sin(angle / 2) / angle;
  const u = squared / 4;
  return 1 / 2 + u * (-1 / 12 + u * (1 / 240 + u * (-1 / 10080)));
}

/** cos(a/2) from an angle and its square. Small angles use the series Σ (−u)ᵏ/(2k)!, u = a²/4. */
export function halfCosine(angle: number, squared: number): number {
  if (squared >= SERIES_ANGLE * SERIES_ANGLE) return Math.cos(angle / 2);
  const u = squared / 4;
  return 1 + u * (-1 / 2 + u * (1 / 24 + u * (-1 / 720 + u * (1 / 40320))));
}

/**
 * a/sin(a/2) from sine and non-negative cosine of the half angle. Small angles use the series
 * atan(t)/t = Σ (−t²)ᵏ/(2k + 1) of the tangent t, which does not mind a norm other than 1.
 */
export function angleOverHalfSine(sine: number, cosine: number): number {
  if (sine < SERIES_TANGENT * cosine) {
    const t = sine / cosine;
    return (2 / cosine) * arctangentOverArgument(t * t);
  }
  return sine === 0 ? 2 : (2 * Math.atan2(sine, cosine)) / sine;
}

function arctangentOverArgument(u: number): number {
  const tail = u * (1 / 9 + u * (-1 / 11 + u * (1 / 13 + u * (-1 / 15 + u * (1 / 17)))));
  return 1 + u * (-1 / 3 + u * (1 / 5 + u * (-1 / 7 + tail)));
}
