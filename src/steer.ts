import type { CorrectOptions } from './correctOptions.js';
import type { Warning } from './error.js';
import { limitOfFrames } from './limits.js';
import { DEGREES_PER_RADIAN } from './math.js';
import { type AimKey, aimPath } from './motion/aim.js';
import { aimKeysOn, markersOn } from './motion/frameKeys.js';
import { levelPath } from './motion/horizon.js';
import { limitPath } from './motion/limit.js';
import { type Separation, SHORTEST_MOVE, separate } from './motion/separate.js';
import type { Prepared } from './prepare.js';
import { DEFAULT_PICTURE } from './rig/picture.js';
import { angularDistances, quaternionAt } from './rotation/arrays.js';
import {
  headingTiltRollFromQuaternion,
  quaternionFromHeadingTiltRoll,
} from './rotation/headingTiltRoll.js';
import { angularDistance } from './rotation/quaternion.js';
import { type OrientationTrack, withQuaternions } from './track/orientationTrack.js';
import { interpolateTrack } from './track/resample.js';

/** Where the corrected view looks, and what was recognised on the way there. */
export interface Steered {
  /** S, camera→world. */
  readonly intended: OrientationTrack;
  readonly separation: Separation;
  /** How far limit and aim keep the view from the calm, levelled path at each frame, degrees. */
  readonly heldBackDeg: Float64Array;
  /** Frames at which a limit kept the view from what was wanted. */
  readonly limited: number;
  readonly warnings: readonly Warning[];
}

/**
 * From C to S: what was meant is separated from the body, levelled, aimed, and kept within limits.
 *
 * @param separation - one that was made before with the same kind of shot, filter and shortest move
 */
export function steer(
  prepared: Prepared,
  options: CorrectOptions,
  separation: Separation = separated(prepared, options),
): Steered {
  const { measured, inverted } = prepared;
  const aim = aimKeysOn(measured, options.aim ?? []);
  const level = levelPath(separation.intended.quaternions, options.level ?? 1);
  const path = aim.length > 0 ? aimPath(withQuaternions(measured, level), aim) : level;
  const { rig, picture = DEFAULT_PICTURE, limits = {} } = options;
  const { limit, warnings } = limitOfFrames(limits, measured, rig && { rig, picture, inverted });
  const n = measured.times.length;
  const { quaternions, limited } = limit
    ? limitPath(
        measured.quaternions,
        path,
        limit,
        (n - 1) / measured.times[n - 1]!,
        options.shortestMove ?? SHORTEST_MOVE,
      )
    : { quaternions: path, limited: 0 };
  const intended = {
    ...withQuaternions(measured, quaternions),
    times: measured.times.slice(),
    ...(measured.frames && { frames: measured.frames.slice() }),
  };
  return {
    intended,
    separation,
    heldBackDeg: angularDistances(level, intended.quaternions).map(
      (angle) => angle * DEGREES_PER_RADIAN,
    ),
    limited,
    warnings: [
      ...separation.warnings,
      ...warnings,
      ...limitWarning(limited, n),
      ...aimWarning(intended, aim),
      ...horizonWarning(intended, options),
    ],
  };
}

function separated({ measured, steps }: Prepared, options: CorrectOptions): Separation {
  const markers = markersOn(measured, options.markers ?? []);
  return separate(measured, { ...options, markers, ...(steps && { steps }) });
}

function limitWarning(limited: number, n: number): Warning[] {
  if (limited === 0) return [];
  return [
    {
      code: 'limit/active',
      message: `${((100 * limited) / n).toFixed(1)} % of the frames wanted more than the limit; some shake is left there; a larger limit, less levelling or a further nearest subject gives room`,
    },
  ];
}

/** Keys that a limit kept the view from, and by how much. */
function aimWarning(intended: OrientationTrack, keys: readonly AimKey[]): Warning[] {
  const at = interpolateTrack(
    intended,
    Float64Array.from(keys, ({ time }) => time),
  );
  return keys.flatMap((key, k) => {
    const q = quaternionAt(at, k);
    const { roll } = headingTiltRollFromQuaternion(q);
    const aimed = quaternionFromHeadingTiltRoll(key.heading, key.tilt, key.roll ?? roll);
    const missed = angularDistance(q, aimed) * DEGREES_PER_RADIAN;
    if (missed < AIM_TOLERANCE_DEG) return [];
    return [
      {
        code: 'aim/missed',
        timeS: key.time,
        message: `the limit keeps the view ${missed.toFixed(1)}° from the aim key at ${key.time} s`,
      },
    ];
  });
}

/** Misses below this are interpolation between frames, degrees (our judgement). */
const AIM_TOLERANCE_DEG = 0.2;

/** A horizon within this counts as level, degrees root mean square (our judgement). */
const LEVEL_WITHIN_DEG = 1;

/** What was done about a horizon that is not level afterwards. */
function horizonWarning(intended: OrientationTrack, { level = 1 }: CorrectOptions): Warning[] {
  const n = intended.times.length;
  let square = 0;
  let sum = 0;
  for (let k = 0; k < n; k++) {
    const { roll } = headingTiltRollFromQuaternion(quaternionAt(intended.quaternions, k));
    square += roll * roll;
    sum += roll;
  }
  const rms = Math.sqrt(square / n) * DEGREES_PER_RADIAN;
  const mean = (sum / n) * DEGREES_PER_RADIAN;
  if (rms < LEVEL_WITHIN_DEG || level < 1) return [];
  const onSide = Math.abs(Math.abs(mean) - 90) < ON_SIDE_WITHIN_DEG;
  return [
    {
      code: onSide ? 'horizon/on-side' : 'horizon/not-level',
      message: onSide
        ? `the camera lies on its side (rolled by ${Math.abs(mean).toFixed(0)}° ${mean > 0 ? 'to the left' : 'to the right'} on average): its roll was steadied and kept, not levelled; if it stood upright, an axis of the mapping is the wrong way round`
        : `the horizon is off level by ${rms.toFixed(1)}° on average afterwards (root mean square): the limit, an aim key, or a camera that looks steeply or leans beyond 45° kept it there`,
    },
  ];
}

/** A mean roll this near to ±90° is a camera on its side, degrees (our judgement). */
const ON_SIDE_WITHIN_DEG = 35;
