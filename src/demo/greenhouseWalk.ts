/**
 * An invented take to try the whole job on: a night walk down the middle aisle of a greenhouse,
 * past the moonflowers, round the corner at the water tank, and a stop before the night-blooming
 * cactus. Everything is made from sines, so nothing needs to be stored.
 */
import { RADIANS_PER_DEGREE } from '../math.js';
import { quaternionFromHeadingTiltRoll } from '../rotation/headingTiltRoll.js';
import { multiplyQuaternions, type Quaternion } from '../rotation/quaternion.js';
import { quaternionFromRotationVector } from '../rotation/rotationVector.js';

/** Seconds of the walk. */
export const WALK_DURATION = 40;

/** What the operator means to do: along the aisle, 80° to the left, a look down and up again. */
export function intendedGreenhouseWalk(time: number): Quaternion {
  const heading = 80 * ease((time - 16) / 3.5) + 2 * Math.sin((2 * Math.PI * time) / 19);
  const tilt = -14 * ease((time - 27) / 2.5) + 14 * ease((time - 34) / 2.5);
  return quaternionFromHeadingTiltRoll(heading * RADIANS_PER_DEGREE, tilt * RADIANS_PER_DEGREE, 0);
}

/** Where the camera really pointed: the intended path shaken by the body that carries it. */
export function measuredGreenhouseWalk(time: number): Quaternion {
  return multiplyQuaternions(
    intendedGreenhouseWalk(time),
    quaternionFromRotationVector(bodyShake(time)),
  );
}

/**
 * Step bob in tilt at 1.9 steps per second, foot-to-foot sway in heading and roll at half of it, a
 * slow sway of the whole body, a hand tremor and a camera that hangs to one side; radians about
 * the camera's x, y and z axes.
 */
function bodyShake(time: number): [number, number, number] {
  const step = 2 * Math.PI * 1.9 * time + 0.4 * Math.sin((2 * Math.PI * time) / 13);
  const walking = 1 - ease((time - 25) / 1.5);
  const tilt =
    walking * (1.3 * Math.sin(step) + 0.3 * Math.sin(2 * step + 1)) +
    0.35 * Math.sin(1.7 * time + 0.5) +
    0.06 * Math.sin(2 * Math.PI * 7.3 * time);
  const heading =
    walking * (1.6 * Math.sin(step / 2 + 0.7) + 0.3 * Math.sin(1.5 * step)) +
    0.4 * Math.sin(1.3 * time + 2) +
    0.05 * Math.sin(2 * Math.PI * 8.1 * time + 1);
  const roll =
    walking * (1.1 * Math.sin(step / 2 + 2.1) + 0.2 * Math.sin(step)) +
    0.25 * Math.sin(1.9 * time + 4) +
    2.5 +
    1.2 * Math.sin((2 * Math.PI * time) / 55);
  return [tilt * RADIANS_PER_DEGREE, heading * RADIANS_PER_DEGREE, roll * RADIANS_PER_DEGREE];
}

/** A smooth step from 0 to 1 with rest at both ends: the quintic 6u⁵ − 15u⁴ + 10u³. */
function ease(u: number): number {
  const t = Math.min(Math.max(u, 0), 1);
  return t * t * t * (10 - 15 * t + 6 * t * t);
}
