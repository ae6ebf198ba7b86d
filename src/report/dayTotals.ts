import type { StretchVerdict } from '../comfort/stretches.js';
import type { VerdictName } from '../comfort/verdict.js';
import { type ClipData, type FailedClip, isFailed } from './pageData.js';

/** A shoot in numbers. */
export interface DayTotals {
  /** Of all clips, those that could not be read too. */
  readonly clips: number;
  readonly unread: number;
  /** Clips by what to do with them. */
  readonly verdicts: Readonly<Record<VerdictName, number>>;
  /** Seconds by what they are good for, of all clips that were read. */
  readonly seconds: Readonly<Record<StretchVerdict, number>>;
}

/** Counts clips by verdict, and seconds by the verdict of their stretch. */
export function dayTotals(
  clips: readonly (Pick<ClipData, 'name' | 'verdict' | 'stretches'> | FailedClip)[],
): DayTotals {
  const verdicts = { deliver: 0, 'deliver with care': 0, reshoot: 0 };
  const seconds = { usable: 0, 'with care': 0, 'not usable': 0 };
  let unread = 0;
  for (const clip of clips) {
    if (isFailed(clip)) {
      unread++;
      continue;
    }
    verdicts[clip.verdict]++;
    for (const { verdict, fromSeconds, toSeconds } of clip.stretches) {
      seconds[verdict] += toSeconds - fromSeconds;
    }
  }
  return { clips: clips.length, unread, verdicts, seconds };
}
