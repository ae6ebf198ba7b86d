import { TwinkeelError } from '../error.js';
import { clamp, DEGREES_PER_RADIAN, RADIANS_PER_DEGREE, wrapAngle } from '../math.js';
import { symmetricEigen } from '../numeric/symmetric.js';
import { alignSigns, composeQuaternions, quaternionAt, rotateVectors } from '../rotation/arrays.js';
import { headingTiltRollFromQuaternion } from '../rotation/headingTiltRoll.js';
import {
  multiplyQuaternions,
  type Quaternion,
  quaternionFromAxisAngle,
  rotateVector,
  type Vector3,
} from '../rotation/quaternion.js';
import type { OrientationTrack, Vertical } from '../track/orientationTrack.js';
import { interpolateTrack } from '../track/resample.js';

/** How far a carried camera's roll and tilt stray from level, rad (our judgement). */
const CARRIED = { roll: 2 * RADIANS_PER_DEGREE, tilt: 15 * RADIANS_PER_DEGREE };
/** Seconds after which roll and tilt say something new; a tilt is held on purpose (our judgement). */
const INDEPENDENT_AFTER = { roll: 2, tilt: 20 };

/**
 * The track in a world whose y axis is up. A track with a known vertical is returned as it is; a
 * moment at which the camera stood level fixes it; otherwise it is estimated from the way a camera
 * is carried: the vertical is the direction that stays perpendicular to the camera's x axis and
 * near the mean of its y axis.
 *
 * @param track - camera→world, in any world
 * @param levelAt - seconds from the first sample at which the camera was level
 * @returns the track with `up` and, where estimated, `upDeviation` (rad) saying how it is known
 * @throws TwinkeelError `argument/invalid` when `levelAt` lies outside the track
 * @example
 * levelWorld(createTrack({ ...track, up: 'unknown' })).up; // 'estimated'
 */
export function levelWorld(track: OrientationTrack, levelAt?: number): OrientationTrack {
  if (levelAt !== undefined) {
    const last = track.times[track.times.length - 1]!;
    if (!(levelAt >= 0 && levelAt <= last)) {
      throw new TwinkeelError('argument/invalid', {
        found: `a level moment at ${levelAt} s`,
        expected: `a time within the clip, 0 to ${last.toFixed(3)} s`,
        remedy: 'name a moment at which the camera stands level',
      });
    }
    const q = quaternionAt(interpolateTrack(track, Float64Array.of(levelAt)), 0);
    return turnedUpright(track, rotateVector(q, [0, 1, 0]), { up: 'stated' });
  }
  if (track.up !== 'unknown') return track;
  const { up, deviation } = estimateUp(track);
  const levelled = turnedUpright(track, up, { up: 'estimated', upDeviation: deviation });
  return {
    ...levelled,
    warnings: [
      ...levelled.warnings,
      {
        code: 'horizon/estimated',
        message: `the vertical is not in the file; it was estimated from how the camera is carried, ± ${(deviation * DEGREES_PER_RADIAN).toFixed(1)}° (one standard deviation); name a level moment or use a gyro log to do better`,
      },
    ],
  };
}

/**
 * The least-squares vertical of a carried camera: minimises Σ (u·xₖ)²/σ_roll² + Σ (u·zₖ)²/σ_tilt²
 * over unit vectors u, with xₖ and zₖ the camera's x and z axes in the world.
 */
function estimateUp(track: OrientationTrack): { up: Vector3; deviation: number } {
  const n = track.times.length;
  const duration = track.times[n - 1]!;
  const information = new Float64Array(9);
  const mean = [0, 0, 0];
  for (const [axis, deviation, independentAfter] of [
    [[1, 0, 0], CARRIED.roll, INDEPENDENT_AFTER.roll],
    [[0, 0, 1], CARRIED.tilt, INDEPENDENT_AFTER.tilt],
  ] as const) {
    const perSample = Math.max(1, duration / independentAfter) / n;
    const vectors = rotateVectors(track.quaternions, repeated(axis, n));
    for (let k = 0; k < n; k++) {
      for (let i = 0; i < 3; i++) {
        for (let j = 0; j < 3; j++) {
          information[3 * i + j]! +=
            (perSample * vectors[3 * k + i]! * vectors[3 * k + j]!) / deviation ** 2;
        }
      }
    }
  }
  const cameraUp = rotateVectors(track.quaternions, repeated([0, 1, 0], n));
  for (let i = 0; i < cameraUp.length; i++) mean[i % 3]! += cameraUp[i]!;
  const { vectors, values } = symmetricEigen(information);
  const vector = vectors[0];
  const along = vector[0] * mean[0]! + vector[1] * mean[1]! + vector[2] * mean[2]!;
  const sign = along < 0 ? -1 : 1;
  return {
    up: [sign * vector[0], sign * vector[1], sign * vector[2]],
    deviation: Math.sqrt(1 / (values[1] - values[0]) + 1 / (values[2] - values[0])),
  };
}

/** The world turned by the shortest way so that `up` becomes its y axis. */
function turnedUpright(
  track: OrientationTrack,
  up: Vector3,
  knowledge: Vertical,
): OrientationTrack {
  // What is known now leaves nothing of what was known before.
  const { up: _up, upDeviation: _deviation, ...samples } = track;
  const [x, y, z] = up;
  const w = 1 + y;
  const length = Math.hypot(x, z, w);
  const turn: Quaternion = w < 1e-12 ? [1, 0, 0, 0] : [-z / length, 0, x / length, w / length];
  return {
    ...samples,
    quaternions: alignSigns(composeQuaternions(turn, track.quaternions)),
    ...knowledge,
  };
}

/** Towards straight up or down roll loses its meaning: it is taken out fully below, not at all above. */
const TILT_FADE = { from: 65 * RADIANS_PER_DEGREE, to: 85 * RADIANS_PER_DEGREE };
/** A camera that lies on its side or tumbles does so on purpose (our judgement). */
const ROLL_FADE = { from: 45 * RADIANS_PER_DEGREE, to: 90 * RADIANS_PER_DEGREE };

/**
 * Takes a share of the roll out of a path. Roll is measured from upright, or from upside down for
 * a camera mounted that way. Towards straight up or down, where roll has no meaning, and towards a
 * camera lying on its side, which is no shake, it is kept.
 *
 * @param quaternions - the intended path, camera→world in a level world
 * @param share - 1 levels the horizon fully, 0 keeps the operator's roll
 * @returns unit quaternions x, y, z, w, length 4n
 * @example
 * const first = quaternionAt(levelPath(track.quaternions, 1), 0);
 * describeOrientation(first); // 'looks 1.6° right of north, 1.3° down, upright'
 */
export function levelPath(quaternions: Float64Array, share: number): Float64Array {
  const out = new Float64Array(quaternions.length);
  const upright = isUpsideDown(quaternions) ? Math.PI : 0;
  for (let k = 0; 4 * k < out.length; k++) {
    const q = quaternionAt(quaternions, k);
    const { tilt, roll } = headingTiltRollFromQuaternion(q);
    const lean = wrapAngle(roll - upright);
    const taken = share * fadeOut(Math.abs(tilt), TILT_FADE) * fadeOut(Math.abs(lean), ROLL_FADE);
    // Roll is the last of the three turns, so it comes off on the right.
    out.set(multiplyQuaternions(q, quaternionFromAxisAngle([0, 0, 1], -taken * lean)), 4 * k);
  }
  return out;
}

/** 1 below a range, 0 above, smooth in between. */
function fadeOut(value: number, { from, to }: { from: number; to: number }): number {
  const u = clamp((value - from) / (to - from), 0, 1);
  return 1 - u * u * (3 - 2 * u);
}

/** Whether a camera points its y axis down for most of a clip. */
export function isUpsideDown(quaternions: Float64Array): boolean {
  const n = quaternions.length / 4;
  const up = rotateVectors(quaternions, repeated([0, 1, 0], n));
  let sum = 0;
  for (let k = 0; k < n; k++) sum += up[3 * k + 1]!;
  return sum < 0;
}

function repeated(vector: Vector3, n: number): Float64Array {
  return Float64Array.from({ length: 3 * n }, (_, i) => vector[i % 3]!);
}
