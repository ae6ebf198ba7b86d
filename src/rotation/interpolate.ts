import {
  invertQuaternion,
  multiplyQuaternions,
  normalizeQuaternion,
  type Quaternion,
} from './quaternion.js';
import { quaternionFromRotationVector, rotationVectorFromQuaternion } from './rotationVector.js';

/**
 * The orientation on the shortest way from `a` to `b`, at constant angular rate.
 *
 * @param t - 0 to 1; outside, the motion continues
 * @param a - unit quaternion at t = 0
 * @param b - unit quaternion at t = 1
 * @returns unit quaternion x, y, z, w
 * @see Shoemake, "Animating rotation with quaternion curves", SIGGRAPH 1985
 * @example
 * slerp(IDENTITY, quaternionFromAxisAngle([0, 1, 0], 0.4), 0.25); // [0, 0.04998, 0, 0.99875]
 */
export function slerp(a: Quaternion, b: Quaternion, t: number): Quaternion {
  const [x, y, z] = rotationVectorFromQuaternion(multiplyQuaternions(invertQuaternion(a), b));
  const step = quaternionFromRotationVector([x * t, y * t, z * t]);
  return normalizeQuaternion(multiplyQuaternions(a, step));
}

/**
 * A curve from `a` to `b` that also keeps the angular rate continuous across keys, shaped by the
 * control quaternions of {@link squadControl}. The path is of the four-dimensional kind: keys of
 * one curve must be sign-continuous.
 *
 * @param t - 0 to 1
 * @param a - unit quaternion at t = 0
 * @param b - unit quaternion at t = 1
 * @param controlA - control quaternion of `a`
 * @param controlB - control quaternion of `b`
 * @returns unit quaternion x, y, z, w
 * @see Shoemake, "Quaternion calculus and fast animation", SIGGRAPH course, 1987
 * @example
 * const key = (k: number) => quaternionFromAxisAngle([0, 1, 0], 0.2 * k); // a steady turn
 * const control = (k: number) => squadControl(key(k - 1), key(k), key(k + 1));
 * angularDistance(IDENTITY, squad(key(1), key(2), control(1), control(2), 0.5)); // 0.3 rad
 */
export function squad(
  a: Quaternion,
  b: Quaternion,
  controlA: Quaternion,
  controlB: Quaternion,
  t: number,
): Quaternion {
  return slerp(slerp(a, b, t), slerp(controlA, controlB, t), 2 * t * (1 - t));
}

/**
 * The control quaternion of a key: s = q Exp(−(Log(q⁻¹ next) + Log(q⁻¹ previous)) / 4).
 *
 * @param q - unit quaternion of the key
 * @param previous - unit quaternion of the key before
 * @param next - unit quaternion of the key after, all at even distances in time
 * @returns unit quaternion x, y, z, w
 * @see Shoemake 1987
 * @example
 * const key = (k: number) => quaternionFromAxisAngle([0, 1, 0], 0.2 * k);
 * squadControl(key(0), key(1), key(2)); // [0, 0.0998, 0, 0.9950], a steady turn needs no bend
 */
export function squadControl(previous: Quaternion, q: Quaternion, next: Quaternion): Quaternion {
  const inverse = invertQuaternion(q);
  const forward = rotationVectorFromQuaternion(multiplyQuaternions(inverse, next));
  const backward = rotationVectorFromQuaternion(multiplyQuaternions(inverse, previous));
  return multiplyQuaternions(
    q,
    quaternionFromRotationVector([
      -(forward[0] + backward[0]) / 4,
      -(forward[1] + backward[1]) / 4,
      -(forward[2] + backward[2]) / 4,
    ]),
  );
}
