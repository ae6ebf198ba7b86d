import { DEGREES_PER_RADIAN } from '../math.js';
import { headingTiltRollFromQuaternion } from '../rotation/headingTiltRoll.js';
import type { Quaternion } from '../rotation/quaternion.js';

/**
 * Where a camera looks, in words that show a wrong axis at once: heading from north (the −z
 * direction of the world), tilt from the horizon, roll as the operator sees the camera.
 *
 * @param q - unit quaternion x, y, z, w, camera→world
 * @returns degrees to one decimal
 * @example
 * describeOrientation([0, 0, 0, 1]); // 'looks north, level, upright'
 */
export function describeOrientation(q: Quaternion): string {
  const { heading, tilt, roll } = headingTiltRollFromQuaternion(q);
  return [
    `looks ${amount(heading, 'left of north', 'right of north', 'north')}`,
    amount(tilt, 'up', 'down', 'level'),
    amount(roll, 'counter-clockwise', 'clockwise', 'upright', 'rolled '),
  ].join(', ');
}

function amount(
  angle: number,
  positive: string,
  negative: string,
  none: string,
  verb = '',
): string {
  const degrees = (Math.abs(angle) * DEGREES_PER_RADIAN).toFixed(1);
  if (degrees === '0.0') return none;
  return `${verb}${degrees}° ${angle > 0 ? positive : negative}`;
}
