import { DEGREES_PER_RADIAN } from '../math.js';
import { angleBetween, type CircularMask } from '../rig/coverage.js';
import type { UpSource } from '../track/orientationTrack.js';
import { CAUTIONS } from './cautions.js';
import type { Assessment } from './figures.js';
import type { RigAssessment } from './rigFigures.js';

/** What to do with a clip. */
export type VerdictName = 'deliver' | 'deliver with care' | 'reshoot';

/** One thing that speaks against a clip. */
export interface Reason {
  /** What was judged, in words: "tremor (3–12 Hz), after correction". */
  readonly figure: string;
  /** The clip's own figure, in `unit`. */
  readonly value: number;
  /** Unit of value and threshold, such as `°/s` or `%`. */
  readonly unit: string;
  /** The value that was passed. */
  readonly threshold: number;
  /** `care`: deliver with care; `reshoot`: film again. */
  readonly level: 'care' | 'reshoot';
  /** Where the threshold comes from: a publication, or our judgement. */
  readonly source: string;
  /** What to do on set next time. */
  readonly nextTime: string;
}

/** A verdict and why; the weightiest reason first. */
export interface Verdict {
  /** The worst level of all reasons; `deliver` where there is none. */
  readonly verdict: VerdictName;
  /** Every threshold that was passed, the weightiest first. */
  readonly reasons: readonly Reason[];
  /** What holds for every clip, whatever the verdict: {@link CAUTIONS}. */
  readonly cautions: readonly string[];
}

/** What a verdict rests on: parts of a result of `correct`. */
export interface Judged {
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
  readonly intended: {
    /** Where the vertical comes from. */
    readonly up: UpSource;
    /** Its standard deviation, rad, where it was estimated. */
    readonly upDeviation?: number;
  };
}

/** One criterion: above `care` it counts, above `reshoot` it condemns. */
interface Criterion {
  readonly figure: string;
  readonly unit: string;
  /** Larger is worse; undefined where a clip has no such figure. */
  readonly value: (clip: Judged) => number | undefined;
  readonly care: number;
  readonly reshoot: number;
  readonly source: string;
  readonly nextTime: string;
}

/** What nobody can judge without a description of the lenses. */
export const JUDGED_WITH_RIG = 'black edges, vertical disparity, up and down';

const JUDGEMENT = 'our judgement';
const percent = (share: number) => 100 * share;

/**
 * Every criterion. No standard gives a limit for seen rotation; thresholds marked as our judgement
 * say where we would look twice, no more.
 */
const CRITERIA: readonly Criterion[] = [
  {
    figure: 'time spent turning faster than 60 °/s, after correction',
    unit: '%',
    value: ({ assessment }) => percent(assessment.after.shareAbove60),
    care: 1,
    reshoot: 10,
    source:
      'Hu, Stern, Vasey and Koch 1989: symptoms were strongest at 60 °/s; the shares are our judgement',
    nextTime: 'turn more slowly: a quarter turn in three seconds or more',
  },
  {
    figure: 'time spent turning faster than 30 °/s, after correction',
    unit: '%',
    value: ({ assessment }) => percent(assessment.after.shareAbove30),
    care: 10,
    reshoot: 40,
    source:
      'Lo and So 2001: 30 °/s about any axis raised nausea within 20 minutes; the shares are our judgement',
    nextTime: 'turn more slowly and less often; let the viewer turn the head instead',
  },
  {
    figure: 'slow turning and swaying (0.1–0.5 Hz), after correction',
    unit: '°/s',
    value: ({ assessment }) => assessment.after.bandRmsDegPerS.slow,
    care: 12,
    reshoot: 30,
    source:
      'Diels and Howarth 2013: seen motion sickens most at 0.2–0.4 Hz; the rates are our judgement',
    nextTime: 'walk straighter and look about less; hold the rig closer to the body’s middle',
  },
  {
    figure: 'shake at the pace of steps (0.5–3 Hz), after correction',
    unit: '°/s',
    value: ({ assessment }) => assessment.after.bandRmsDegPerS.steps,
    care: 3,
    reshoot: 10,
    source: JUDGEMENT,
    nextTime: 'walk more softly with bent knees, or put the rig on a gimbal',
  },
  {
    figure: 'tremor (3–12 Hz), after correction',
    unit: '°/s',
    value: ({ assessment }) => assessment.after.bandRmsDegPerS.tremor,
    care: 1.5,
    reshoot: 6,
    source: JUDGEMENT,
    nextTime: 'hold the rig with both hands, add weight, or tune the gimbal',
  },
  {
    figure: 'step bob, after correction',
    unit: '°',
    value: ({ assessment }) => assessment.after.bobDeg,
    care: 0.15,
    reshoot: 0.8,
    source: JUDGEMENT,
    nextTime: 'give the correction more room: a wider lens or a looser limit',
  },
  {
    figure: 'horizon off level, after correction',
    unit: '°',
    value: ({ assessment }) => assessment.after.horizonRmsDeg,
    care: 1,
    reshoot: 5,
    source: JUDGEMENT,
    nextTime: 'level the rig before the take, and keep an accelerometer in the log',
  },
  {
    figure: 'doubt about the vertical, one standard deviation',
    unit: '°',
    value: ({ intended: { up, upDeviation } }) =>
      upDeviation === undefined
        ? up === 'unknown'
          ? UNKNOWN_VERTICAL
          : undefined
        : upDeviation * DEGREES_PER_RADIAN,
    care: 1,
    reshoot: 10,
    source: JUDGEMENT,
    nextTime: 'log an accelerometer beside the gyro, or note a moment at which the rig stood level',
  },
  {
    figure: 'vertical disparity at the nearest subject, worst of all frames',
    unit: 'arcmin',
    value: ({ rigAssessment }) => rigAssessment?.worstDisparityArcmin,
    care: 5,
    reshoot: 20,
    source:
      'Qin, Takamatsu and Nakashima 2006: vertical fusion at the fovea ends at 19 to 26 arcmin; below 5 is our judgement',
    nextTime: 'keep the rig from rolling, and subjects further away',
  },
  {
    figure: 'view hidden by the mask: degrees missing of its half field',
    unit: '°',
    // A window beside the middle hides most on the other side.
    value: ({ mask, rig }) =>
      mask &&
      Math.max(
        0,
        (rig?.outputFieldDeg ?? 180) / 2 -
          (mask.opaqueFrom - angleBetween(mask.centre, [0, 0, -1])) * DEGREES_PER_RADIAN,
      ),
    care: 5,
    reshoot: 30,
    source: JUDGEMENT,
    nextTime: 'point the rig where the view shall look, and use a lens with more margin',
  },
  {
    figure: 'frames at which a limit left some shake in',
    unit: '%',
    value: ({ assessment }) => percent(assessment.limitedShare),
    care: 5,
    reshoot: 60,
    source: JUDGEMENT,
    nextTime:
      'move more evenly and hold the rig level; more distance, or a lens with more margin, gives room',
  },
  {
    figure: 'up and down that no rotation cures, at the nearest subject',
    unit: '°',
    value: ({ rigAssessment }) => rigAssessment?.verticalBob?.visibleDeg,
    care: 1,
    reshoot: 4,
    source: JUDGEMENT,
    nextTime: 'keep subjects two metres away or more, bend the knees, use a sprung arm',
  },
  {
    figure: 'frames without a sample of their own',
    unit: '%',
    value: ({ assessment }) => percent(assessment.bridgedShare),
    care: 2,
    reshoot: 30,
    source: JUDGEMENT,
    nextTime: 'track again with more features, or log a gyro beside the picture',
  },
  {
    figure: 'doubt about the kind of shot',
    unit: '%',
    value: ({ confidence }) => percent(1 - confidence),
    care: 50,
    reshoot: Number.POSITIVE_INFINITY,
    source: JUDGEMENT,
    nextTime: 'say the kind yourself (--shot), or mark what is meant (--markers)',
  },
];

/** What a vertical that is not known at all counts as, degrees (our judgement). */
const UNKNOWN_VERTICAL = 5;

/**
 * Judges a clip by its figures. Making any figure worse never makes the verdict better, since each
 * criterion stands alone and the worst decides.
 *
 * @param clip - a result of {@link correct}, or the parts of one
 * @returns the verdict, its reasons and the cautions; none of them is medical advice
 * @example
 * judge(result).verdict; // 'deliver with care'
 */
export function judge(clip: Judged): Verdict {
  const reasons = CRITERIA.flatMap((criterion): Reason[] => {
    const value = criterion.value(clip);
    if (value === undefined || !(value > criterion.care)) return [];
    const level = value > criterion.reshoot ? 'reshoot' : 'care';
    const { figure, unit, source, nextTime } = criterion;
    return [{ figure, value, unit, threshold: criterion[level], level, source, nextTime }];
  });
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

/** How much a reason weighs: condemning ones first, then by how far the threshold was passed. */
function weight({ level, value, threshold }: Reason): number {
  return (level === 'reshoot' ? 1e6 : 0) + value / threshold;
}
