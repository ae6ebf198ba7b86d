import { blame } from './blame.js';
import type { Assessment } from './comfort/figures.js';
import { type TimeAbove, timesAbove } from './comfort/moments.js';
import type { RigAssessment } from './comfort/rigFigures.js';
import { type Stretch, withTimecodes } from './comfort/stretches.js';
import { judge, type Reason, type VerdictName } from './comfort/verdict.js';
import type { CorrectOptions } from './correctOptions.js';
import { TwinkeelError, type Warning } from './error.js';
import { measure } from './measure.js';
import { CLASSIC_FILTERS } from './motion/classicFilters.js';
import { type Separation, SHORTEST_MOVE } from './motion/separate.js';
import { SHORTEST_MOVES } from './motion/shortestMoves.js';
import { movesOfTake, type TakeMove } from './motion/takeMoves.js';
import { prepare } from './prepare.js';
import type { CircularMask } from './rig/coverage.js';
import { DEFAULT_PICTURE, PROJECTIONS, type Projection } from './rig/picture.js';
import { rigFromValue, type StereoRig } from './rig/stereoRig.js';
import { steer } from './steer.js';
import type { Corrections } from './track/corrections.js';
import { isFrameRate } from './track/frameRate.js';
import type { OrientationTrack } from './track/orientationTrack.js';
import type { Recording } from './track/recording.js';
import type { TrackerFault } from './track/trackerFaults.js';

export type { CorrectOptions } from './correctOptions.js';

/** One rotation per frame, and what is to know about it. */
export interface CorrectionResult {
  /**
   * K at every frame: takes a direction seen by the camera to the corrected view. What one lens of an
   * aligned rig needs, {@link eyeCorrections} computes.
   */
  readonly corrections: Corrections;
  /** S: where the corrected view looks, camera→world. */
  readonly intended: OrientationTrack;
  /** Whether left and right must be exchanged: with an upside-down mount, whose turn K contains. */
  readonly swapEyes: boolean;
  /** Window that hides every edge of the picture, where any comes into view; for both eyes. */
  readonly mask?: CircularMask;
  /** The rig that was described, if any. */
  readonly rig?: StereoRig;
  /** The picture that limits, figures and mask are for, and that is handed over when nothing is said. */
  readonly picture: Projection;
  /** Cost to the stereo pair, where a rig was described. */
  readonly rigAssessment?: RigAssessment;
  /** Time code of the first frame, where it was given. */
  readonly timecode?: string;
  /** Kind of shot, as given or recognised. */
  readonly shot: Separation['shot'];
  /** How clearly the clip is this kind of shot, 0 to 1; 1 when it was given. */
  readonly confidence: number;
  /** What speaks for the kind of shot, in words. */
  readonly because: string;
  /** Where the tracker stumbled; these stretches are bridged and not the operator's. */
  readonly trackerFaults: readonly TrackerFault[];
  /** Whether somebody walks, and how fast the steps come. */
  readonly gait: Separation['gait'];
  /** What happens in the take: turns, looks, walks, as the person remembers who filmed it. */
  readonly moves: readonly TakeMove[];
  /** Figures before and after correction, and what the correction took. */
  readonly assessment: Assessment;
  /** The take second by second: which parts are usable, which with care, which not, and whose doing that is. */
  readonly stretches: readonly Stretch[];
  /** How long each figure of a moment lies above its thresholds. */
  readonly timesAbove: readonly TimeAbove[];
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
 * Four steps: prepare (C on the frames), steer (S), measure (figures), judge (stretches, whose doing
 * they are, verdict).
 *
 * @param recording - a track, a motion log, or both, at least 3 s; {@link readTrack} and
 *   {@link readMotionLog} make them
 * @param options - how to correct; everything may be left out
 * @returns corrections for every frame (missing frames bridged); cost O(n)
 * @throws TwinkeelError `track/too-short`, `track/too-sparse`, `track/too-long`, `track/gap`,
 *   `argument/invalid`, `rig/invalid`
 * @example
 * const { corrections } = correct(readTrack(csv), { limits: { totalDeg: 10 } });
 * corrections.quaternions.length; // 2884, x, y, z, w for each of 721 frames
 */
export function correct(
  recording: OrientationTrack | Recording,
  options: CorrectOptions = {},
): CorrectionResult {
  checkChoices(options);
  const prepared = prepare(
    'kind' in recording ? recording : { kind: 'track', track: recording },
    options,
  );
  const steered = steer(prepared, options);
  const { levelled, inverted, trackerFaults } = prepared;
  const { intended, separation } = steered;
  const { rig, picture = DEFAULT_PICTURE, timecode } = options;
  const measured = measure(prepared, steered, options);
  const stretches = stamped(blame({ prepared, steered, measured, options }), levelled, timecode);
  const { quaternions, moments, ...figures } = measured;
  const unjudged = {
    corrections: {
      // Copies: whoever changes one part of the result changes no other, nor the track.
      times: levelled.times.slice(),
      quaternions,
      ...(levelled.frames && { frames: levelled.frames.slice() }),
      ...(levelled.frameRate && { frameRate: levelled.frameRate }),
    },
    intended,
    swapEyes: inverted,
    ...figures,
    stretches,
    timesAbove: timesAbove(moments),
    ...(rig && { rig }),
    picture,
    ...(timecode !== undefined && { timecode }),
    shot: separation.shot,
    confidence: separation.confidence,
    because: separation.because,
    gait: separation.gait,
    moves: movesOfTake(separation.intended, prepared.measured, separation.gait),
    trackerFaults,
    warnings: [...prepared.warnings, ...steered.warnings],
  };
  return { ...unjudged, ...judge(unjudged) };
}

/** Stretches with time codes, where that of the first frame is known. */
function stamped(
  stretches: readonly Stretch[],
  { frameRate }: OrientationTrack,
  timecode: string | undefined,
): readonly Stretch[] {
  if (timecode === undefined) return stretches;
  if (frameRate) return withTimecodes(stretches, timecode, frameRate);
  throw new TwinkeelError('argument/invalid', {
    found: `the time code ${timecode} for a clip without an exact frame rate`,
    expected: 'a frame rate such as 60000/1001 beside a time code',
    remedy: 'give the rate, or leave the time code out',
  });
}

/** Values that types forbid but a script may pass. */
function checkChoices(options: CorrectOptions): void {
  const { level = 1, shortestMove = SHORTEST_MOVE, rig } = options;
  requireBetween('a level', level, 0, 1, 'a share from 0 (keep the roll) to 1 (level the horizon)');
  requireBetween(
    'a shortest move',
    shortestMove,
    SHORTEST_MOVES.least,
    SHORTEST_MOVES.most,
    `seconds from ${SHORTEST_MOVES.least} to ${SHORTEST_MOVES.most}`,
  );
  checkWords(options);
  // Also what a program made by hand, past the functions that check.
  if (rig) rigFromValue(rig);
}

function requireBetween(
  what: string,
  value: number,
  least: number,
  most: number,
  expected: string,
): void {
  if (value >= least && value <= most) return;
  throw new TwinkeelError('argument/invalid', {
    found: `${what} of ${value}`,
    expected,
    remedy: 'correct the value',
  });
}

function checkWords({
  shot = 'auto',
  filter = 'structural',
  frameRate,
  picture = DEFAULT_PICTURE,
}: CorrectOptions): void {
  const wrong = !['auto', 'travelling', 'pan', 'locked-off'].includes(shot)
    ? `the shot "${shot}"`
    : filter !== 'structural' && !Object.hasOwn(CLASSIC_FILTERS, filter)
      ? `the filter "${filter}"`
      : frameRate && !isFrameRate(frameRate)
        ? `the frame rate ${JSON.stringify(frameRate)}`
        : !PROJECTIONS.includes(picture)
          ? `the picture "${picture}"`
          : undefined;
  if (wrong === undefined) return;
  throw new TwinkeelError('argument/invalid', {
    found: wrong,
    expected: `shots auto, travelling, pan, locked-off; filters structural, ${Object.keys(CLASSIC_FILTERS).join(', ')}; rates { numerator, denominator } of whole numbers, from 1 to 1000 frames per second; pictures ${PROJECTIONS.join(', ')}`,
    remedy: 'correct the option',
  });
}
