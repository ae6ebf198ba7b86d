import { type Assessment, assess } from './comfort/figures.js';
import { TwinkeelError, type Warning } from './error.js';
import { RADIANS_PER_DEGREE } from './math.js';
import { type AimKey, aimPath } from './motion/aim.js';
import type { CorrectionLimit } from './motion/correctionLimit.js';
import { isUpsideDown, levelPath, levelWorld } from './motion/horizon.js';
import { limitPath } from './motion/limit.js';
import { type SeparateOptions, type Separation, separate } from './motion/separate.js';
import { alignSigns, composeQuaternions, invertQuaternions } from './rotation/arrays.js';
import { type Corrections, correctionsAt } from './track/corrections.js';
import type { FrameRate } from './track/frameRate.js';
import { type OrientationTrack, withQuaternions } from './track/orientationTrack.js';
import { resampleToFrames } from './track/resample.js';

/** What the correction may do, degrees; what is left out is free. */
export interface Limits {
  /** Largest angle of the corrective rotation: the same everywhere, or one for each frame. */
  readonly totalDeg?: number | Float64Array;
  /** Largest part of it about the camera's y axis. */
  readonly headingDeg?: number;
  /** Largest part of it about the camera's x axis. */
  readonly tiltDeg?: number;
  /** Largest part of it about the camera's z axis. */
  readonly rollDeg?: number;
}

/** How to correct. */
export interface CorrectOptions extends SeparateOptions {
  /** Exact frame rate of the clip; the track's own when left out. */
  readonly frameRate?: FrameRate;
  /** Share of the roll to take out: 1 (default) levels the horizon, 0 keeps the operator's roll. */
  readonly level?: number;
  /** A moment, seconds from the first sample, at which the camera stood level. */
  readonly levelAt?: number;
  /** Where the centre of the view shall look at given moments. */
  readonly aim?: readonly AimKey[];
  readonly limits?: Limits;
  /** Corrections already in the footage that was tracked, in the order they were applied. */
  readonly earlier?: readonly Corrections[];
}

/** One rotation per frame, and what is to know about it. */
export interface CorrectionResult {
  /** K at every frame: takes a direction seen by the camera to the corrected view. */
  readonly corrections: Corrections;
  /** S: where the corrected view looks, camera→world. */
  readonly intended: OrientationTrack;
  /** K for the left eye, unit quaternions, length 4n; the same as the right eye's. */
  readonly left: Float64Array;
  /** K for the right eye. */
  readonly right: Float64Array;
  /** Whether left and right must be exchanged. */
  readonly swapEyes: boolean;
  readonly shot: Separation['shot'];
  readonly confidence: number;
  readonly gait: Separation['gait'];
  readonly assessment: Assessment;
  readonly warnings: readonly Warning[];
}

/**
 * The main job: from where the camera pointed to the rotation that steadies each frame.
 *
 * With C the measured and S the intended orientation (camera→world), the corrective rotation is
 * K = S⁻¹C. It is the same for both eyes; a sampler, which asks for each direction of the view
 * where the camera saw it, needs K⁻¹.
 *
 * @param track - camera→world, at least 3 s; {@link readTrack} or {@link orientLog} make one
 * @returns corrections for every frame (missing frames bridged); cost O(n)
 * @throws TwinkeelError `track/too-short`, `track/gap`, `argument/invalid`
 * @example
 * const result = correct(readTrack(csv), { limits: { totalDeg: 10 } });
 * result.corrections.quaternions; // x, y, z, w per frame
 */
export function correct(track: OrientationTrack, options: CorrectOptions = {}): CorrectionResult {
  const level = options.level ?? 1;
  if (!(level >= 0 && level <= 1)) {
    throw new TwinkeelError('argument/invalid', {
      found: `a level of ${level}`,
      expected: 'a share from 0 (keep the roll) to 1 (level the horizon)',
      remedy: 'correct the value',
    });
  }
  const framed = resampleToFrames(track, options.frameRate);
  const original = withoutEarlier(framed.track, options.earlier ?? []);
  const measured = levelWorld(original, options.levelAt);
  const separation = separate(measured, options);

  let path = levelPath(separation.intended.quaternions, level);
  if (options.aim?.length) path = aimPath(withQuaternions(measured, path), options.aim);
  const limited = withinLimits(measured, path, options.limits);

  const intended = withQuaternions(measured, limited.quaternions);
  const quaternions = alignSigns(
    composeQuaternions(invertQuaternions(intended.quaternions), measured.quaternions),
  );
  return {
    corrections: {
      times: measured.times,
      quaternions,
      ...(measured.frames && { frames: measured.frames }),
      ...(measured.frameRate && { frameRate: measured.frameRate }),
    },
    intended,
    left: quaternions.slice(),
    right: quaternions.slice(),
    swapEyes: false,
    shot: separation.shot,
    confidence: separation.confidence,
    gait: separation.gait,
    assessment: assess(measured, intended, quaternions, separation.gait.stepFrequency),
    warnings: [
      ...measured.warnings,
      ...bridgeWarning(framed.bridged),
      ...separation.warnings,
      ...mountWarning(measured),
      ...limited.warnings,
    ],
  };
}

/** The camera's own orientation when the track was measured on footage corrected before: C = C' K. */
function withoutEarlier(
  track: OrientationTrack,
  earlier: readonly Corrections[],
): OrientationTrack {
  let quaternions = track.quaternions;
  for (const corrections of [...earlier].reverse()) {
    quaternions = composeQuaternions(quaternions, correctionsAt(corrections, track.times));
  }
  return earlier.length === 0 ? track : withQuaternions(track, quaternions);
}

function withinLimits(
  measured: OrientationTrack,
  path: Float64Array,
  limits: Limits | undefined,
): { quaternions: Float64Array; warnings: readonly Warning[] } {
  const limit = limits && limitOfFrames(limits, measured.times.length);
  if (!limit) return { quaternions: path, warnings: [] };
  const n = measured.times.length;
  const sampleRate = (n - 1) / measured.times[n - 1]!;
  const { quaternions, limited } = limitPath(measured.quaternions, path, limit, sampleRate);
  if (limited === 0) return { quaternions, warnings: [] };
  return {
    quaternions,
    warnings: [
      {
        code: 'limit/active',
        message: `${((100 * limited) / n).toFixed(1)} % of the frames wanted more than the limit; some shake is left there`,
      },
    ],
  };
}

/** The limits at every frame in radians, or undefined when nothing is limited. */
function limitOfFrames(limits: Limits, n: number): CorrectionLimit | undefined {
  const { totalDeg, headingDeg, tiltDeg, rollDeg } = limits;
  if (totalDeg instanceof Float64Array && totalDeg.length !== n) {
    throw new TwinkeelError('argument/shape', {
      found: `${totalDeg.length} limits`,
      expected: `one for each of ${n} frames`,
      remedy: 'pass a limit per frame, or one number for all',
    });
  }
  const everywhere = (degrees: number | undefined) =>
    new Float64Array(n).fill((degrees ?? Number.POSITIVE_INFINITY) * RADIANS_PER_DEGREE);
  const total =
    totalDeg instanceof Float64Array
      ? totalDeg.map((degrees) => degrees * RADIANS_PER_DEGREE)
      : everywhere(totalDeg);
  const anyAxis = headingDeg ?? tiltDeg ?? rollDeg;
  if (totalDeg === undefined && anyAxis === undefined) return undefined;
  return {
    total,
    ...(anyAxis !== undefined && {
      axes: [everywhere(tiltDeg), everywhere(headingDeg), everywhere(rollDeg)] as const,
    }),
  };
}

function bridgeWarning(bridged: Int32Array): Warning[] {
  if (bridged.length === 0) return [];
  return [
    {
      code: 'track/bridged',
      message: `${bridged.length} missing frame${bridged.length === 1 ? ' was' : 's were'} bridged by interpolation, the first is frame ${bridged[0]}`,
    },
  ];
}

function mountWarning(measured: OrientationTrack): Warning[] {
  if (!isUpsideDown(measured.quaternions)) return [];
  return [
    {
      code: 'rig/upside-down',
      message:
        'the camera is upside down for most of the clip; the horizon was levelled as it hangs, the picture was not turned and the eyes were not exchanged',
    },
  ];
}
