import { DEGREES_PER_RADIAN } from '../math.js';
import { angleBetween, type CircularMask } from '../rig/coverage.js';
import type { Vertical } from '../track/orientationTrack.js';
import { CAUTIONS } from './cautions.js';
import { CLIP_CRITERIA, LARGEST_BAD_SHARE, type StretchCause } from './criteria.js';
import type { Assessment } from './figures.js';
import type { RigAssessment } from './rigFigures.js';
import type { Stretch, StretchVerdict } from './stretches.js';

/** What to do with a clip. */
export type VerdictName = 'deliver' | 'deliver with care' | 'reshoot';

/** One thing that speaks against a clip. */
export interface Reason {
  /** What was judged, in words: "tremor (3–12 Hz)". */
  readonly figure: string;
  /** The clip's own figure, in `unit`; of a stretch the largest. */
  readonly value: number;
  /** Unit of value and threshold, such as `°/s` or `%`. */
  readonly unit: string;
  /** The value that was passed. */
  readonly threshold: number;
  /** `care`: look at it; `part`: a part of the take is not usable; `reshoot`: film again. */
  readonly level: 'care' | 'part' | 'reshoot';
  /** Where the threshold comes from: a publication, or our judgement. */
  readonly source: string;
  /** Whose doing it is. */
  readonly cause: StretchCause;
  /** Seconds of the worst stretch; left out where the clip was judged as a whole. */
  readonly fromSeconds?: number;
  /** Seconds of the frame after that stretch. */
  readonly toSeconds?: number;
  /** What other settings would do now, found by trying them. */
  readonly now?: string;
  /** What to do on set next time. */
  readonly nextTime: string;
}

/** A verdict and why; the weightiest reason first. */
export interface Verdict {
  /** `reshoot` where a reason condemns, `deliver` where there is none. */
  readonly verdict: VerdictName;
  /** Every threshold that was passed, the weightiest first. */
  readonly reasons: readonly Reason[];
  /** What holds for every clip, whatever the verdict: {@link CAUTIONS}. */
  readonly cautions: readonly string[];
}

/** What a verdict rests on: parts of a result of `correct`. */
export interface Judged {
  /** The take second by second. */
  readonly stretches: readonly Stretch[];
  /** Figures before and after correction. */
  readonly assessment: Assessment;
  /** Cost to the stereo pair, where a rig was described. */
  readonly rigAssessment?: RigAssessment;
  /** The window that hides edges, where any comes into view. */
  readonly mask?: CircularMask;
  /** The rig, for the angle of the delivered view; 180° when left out. */
  readonly rig?: {
    /** How wide the view is, degrees. */
    readonly outputFieldDeg: number;
  };
  /** How sure the kind of shot is, 0 to 1. */
  readonly confidence: number;
  /** How the vertical of the corrected path is known. */
  readonly intended: Vertical;
}

/** What nobody can judge without a description of the lenses. */
export const JUDGED_WITH_RIG = 'black edges, vertical disparity, up and down';

/** What a vertical that is not known at all counts as, degrees (our judgement). */
const UNKNOWN_VERTICAL = 5;

/** The clip's figures, in the units of their criteria; larger is worse, undefined where there is none. */
const CLIP_FIGURES: Readonly<
  Record<keyof typeof CLIP_CRITERIA, (clip: Judged) => number | undefined>
> = {
  slow: ({ assessment }) => assessment.after.bandRmsDegPerS.slow,
  vertical: ({ intended: { up, upDeviation } }) =>
    upDeviation !== undefined
      ? upDeviation * DEGREES_PER_RADIAN
      : up === 'unknown'
        ? UNKNOWN_VERTICAL
        : undefined,
  // A window beside the middle hides most on the other side.
  hidden: ({ mask, rig }) =>
    mask &&
    Math.max(
      0,
      (rig?.outputFieldDeg ?? 180) / 2 -
        (mask.opaqueFrom - angleBetween(mask.centre, [0, 0, -1])) * DEGREES_PER_RADIAN,
    ),
  upAndDown: ({ rigAssessment }) => rigAssessment?.verticalBob?.visibleDeg,
  bridged: ({ assessment }) => 100 * assessment.bridgedShare,
  doubt: ({ confidence }) => 100 * (1 - confidence),
};

/**
 * Judges a clip by its stretches and by the figures of the whole. More than half of the time not
 * usable condemns it, less asks for care; making any figure worse never makes the verdict better,
 * since each stands alone and the worst decides.
 *
 * @param clip - a result of {@link correct}, or the parts of one
 * @returns the verdict, its reasons and the cautions; none of them is medical advice
 * @example
 * judge(result).verdict; // 'deliver with care'
 */
export function judge(clip: Judged): Verdict {
  const reasons = [...reasonsOfStretches(clip.stretches), ...reasonsOfClip(clip)];
  return {
    verdict: reasons.some(({ level }) => level === 'reshoot')
      ? 'reshoot'
      : reasons.length > 0
        ? 'deliver with care'
        : 'deliver',
    reasons: reasons.sort((a, b) => weight(b) - weight(a)),
    cautions: CAUTIONS,
  };
}

/** Share of a take's time that is good for this, 0 to 1. */
export function shareOfTime(stretches: readonly Stretch[], verdict: StretchVerdict): number {
  let [sum, total] = [0, 0];
  for (const stretch of stretches) {
    const length = stretch.toSeconds - stretch.fromSeconds;
    total += length;
    if (stretch.verdict === verdict) sum += length;
  }
  return total === 0 ? 0 : sum / total;
}

/** One reason for each figure and cause: that of its worst stretch. */
function reasonsOfStretches(stretches: readonly Stretch[]): Reason[] {
  const condemned = shareOfTime(stretches, 'not usable') > LARGEST_BAD_SHARE;
  const worst = new Map<string, Reason>();
  for (const { verdict, because, fromSeconds, toSeconds } of stretches) {
    if (!because) continue;
    const level = verdict !== 'not usable' ? 'care' : condemned ? 'reshoot' : 'part';
    const reason: Reason = { ...because, level, fromSeconds, toSeconds };
    const key = `${because.cause} ${because.figure}`;
    const other = worst.get(key);
    if (!other || weight(reason) > weight(other)) worst.set(key, reason);
  }
  return [...worst.values()];
}

function reasonsOfClip(clip: Judged): Reason[] {
  return Object.entries(CLIP_CRITERIA).flatMap(([name, criterion]): Reason[] => {
    const value = CLIP_FIGURES[name as keyof typeof CLIP_CRITERIA](clip);
    if (value === undefined || !(value > criterion.care)) return [];
    const { bad, care, ...words } = criterion;
    return value > bad
      ? [{ ...words, value, threshold: bad, level: 'reshoot' }]
      : [{ ...words, value, threshold: care, level: 'care' }];
  });
}

const LEVELS = ['care', 'part', 'reshoot'] as const;

/** How much a reason weighs: condemning ones first, then by how far the threshold was passed. */
function weight({ level, value, threshold }: Reason): number {
  return 1e6 * LEVELS.indexOf(level) + value / threshold;
}
