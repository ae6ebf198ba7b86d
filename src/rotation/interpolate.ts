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
 * @param a - unit quaternion at t = 0
 * @param b - unit quaternion at t = 1
 * @param t - 0 to 1; outside, the motion continues
 * @see Shoemake, "Animating rotation with quaternion curves", SIGGRAPH 1985
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
 * @see Shoemake, "Quaternion calculus and fast animation", SIGGRAPH course, 1987
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
 * @see Shoemake 1987
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
