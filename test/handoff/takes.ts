import type { Stretch, StretchVerdict } from '../../src/comfort/stretches.js';
import type { CorrectionResult } from '../../src/correct.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';
import { type FrameRate, frameTime } from '../../src/track/frameRate.js';
import { fc } from '../seed.js';
import { type ResultParts, resultOf } from './results.js';

const STILL: Quaternion = [0, 0, 0, 1];

/** A take between the moonflowers: its verdicts and how many frames each holds. */
export interface Take {
  readonly cuts: readonly (readonly [StretchVerdict, number])[];
  readonly first: number;
}

/** What weighs in a stretch that is not simply usable. */
export const BECAUSE = {
  cause: 'operator',
  figure: 'turning of the view',
  value: 41.234567,
  unit: '°/s',
  threshold: 30,
  source: 'our judgement',
  nextTime: 'turn more slowly',
} as const;

/** A result whose stretches are those of the take. */
export function resultOfTake(
  { cuts, first }: Take,
  rate: FrameRate,
  more: Partial<ResultParts> = {},
): CorrectionResult {
  let at = 0;
  const stretches = cuts.map(([verdict, count]): Stretch => {
    const from = at;
    at += count;
    return {
      ...{ fromFrame: first + from, toFrame: first + at - 1 },
      ...{ fromSeconds: frameTime(rate, from), toSeconds: frameTime(rate, at), verdict },
      ...(verdict !== 'usable' && { because: BECAUSE }),
    };
  });
  const still = Array.from({ length: at }, () => STILL);
  return resultOf({ intended: still, corrections: still, first, rate, stretches, ...more });
}

/** Takes of any stretches at all, one of them usable at least. */
export const anyTakes: fc.Arbitrary<Take> = fc
  .record({
    cuts: fc.array(
      fc.tuple(
        fc.constantFrom<StretchVerdict>('usable', 'with care', 'not usable'),
        fc.integer({ min: 1, max: 90 }),
      ),
      { minLength: 1, maxLength: 9 },
    ),
    first: fc.integer({ min: 0, max: 100000 }),
  })
  .filter(({ cuts }) => cuts.some(([verdict]) => verdict !== 'not usable'));

/**
 * Labels of time code one after the other, by counting up like a clock and leaving out what dropping
 * leaves out: no formula.
 *
 * @param from - hours, minutes, seconds, frames
 */
export function labelsFrom(
  from: readonly [number, number, number, number],
  nominal: number,
  drop: boolean,
  count: number,
): string[] {
  let [hours, minutes, seconds, frames] = from;
  const out: string[] = [];
  while (out.length < count) {
    const left = drop && seconds === 0 && minutes % 10 !== 0 && frames < nominal / 15;
    if (!left) {
      const two = [hours, minutes, seconds, frames].map((part) => String(part).padStart(2, '0'));
      out.push(`${two.slice(0, 3).join(':')}${drop ? ';' : ':'}${two[3]}`);
    }
    frames++;
    if (frames === nominal) [frames, seconds] = [0, seconds + 1];
    if (seconds === 60) [seconds, minutes] = [0, minutes + 1];
    if (minutes === 60) [minutes, hours] = [0, (hours + 1) % 24];
  }
  return out;
}
