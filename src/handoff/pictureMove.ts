import { DEGREES_PER_RADIAN } from '../math.js';
import { headingTiltRollFromQuaternion } from '../rotation/headingTiltRoll.js';
import type { Quaternion } from '../rotation/quaternion.js';

/** What a correction does to the middle of a picture, as a viewer sees it. */
export interface PictureMove {
  /** Radians; what the camera saw straight ahead moves to the right, negative to the left. */
  readonly right: number;
  /** Radians; it moves up, negative down. */
  readonly up: number;
  /** Radians; the picture turns clockwise about it, negative counter-clockwise. */
  readonly clockwise: number;
}

/**
 * What a correction does to the middle of a picture: where in the corrected view, by longitude and latitude,
 * that lies which the camera saw straight ahead, and how it is turned there.
 *
 * K = Ry(heading) Rx(tilt) Rz(roll) takes straight ahead to the longitude −heading and the latitude tilt; roll
 * is counter-clockwise about the axis that points at the viewer.
 *
 * @param correction - K, unit quaternion x, y, z, w
 */
export function pictureMove(correction: Quaternion): PictureMove {
  const { heading, tilt, roll } = headingTiltRollFromQuaternion(correction);
  return { right: -heading, up: tilt, clockwise: -roll };
}

/**
 * {@link pictureMove} in words.
 *
 * @param size - pixels of one eye's half-equirect picture; degrees are given where it is not known
 * @returns such as `moves 9.2 px right, 7.9 px up, turns 3.4° clockwise`
 */
export function describeMove(correction: Quaternion, size?: readonly [number, number]): string {
  const { right, up, clockwise } = pictureMove(correction);
  const [across, down] = size
    ? // Half a turn across and half a turn down.
      [(right * size[0]) / Math.PI, (up * size[1]) / Math.PI]
    : [right * DEGREES_PER_RADIAN, up * DEGREES_PER_RADIAN];
  const unit = size ? ' px' : '°';
  const moves = [...amount(across, unit, ['right', 'left']), ...amount(down, unit, ['up', 'down'])];
  const turns = amount(clockwise * DEGREES_PER_RADIAN, '°', ['clockwise', 'counter-clockwise']);
  return [
    moves.length === 0 ? 'stays where it is' : `moves ${moves.join(', ')}`,
    ...turns.map((words) => `turns ${words}`),
  ].join(', ');
}

/** An amount with its direction; none where it rounds to nothing. */
function amount(
  value: number,
  unit: string,
  [positive, negative]: readonly [string, string],
): string[] {
  const size = Math.abs(value);
  const digits = size.toFixed(size < 10 ? 1 : 0);
  return Number(digits) === 0 ? [] : [`${digits}${unit} ${value > 0 ? positive : negative}`];
}
