import { TwinkeelError } from '../error.js';
import { wrapAngle } from '../math.js';
import { ZERO_NORM } from '../tolerances.js';
import {
  invertQuaternion,
  multiplyQuaternions,
  type Quaternion,
  type Vector3,
} from './quaternion.js';

/** A rotation split as q = swing · twist. */
export interface SwingTwist {
  /** The part that moves the axis, about a direction perpendicular to it. */
  readonly swing: Quaternion;
  /** The part that turns about the axis. */
  readonly twist: Quaternion;
  /** Angle of the twist about the axis, radians in (−π, π]. */
  readonly twistAngle: number;
}

/**
 * The turn about one axis that a rotation contains, and the rest. When the swing is exactly 180°
 * any twist fits and none is returned.
 *
 * @param q - unit quaternion x, y, z, w
 * @param axis - direction of the twist, any length
 * @throws TwinkeelError `rotation/no-direction` when the axis is shorter than 1e-12
 * @see Dobrowolski, "Swing-twist decomposition in Clifford algebra", 2015
 * @example
 * const leaning = quaternionFromHeadingTiltRoll(0.4, 0, 0.1);
 * swingTwist(leaning, [0, 0, 1]).twistAngle; // 0.1 rad
 */
export function swingTwist(q: Quaternion, axis: Vector3): SwingTwist {
  const length = Math.hypot(axis[0], axis[1], axis[2]);
  if (!(length > ZERO_NORM && length < Number.POSITIVE_INFINITY)) {
    throw new TwinkeelError('rotation/no-direction', {
      found: `the axis (${axis.join(', ')})`,
      expected: 'three finite numbers that are not all zero',
      remedy: 'give the direction of the twist',
    });
  }
  const along = (q[0] * axis[0] + q[1] * axis[1] + q[2] * axis[2]) / length;
  const norm = Math.hypot(along, q[3]);
  if (norm < ZERO_NORM) return { swing: q, twist: [0, 0, 0, 1], twistAngle: 0 };
  const sine = (q[3] < 0 ? -along : along) / norm;
  const cosine = Math.abs(q[3]) / norm;
  const scale = sine / length;
  const twist: Quaternion = [axis[0] * scale, axis[1] * scale, axis[2] * scale, cosine];
  return {
    swing: multiplyQuaternions(q, invertQuaternion(twist)),
    twist,
    twistAngle: wrapAngle(2 * Math.atan2(sine, cosine)),
  };
}
