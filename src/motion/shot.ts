import type { AxisConduct } from './axisConduct.js';
import type { Gait } from './gait.js';

/**
 * Kind of shot: walking through or looking about all the time; standing and turning once or a few
 * times; standing still.
 */
export type ShotKind = 'travelling' | 'pan' | 'locked-off';

/** A kind of shot and how clearly it is one, 0 to 1. */
export interface ShotGuess {
  readonly shot: ShotKind;
  readonly confidence: number;
}

/** Gait scores at which a walk is neither seen nor excluded, and how far from there it is clear. */
const UNDECIDED_SCORE = 3.3;
const CLEAR_DISTANCE = 1.5;
/** A clip this long shows what kind it is, s (common practice: 10 s). */
const LONG_ENOUGH = 12;

/**
 * Names the kind of shot from what the axes do.
 *
 * @param conduct - of heading and tilt
 * @param walking - whether the clip is modelled with steps
 * @param duration - s
 */
export function nameShot(
  conduct: { readonly heading: AxisConduct; readonly tilt: AxisConduct },
  walking: boolean,
  gait: Gait,
  duration: number,
): ShotGuess {
  const either = (...kinds: readonly AxisConduct[]) =>
    kinds.includes(conduct.heading) || kinds.includes(conduct.tilt);
  const restless = either('travel', 'looking-about', 'mixed');
  const distance = Math.abs(gait.score - UNDECIDED_SCORE) / CLEAR_DISTANCE;
  const steps = 0.5 + 0.5 * Math.min(1, distance);
  // Looking about makes it travelling whether or not steps are heard; but it is read off size.
  const walks = walking && gait.score > UNDECIDED_SCORE;
  const clarity = restless ? Math.max(0.75, walks ? steps : 0) : steps;
  const length = Math.min(1, duration / LONG_ENOUGH);
  return {
    shot: walks || restless ? 'travelling' : either('moves') ? 'pan' : 'locked-off',
    confidence: clarity * (0.4 + 0.6 * length),
  };
}
