import type { Quaternion } from './quaternion.js';

/**
 * Heading, tilt and roll of a camera in a world whose y axis points up:
 * R = Ry(heading) · Rx(tilt) · Rz(roll), radians. Positive heading turns left, positive tilt
 * looks up, positive roll lowers the left side.
 */
export interface HeadingTiltRoll {
  /** Turn about the world's y axis, rad; positive to the left, 0 along −z. */
  readonly heading: number;
  /** Turn about the camera's x axis, rad; positive looks up, 0 at the horizon. */
  readonly tilt: number;
  /** Turn about the camera's z axis, rad; positive lowers the left side, 0 upright. */
  readonly roll: number;
}

/**
 * The camera→world orientation with the given heading, tilt and roll, radians.
 *
 * @param heading - rad; positive turns left
 * @param tilt - rad; positive looks up
 * @param roll - rad; positive lowers the left side
 * @returns unit quaternion x, y, z, w, camera→world
 * @example
 * quaternionFromHeadingTiltRoll(Math.PI / 2, 0, 0); // [0, 0.7071, 0, 0.7071], to the left
 */
export function quaternionFromHeadingTiltRoll(
  heading: number,
  tilt: number,
  roll: number,
): Quaternion {
  const ch = Math.cos(heading / 2);
  const sh = Math.sin(heading / 2);
  const ct = Math.cos(tilt / 2);
  const st = Math.sin(tilt / 2);
  const cr = Math.cos(roll / 2);
  const sr = Math.sin(roll / 2);
  return [
    ch * st * cr + sh * ct * sr,
    sh * ct * cr - ch * st * sr,
    ch * ct * sr - sh * st * cr,
    ch * ct * cr + sh * st * sr,
  ];
}

/**
 * Heading and roll in (−π, π], tilt in [−π/2, π/2], radians. Looking straight up or down leaves
 * only heading + roll or heading − roll defined, and rounding grows towards it: 3e-9 rad at 1e-8 rad
 * from the zenith. Euler angles keep the rotation exact there.
 *
 * @param q - unit quaternion x, y, z, w, camera→world
 * @example
 * const lookUp = quaternionFromAxisAngle([1, 0, 0], 0.2);
 * headingTiltRollFromQuaternion(lookUp); // { heading: 0, tilt: 0.2, roll: 0 } rad
 */
export function headingTiltRollFromQuaternion(q: Quaternion): HeadingTiltRoll {
  const [x, y, z, w] = q;
  const backX = 2 * (x * z + w * y);
  const backY = 2 * (y * z - w * x);
  const backZ = w * w - x * x - y * y + z * z;
  return {
    heading: Math.atan2(backX, backZ),
    tilt: Math.atan2(-backY, Math.sqrt(backX * backX + backZ * backZ)),
    roll: Math.atan2(2 * (x * y + w * z), w * w - x * x + y * y - z * z),
  };
}
