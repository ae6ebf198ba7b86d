import type { Warning } from '../error.js';
import { quaternionAt } from '../rotation/arrays.js';
import { type Quaternion, rotateVector, type Vector3 } from '../rotation/quaternion.js';
import type { MotionLog } from '../track/motionLog.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { vectorsAt } from './loggedMotion.js';

/** Sensors screwed on straight lie within this of a camera axis, rad (10°, our judgement). */
const STRAIGHT = Math.PI / 18;
const AXES = [
  { name: 'x (looking up and down)', exchanged: 'left and right' },
  { name: 'y (panning)', exchanged: 'up and down' },
  { name: 'z (rolling)', exchanged: 'front and back' },
] as const;

/**
 * Says where a track may be a mirror image. A tracker that exchanges left and right turns, to a gyro,
 * like a sensor mounted a half turn about x: rates alone cannot tell them apart, and corrections of a
 * mirrored track would be mirrored too. Gravity tells the exchanges that turn the camera over, x and
 * z, where the log has it and the track's vertical is known.
 *
 * @param axes - sensor to camera
 * @param weights - trust in each frame
 * @param at - log times of the frames
 */
export function mirrorWarnings(
  log: MotionLog,
  track: Pick<OrientationTrack, 'quaternions' | 'up'>,
  axes: Quaternion,
  weights: Float64Array,
  at: Float64Array,
): Warning[] {
  const lift = liftOf(log, track, axes, weights, at);
  if (lift !== undefined && lift < -0.5) {
    return [
      {
        code: 'sync/mirrored',
        message:
          'gravity in the log points the wrong way in the track: either the track is a mirror image (left and right or front and back exchanged) or upside down, or the accelerometer counts downwards; look at one frame before using any of it',
      },
    ];
  }
  const turned = AXES.findIndex(
    (_, i) => 2 * Math.acos(Math.min(1, Math.abs(axes[i]!))) < STRAIGHT,
  );
  if (turned < 0 || (lift !== undefined && lift > 0.5 && turned !== 1)) return [];
  const { name, exchanged } = AXES[turned]!;
  return [
    {
      code: 'sync/half-turn',
      message: `the sensor comes out turned by half a turn about the camera's ${name} axis: either it is mounted so, or the track has ${exchanged} exchanged; their turning is the same, so look at one frame`,
    },
  ];
}

/** Vertical share of the mean specific force in the track's world, −1 to 1; undefined where unknown. */
function liftOf(
  { times, acceleration }: MotionLog,
  { quaternions, up }: Pick<OrientationTrack, 'quaternions' | 'up'>,
  axes: Quaternion,
  weights: Float64Array,
  at: Float64Array,
): number | undefined {
  if (!acceleration || up === 'unknown' || up === 'estimated') return undefined;
  const felt = vectorsAt(times, acceleration, at);
  const sum: [number, number, number] = [0, 0, 0];
  for (let k = 0; k < at.length; k++) {
    if (weights[k] === 0) continue;
    const acceleration: Vector3 = [felt[3 * k]!, felt[3 * k + 1]!, felt[3 * k + 2]!];
    const inWorld = rotateVector(quaternionAt(quaternions, k), rotateVector(axes, acceleration));
    for (let i = 0; i < 3; i++) sum[i]! += inWorld[i]!;
  }
  const length = Math.hypot(...sum);
  return length > 0 ? sum[1] / length : undefined;
}
