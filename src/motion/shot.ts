import type { AxisConduct } from './axisConduct.js';

/**
 * Kind of shot: walking through or looking about all the time; standing and turning once or a few
 * times; standing still.
 */
export type ShotKind = 'travelling' | 'pan' | 'locked-off';

/** A kind of shot, how clearly it is one, and what speaks for it. */
export interface ShotGuess {
  readonly shot: ShotKind;
  /** 0 to 1. */
  readonly confidence: number;
  /** In words, such as "steps at 1.9 per second". */
  readonly because: string;
}

/** What the shot is named from. */
export interface ShotEvidence {
  /** Of heading and tilt. */
  readonly conduct: { readonly heading: AxisConduct; readonly tilt: AxisConduct };
  /** Share of the time that the view never rests, 0 to 1. */
  readonly restlessShare: number;
  /** Moves after which the view rests, heading and tilt together. */
  readonly moves: number;
  readonly walking: boolean;
  /** Steps per second, Hz. */
  readonly stepFrequency: number;
  /** How far the steps stand above or below where a walk is neither seen nor excluded: 1 is clear. */
  readonly stepClarity: number;
  /** Seconds. */
  readonly duration: number;
}

/** A clip this long shows what kind it is, s (our judgement). */
const LONG_ENOUGH = 12;

/** Names the kind of shot from what the axes do, and says what speaks for it. */
export function nameShot(evidence: ShotEvidence): ShotGuess {
  const { conduct, restlessShare, moves, walking, stepFrequency, stepClarity, duration } = evidence;
  const either = (...kinds: readonly AxisConduct[]) =>
    kinds.includes(conduct.heading) || kinds.includes(conduct.tilt);
  const restless = either('travel', 'looking-about', 'mixed');
  const steps = 0.5 + 0.5 * Math.min(1, Math.abs(stepClarity));
  const length = Math.min(1, duration / LONG_ENOUGH);
  const seen = `steps at ${stepFrequency.toFixed(1)} per second`;
  const looks = either('travel')
    ? 'the view turns nearly all the time'
    : `the view never rests for ${Math.round(100 * restlessShare)} % of the time`;
  const named = (shot: ShotKind, clarity: number, because: string): ShotGuess => ({
    shot,
    confidence: clarity * (0.4 + 0.6 * length),
    because,
  });
  if (walking) return named('travelling', steps, restless ? `${seen}, and ${looks}` : seen);
  if (restless) {
    // Half the time restless is a toss-up between looking about and resting now and then.
    const clarity = either('travel') ? 0.75 : 0.5 + 0.5 * restlessShare;
    return named('travelling', clarity, `${looks}, though no steps were found`);
  }
  if (either('moves')) {
    const count = `${moves} move${moves === 1 ? '' : 's'} with rests before and after`;
    return named('pan', steps, `${count}, and no steps`);
  }
  return named('locked-off', steps, 'no move beyond the sway of a body, and no steps');
}
