/**
 * Every threshold that a take is judged by, once. No standard gives a limit for the rotation that a
 * viewer sees; a threshold of our judgement says where we would look twice, no more.
 */

/** Whose doing something is. */
export type StretchCause = 'operator' | 'tracker' | 'settings' | 'rig';

/** One thing that is judged: above `care` with care, above `bad` not usable. */
export interface Criterion {
  /** What is judged, in words. */
  readonly figure: string;
  /** Of value and thresholds. */
  readonly unit: string;
  readonly care: number;
  readonly bad: number;
  /** Where the thresholds come from. */
  readonly source: string;
  /** Whose doing it is where a trial finds no setting at fault. */
  readonly cause: StretchCause;
  /** What to do on set next time. */
  readonly nextTime: string;
}

const JUDGEMENT = 'our judgement';

/**
 * Vertical disparity at the nearest subject, arcmin. Fusion at the fovea ends at 19 to 26 (Qin,
 * Takamatsu and Nakashima 2006); half of that asks for care, and a correction keeps to three quarters
 * where nothing else is said (our judgement).
 */
export const VERTICAL_DISPARITY = { care: 10, bad: 20, limit: 15 } as const;
const DISPARITY_SOURCE =
  'Qin, Takamatsu and Nakashima 2006: vertical fusion at the fovea ends at 19 to 26 arcmin; half of that for care is our judgement';

/**
 * What lenses for a view of 180° see beyond it on each side, degrees: fields of 190° to 200° leave 5 to
 * 10 (common practice, no source); the smaller is counted on where no rig is described.
 */
export const COMMON_MARGIN_DEG = 5;
/** Degrees of the view's edge that a mask may hide. */
const HIDDEN = { care: 5, bad: 30 } as const;

/** What is judged at every moment, that is averaged over about a second. */
export const MOMENT_CRITERIA = {
  turning: {
    figure: 'turning of the view',
    unit: '°/s',
    ...{ care: 30, bad: 60, cause: 'operator' },
    source:
      'Lo and So 2001: 30 °/s about any axis raised nausea within 20 minutes; Hu, Stern, Vasey and Koch 1989: symptoms were strongest at 60 °/s',
    nextTime:
      'turn more slowly, a quarter turn in three seconds or more; let the viewer turn instead',
  },
  steps: {
    figure: 'shake at the pace of steps (0.5–3 Hz)',
    unit: '°/s',
    ...{ care: 3, bad: 10, cause: 'operator', source: JUDGEMENT },
    nextTime: 'walk more softly with bent knees, or put the rig on a gimbal',
  },
  bob: {
    figure: 'step bob',
    unit: '°',
    ...{ care: 0.15, bad: 0.8, cause: 'operator', source: JUDGEMENT },
    nextTime: 'give the correction more room: a wider lens or a looser limit',
  },
  jolt: {
    figure: 'jolt of the camera as filmed, whose shift and blur no rotation cures',
    unit: '°',
    ...{ care: 12, bad: 40, cause: 'operator', source: JUDGEMENT },
    nextTime: 'place the feet with care, walk the way once before the take, take a spotter along',
  },
  tremor: {
    figure: 'tremor (3–12 Hz)',
    unit: '°/s',
    ...{ care: 1.5, bad: 6, cause: 'operator', source: JUDGEMENT },
    nextTime: 'hold the rig with both hands, add weight, or tune the gimbal',
  },
  horizon: {
    figure: 'horizon off level',
    unit: '°',
    ...{ care: 2, bad: 8, cause: 'operator', source: JUDGEMENT },
    nextTime: 'level the rig before the take, and keep an accelerometer in the log',
  },
  tracker: {
    figure: 'stumble of the tracker',
    unit: 's',
    ...{ care: 0.2, bad: 1, cause: 'tracker', source: JUDGEMENT },
    nextTime: 'track again with more features and light, or log a gyro beside the picture',
  },
  disparity: {
    figure: 'vertical disparity at the nearest subject',
    unit: 'arcmin',
    ...{ ...VERTICAL_DISPARITY, cause: 'rig', source: DISPARITY_SOURCE },
    nextTime: 'keep the rig from rolling, and subjects further away',
  },
  assumedDisparity: {
    figure: 'vertical disparity, were the rig a common one',
    unit: 'arcmin',
    // With a rig the correction would have kept below, and the horizon would lie off instead: by the 8° that
    // are not usable where a level one would cost twice of what ends fusion.
    ...{ care: VERTICAL_DISPARITY.care, bad: 2 * VERTICAL_DISPARITY.bad, cause: 'rig' },
    source: `lenses 64 mm apart, subjects at 1 m (our judgement); ${DISPARITY_SOURCE}`,
    nextTime: 'describe the rig (--rig), so that the correction keeps within what the eyes bear',
  },
  assumedSwing: {
    figure: 'turn of the optical axis, beyond the 5° that common lenses see past the view',
    unit: '°',
    care: COMMON_MARGIN_DEG,
    bad: COMMON_MARGIN_DEG + HIDDEN.bad,
    ...{ cause: 'rig', source: JUDGEMENT },
    nextTime: 'describe the rig (--rig), so that the correction keeps black edges out of the view',
  },
} as const satisfies Readonly<Record<string, Criterion>>;

/** What is judged of the clip as a whole. */
export const CLIP_CRITERIA = {
  slow: {
    figure: 'slow turning and swaying (0.1–0.5 Hz), after correction',
    unit: '°/s',
    // One fast turn fills this band; which seconds of it are not usable is told by the turning.
    ...{ care: 12, bad: Number.POSITIVE_INFINITY, cause: 'operator' },
    source:
      'Diels and Howarth 2013: seen motion sickens most at 0.2–0.4 Hz; the rates are our judgement',
    nextTime: 'walk straighter and look about less; hold the rig closer to the body’s middle',
  },
  vertical: {
    figure: 'doubt about the vertical, one standard deviation',
    unit: '°',
    ...{ care: 1, bad: 10, cause: 'tracker', source: JUDGEMENT },
    nextTime: 'log an accelerometer beside the gyro, or note a moment at which the rig stood level',
  },
  hidden: {
    figure: 'view hidden by the mask: degrees missing of its half field',
    unit: '°',
    ...{ ...HIDDEN, cause: 'rig', source: JUDGEMENT },
    nextTime: 'point the rig where the view shall look, and use a lens with more margin',
  },
  upAndDown: {
    figure: 'up and down that no rotation cures, at the nearest subject',
    unit: '°',
    ...{ care: 1, bad: 4, cause: 'operator', source: JUDGEMENT },
    nextTime: 'keep subjects two metres away or more, bend the knees, use a sprung arm',
  },
  bridged: {
    figure: 'frames without a sample of their own',
    unit: '%',
    ...{ care: 2, bad: 30, cause: 'tracker', source: JUDGEMENT },
    nextTime: 'track again with more features, or log a gyro beside the picture',
  },
  doubt: {
    figure: 'doubt about the kind of shot',
    unit: '%',
    ...{ care: 50, bad: Number.POSITIVE_INFINITY, cause: 'settings', source: JUDGEMENT },
    nextTime: 'say the kind yourself (--shot), or mark what is meant (--markers)',
  },
} as const satisfies Readonly<Record<string, Criterion>>;

/** A take of which more than this share of the time is not usable is to be filmed again (our judgement). */
export const LARGEST_BAD_SHARE = 0.5;
