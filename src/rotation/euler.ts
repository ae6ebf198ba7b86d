import { wrapAngle } from '../math.js';
import { EULER_SINGULARITY } from '../tolerances.js';
import { multiplyQuaternions, type Quaternion } from './quaternion.js';

/** The twelve sequences of axes whose three rotations reach every orientation. */
export type EulerSequence =
  | 'XYZ'
  | 'XZY'
  | 'YXZ'
  | 'YZX'
  | 'ZXY'
  | 'ZYX'
  | 'XYX'
  | 'XZX'
  | 'YXY'
  | 'YZY'
  | 'ZXZ'
  | 'ZYZ';

/** Turning about the axes as the previous turns left them, or about the fixed axes. */
export type EulerFrame = 'intrinsic' | 'extrinsic';

/** Three angles in the order of the sequence, radians. */
export type EulerAngles = readonly [first: number, second: number, third: number];

/**
 * The rotation of three successive turns.
 *
 * @param sequence - axes in the order of the turns
 * @param angles - radians, in the order of the turns, right-handed
 * @param frame - `intrinsic`: each turn about the already turned axes, R = R₁R₂R₃;
 *   `extrinsic`: each about the fixed axes, R = R₃R₂R₁
 * @returns unit quaternion x, y, z, w
 * @see Shuster, "A Survey of Attitude Representations", J. Astronaut. Sci. 41(4), 1993
 * @example
 * const byTurns = quaternionFromEuler('YXZ', [0.4, 0.2, 0.1], 'intrinsic');
 * angularDistance(byTurns, quaternionFromHeadingTiltRoll(0.4, 0.2, 0.1)); // 0 rad
 */
export function quaternionFromEuler(
  sequence: EulerSequence,
  angles: EulerAngles,
  frame: EulerFrame,
): Quaternion {
  const first = turnAboutAxis(axisIndex(sequence, 0), angles[0]);
  const second = turnAboutAxis(axisIndex(sequence, 1), angles[1]);
  const third = turnAboutAxis(axisIndex(sequence, 2), angles[2]);
  return frame === 'intrinsic'
    ? multiplyQuaternions(multiplyQuaternions(first, second), third)
    : multiplyQuaternions(multiplyQuaternions(third, second), first);
}

/**
 * The angles of three successive turns that make a rotation, radians: outer angles in (−π, π],
 * the middle one in [−π/2, π/2] for three different axes and [0, π] when the first axis returns.
 * At its singular values only the sum or difference of the outer angles is defined: the first angle
 * takes the whole and the third is zero.
 *
 * @param sequence - axes in the order of the turns
 * @param q - unit quaternion x, y, z, w
 * @param frame - whether the turns go about the moving or about the fixed axes
 * @returns rad, in the order of the turns
 * @see Bernardes and Viollet, "Quaternion to Euler angles conversion: a direct, general and
 *   computationally efficient method", PLOS ONE 17(11), 2022
 * @example
 * const roll = quaternionFromAxisAngle([0, 0, 1], 0.3);
 * eulerFromQuaternion('ZYX', roll, 'intrinsic'); // [0.3, 0, 0] rad
 */
export function eulerFromQuaternion(
  sequence: EulerSequence,
  q: Quaternion,
  frame: EulerFrame,
): EulerAngles {
  // Turns about moving axes are the turns about fixed axes in the opposite order.
  const intrinsic = frame === 'intrinsic';
  const i = axisIndex(sequence, intrinsic ? 2 : 0);
  const j = axisIndex(sequence, 1);
  const outer = axisIndex(sequence, intrinsic ? 0 : 2);
  const returns = i === outer;
  const k = returns ? 3 - i - j : outer;
  const sign = ((i - j) * (j - k) * (k - i)) / 2;
  const qi = q[i] as number;
  const qj = q[j] as number;
  const qk = (q[k] as number) * sign;
  const [a, b, c, d] = returns ? [q[3], qi, qj, qk] : [q[3] - qj, qi + qk, qj + q[3], qk - qi];

  const middle = 2 * Math.atan2(Math.hypot(c, d), Math.hypot(a, b));
  const halfSum = Math.atan2(b, a);
  const halfDifference = Math.atan2(d, c);
  let first = halfSum - halfDifference;
  let third = halfSum + halfDifference;
  if (middle < EULER_SINGULARITY) {
    first = intrinsic ? 0 : 2 * halfSum;
    third = intrinsic ? 2 * halfSum : 0;
  } else if (Math.PI - middle < EULER_SINGULARITY) {
    first = intrinsic ? 0 : -2 * halfDifference;
    third = intrinsic ? 2 * halfDifference : 0;
  }
  if (!returns) third *= sign;
  const second = returns ? middle : middle - Math.PI / 2;
  first = wrapAngle(first);
  third = wrapAngle(third);
  return intrinsic ? [third, second, first] : [first, second, third];
}

function axisIndex(sequence: EulerSequence, position: 0 | 1 | 2): 0 | 1 | 2 {
  const letter = sequence[position];
  return letter === 'X' ? 0 : letter === 'Y' ? 1 : 2;
}

function turnAboutAxis(axis: 0 | 1 | 2, angle: number): Quaternion {
  const s = Math.sin(angle / 2);
  const c = Math.cos(angle / 2);
  return axis === 0 ? [s, 0, 0, c] : axis === 1 ? [0, s, 0, c] : [0, 0, s, c];
}
