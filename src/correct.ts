import { type Assessment, assess } from './comfort/figures.js';
import { assessRig, maskOf, type RigAssessment } from './comfort/rigFigures.js';
import { judge, type Reason, type VerdictName } from './comfort/verdict.js';
import { TwinkeelError, type Warning } from './error.js';
import { type Limits, limitOfFrames } from './limits.js';
import { DEGREES_PER_RADIAN } from './math.js';
import { type AimKey, aimPath } from './motion/aim.js';
import { CLASSIC_FILTERS } from './motion/classicFilters.js';
import { levelPath, levelWorld } from './motion/horizon.js';
import { limitPath } from './motion/limit.js';
import { type SeparateOptions, type Separation, separate } from './motion/separate.js';
import type { CircularMask } from './rig/coverage.js';
import { detectMount, turnMount } from './rig/mount.js';
import { rigFromValue, type StereoRig } from './rig/stereoRig.js';
import {
  alignSigns,
  composeQuaternions,
  invertQuaternions,
  quaternionAt,
} from './rotation/arrays.js';
import {
  headingTiltRollFromQuaternion,
  quaternionFromHeadingTiltRoll,
} from './rotation/headingTiltRoll.js';
import { angularDistance, type Quaternion } from './rotation/quaternion.js';
import {
  type Corrections,
  type EarlierCorrections,
  trackBeforeCorrections,
} from './track/corrections.js';
import { requireFiniteFigures, requireFiniteRotations } from './track/finite.js';
import {
  type FrameRate,
  formatFrameRate,
  framesPerSecond,
  isFrameRate,
} from './track/frameRate.js';
import { type OrientationTrack, withQuaternions } from './track/orientationTrack.js';
import { interpolateTrack, resampleToFrames } from './track/resample.js';

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
  /** How far the correction may go; without limits and rig it is free. */
  readonly limits?: Limits;
  /** The two lenses; without it neither coverage nor stereo comfort is minded. */
  readonly rig?: StereoRig;
  /**
   * Corrections already in the footage that was tracked, in the order they were applied. The result
   * replaces them all: it corrects the original footage, on whose frames it lies.
   */
  readonly earlier?: readonly EarlierCorrections[];
}

/** One rotation per frame, and what is to know about it. */
export interface CorrectionResult {
  /** K at every frame: takes a direction seen by the camera to the corrected view. */
  readonly corrections: Corrections;
  /** S: where the corrected view looks, camera→world. */
  readonly intended: OrientationTrack;
  /**
   * For the left lens: K times that lens's fixed alignment, unit quaternions, length 4n. Without
   * alignments both are K, the same to the last bit.
   */
  readonly left: Float64Array;
  /** For the right lens. */
  readonly right: Float64Array;
  /** Whether left and right must be exchanged: with an upside-down mount, whose turn K contains. */
  readonly swapEyes: boolean;
  /** Window that hides every edge of the picture, where any comes into view; for both eyes. */
  readonly mask?: CircularMask;
  /** The rig that was described, if any. */
  readonly rig?: StereoRig;
  /** Cost to the stereo pair, where a rig was described. */
  readonly rigAssessment?: RigAssessment;
  /** Kind of shot, as given or recognised. */
  readonly shot: Separation['shot'];
  /** How clearly the clip is this kind of shot, 0 to 1; 1 when it was given. */
  readonly confidence: number;
  /** Whether somebody walks, and how fast the steps come. */
  readonly gait: Separation['gait'];
  /** Figures before and after correction, and what the correction took. */
  readonly assessment: Assessment;
  /** What to do with the clip, and why, the weightiest reason first. */
  readonly verdict: VerdictName;
  /** Every threshold of the verdict that was passed. */
  readonly reasons: readonly Reason[];
  /** What holds for every clip, whatever the verdict. */
  readonly cautions: readonly string[];
  /** What is to know about track and result, in the order it was found. */
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
 * @param options - how to correct; everything may be left out
 * @returns corrections for every frame (missing frames bridged); cost O(n)
 * @throws TwinkeelError `track/too-short`, `track/too-sparse`, `track/too-long`, `track/gap`,
 *   `argument/invalid`, `rig/invalid`
 * @example
 * const { corrections } = correct(readTrack(csv), { limits: { totalDeg: 10 } });
 * corrections.quaternions.length; // 2884, x, y, z, w for each of 721 frames
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
  checkChoices(options);
  // Also what a program made by hand, past the functions that check.
  if (options.rig) rigFromValue(options.rig);
  requireFiniteRotations(track.quaternions, 'track');
  const framed = resampleToFrames(track, options.frameRate);
  const original = (options.earlier ?? []).reduceRight(trackBeforeCorrections, framed.track);
  const levelled = levelWorld(original, options.levelAt);
  const mount = decideMount(levelled, options.rig?.mount ?? 'auto');
  // From here on the picture stands upright; the turn comes back in K.
  const measured = mount.inverted
    ? withQuaternions(levelled, turnMount(levelled.quaternions))
    : levelled;
  const separation = separate(measured, options);

  let path = levelPath(separation.intended.quaternions, level);
  if (options.aim?.length) path = aimPath(withQuaternions(measured, path), options.aim);
  const limited = withinLimits(measured, path, options.limits, options.rig);

  const intended = {
    ...withQuaternions(measured, limited.quaternions),
    times: measured.times.slice(),
    ...(measured.frames && { frames: measured.frames.slice() }),
  };
  const inverse = invertQuaternions(intended.quaternions);
  const inView = composeQuaternions(inverse, measured.quaternions);
  const quaternions = alignSigns(composeQuaternions(inverse, levelled.quaternions));
  requireFiniteRotations(quaternions, 'correction');
  const { rig } = options;
  const mask = rig && maskOf(inView, rig);
  const rigAssessment = rig && assessRig(inView, measured, rig, separation.gait);
  const assessment = assess(measured, intended, inView, separation.gait.stepFrequency, {
    limited: limited.limited,
    bridged: framed.bridged.length,
  });
  const unjudged = {
    corrections: {
      // Copies: whoever changes one part of the result changes no other, nor the track.
      times: measured.times.slice(),
      quaternions,
      ...(measured.frames && { frames: measured.frames.slice() }),
      ...(measured.frameRate && { frameRate: measured.frameRate }),
    },
    intended,
    ...eyesOf(quaternions, rig?.alignment),
    swapEyes: mount.inverted,
    ...(mask && { mask }),
    ...(rig && { rig }),
    ...(rigAssessment && { rigAssessment }),
    shot: separation.shot,
    confidence: separation.confidence,
    gait: separation.gait,
    assessment,
    warnings: [
      ...measured.warnings,
      ...rateWarning(track, options.frameRate),
      ...bridgeWarning(framed.bridged),
      ...mount.warnings,
      ...separation.warnings,
      ...limited.warnings,
      ...aimWarning(intended, options.aim ?? []),
    ],
  };
  requireFiniteFigures({ assessment, rigAssessment, mask }, 'result');
  return { ...unjudged, ...judge(unjudged) };
}

/** Values that types forbid but a script may pass. */
function checkChoices({ shot = 'auto', filter = 'structural', frameRate }: CorrectOptions): void {
  const wrong = !['auto', 'travelling', 'pan', 'locked-off'].includes(shot)
    ? `the shot "${shot}"`
    : filter !== 'structural' && !Object.hasOwn(CLASSIC_FILTERS, filter)
      ? `the filter "${filter}"`
      : frameRate && !isFrameRate(frameRate)
        ? `the frame rate ${JSON.stringify(frameRate)}`
        : undefined;
  if (wrong === undefined) return;
  throw new TwinkeelError('argument/invalid', {
    found: wrong,
    expected: `shots auto, travelling, pan, locked-off; filters structural, ${Object.keys(CLASSIC_FILTERS).join(', ')}; rates { numerator, denominator } of whole numbers, from 1 to 1000 frames per second`,
    remedy: 'correct the option',
  });
}

/** K for each lens: the common rotation after that lens's own fixed alignment. */
export function eyesOf(
  corrections: Float64Array,
  alignment: StereoRig['alignment'] | undefined,
): { left: Float64Array; right: Float64Array } {
  const of = (aligned: Quaternion | undefined) =>
    aligned === undefined ? corrections.slice() : composeQuaternions(corrections, aligned);
  return { left: of(alignment?.left), right: of(alignment?.right) };
}

/** Whether the camera hangs upside down, as the rig says or as gravity shows. */
function decideMount(
  track: OrientationTrack,
  mount: StereoRig['mount'],
): { inverted: boolean; warnings: readonly Warning[] } {
  if (mount !== 'auto') return { inverted: mount === 'inverted', warnings: [] };
  // An estimated vertical assumes an upright camera and cannot tell.
  if (track.up !== 'gravity' && track.up !== 'stated') return { inverted: false, warnings: [] };
  const guess = detectMount(track.quaternions);
  if (guess.mount === 'upright') return { inverted: false, warnings: [] };
  const inverted = guess.mount === 'inverted';
  return {
    inverted,
    warnings: [
      {
        code: inverted ? 'rig/upside-down' : 'rig/mount-undecided',
        message: inverted
          ? `the camera hangs upside down (${Math.round(100 * guess.confidence)} % agreement): the correction turns the picture by 180° and the eyes must be exchanged; if it stood upright, the mapping's "at-rest" or an axis is the wrong way round, or say "upright" in the rig description`
          : 'whether the camera stands upright cannot be told, since it looks steeply up or down; it was taken as upright, say otherwise in the rig description',
      },
    ],
  };
}

function withinLimits(
  measured: OrientationTrack,
  path: Float64Array,
  limits: Limits = {},
  rig: StereoRig | undefined,
): { quaternions: Float64Array; limited: number; warnings: readonly Warning[] } {
  const { limit, warnings } = limitOfFrames(limits, measured, rig);
  if (!limit) return { quaternions: path, limited: 0, warnings };
  const n = measured.times.length;
  const sampleRate = (n - 1) / measured.times[n - 1]!;
  const { quaternions, limited } = limitPath(measured.quaternions, path, limit, sampleRate);
  if (limited === 0) return { quaternions, limited, warnings };
  return {
    quaternions,
    limited,
    warnings: [
      ...warnings,
      {
        code: 'limit/active',
        message: `${((100 * limited) / n).toFixed(1)} % of the frames wanted more than the limit; some shake is left there; a larger limit, less levelling or a further nearest subject gives room`,
      },
    ],
  };
}

function rateWarning(track: OrientationTrack, wanted: FrameRate | undefined): Warning[] {
  const own = track.frameRate;
  if (!own || !wanted || framesPerSecond(own) === framesPerSecond(wanted)) return [];
  return [
    {
      code: 'track/other-rate',
      message: `the track is numbered at ${formatFrameRate(own)} frames per second, the wanted rate is ${formatFrameRate(wanted)}: it was resampled and its frames numbered anew from 0; if the movie runs at ${formatFrameRate(own)}, leave the wanted rate out`,
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

function bridgeWarning(bridged: Int32Array): Warning[] {
  if (bridged.length === 0) return [];
  return [
    {
      code: 'track/bridged',
      message: `${bridged.length} missing frame${bridged.length === 1 ? ' was' : 's were'} bridged by interpolation, the first is frame ${bridged[0]}`,
    },
  ];
}
