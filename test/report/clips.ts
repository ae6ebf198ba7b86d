/** Clips with known orientations, corrected as any other; what the page is looked at with. */
import { type CorrectionResult, type CorrectOptions, correct } from '../../src/correct.js';
import { measuredGreenhouseWalk, WALK_DURATION } from '../../src/demo/greenhouseWalk.js';
import { DEFAULT_RIG } from '../../src/rig/stereoRig.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import { multiplyQuaternions, type Quaternion } from '../../src/rotation/quaternion.js';
import { frameTimes } from '../../src/track/frameRate.js';
import { createTrack } from '../../src/track/orientationTrack.js';

export const RATE = { numerator: 60000, denominator: 1001 };

const deg = Math.PI / 180;
const STEPS_HZ = 1.9;

/** Heading, tilt and roll of a frame, degrees. */
export type AnglesOfFrame = (frame: number) => readonly [number, number, number];

interface Take {
  readonly frames?: number;
  readonly angles?: AnglesOfFrame;
  /** Half a turn about the optical axis between the camera and what it is carried by. */
  readonly upsideDown?: boolean;
}

/** A walk along the aisle with the bob of steps; the camera hangs to the left by a known angle. */
export function hangingBy(rollDeg: number): AnglesOfFrame {
  return (frame) => {
    const steps = (2 * Math.PI * STEPS_HZ * (frame * 1.001)) / 60;
    return [0.6 * Math.sin(steps / 2), 1.2 * Math.sin(steps), rollDeg];
  };
}

/** The result of a take, with its vertical stated and without any limit. */
export function resultOf({
  frames = 300,
  angles = hangingBy(2.5),
  upsideDown = false,
  ...options
}: Take & CorrectOptions): CorrectionResult {
  const times = frameTimes(RATE, frames);
  const quaternions = Float64Array.from(
    Array.from(times).flatMap((_, k) => {
      const [heading, tilt, roll] = angles(k);
      const upright = quaternionFromHeadingTiltRoll(heading * deg, tilt * deg, roll * deg);
      return upsideDown ? multiplyQuaternions(upright, HALF_ROLL) : upright;
    }),
  );
  const track = createTrack({ times, quaternions, frameRate: RATE, up: 'stated' });
  return correct(track, { shot: 'travelling', ...options });
}

const HALF_ROLL: Quaternion = [0, 0, 1, 0];

let greenhouse: CorrectionResult | undefined;

/** The demonstration's walk with two lenses: every plot, a mask, reasons. */
export function greenhouseClip(): CorrectionResult {
  if (greenhouse) return greenhouse;
  const times = frameTimes(RATE, Math.floor((WALK_DURATION * 60000) / 1001));
  const quaternions = Float64Array.from(Array.from(times).flatMap(measuredGreenhouseWalk));
  const track = createTrack({ times, quaternions, frameRate: RATE });
  greenhouse = correct(track, { rig: DEFAULT_RIG, limits: { totalDeg: 3 } });
  return greenhouse;
}
