import type { Stretch, StretchCause } from '../comfort/stretches.js';

const CAUSES: Readonly<Record<StretchCause, string>> = {
  operator: 'the operator',
  tracker: 'the tracker',
  settings: 'own settings',
  rig: 'the rig and its distance',
};

/** What may stand with a reason: what helps now, and what to do next time. */
interface Advice {
  readonly now?: string;
  readonly nextTime?: string;
}

/**
 * A stretch in one sentence for an editor: its verdict, the figure against its threshold, whose doing it is.
 *
 * @example
 * stretchSentence(stretch); // 'with care: turning of the view 41.2 °/s (from 30 °/s); caused by the operator'
 */
export function stretchSentence({ verdict, because }: Stretch): string {
  if (!because) return verdict;
  const { cause, figure, value, unit, threshold, now, nextTime }: typeof because & Advice = because;
  return [
    `${verdict}: ${figure} ${rounded(value)} ${unit} (from ${threshold} ${unit}); caused by ${CAUSES[cause] ?? cause}`,
    ...(now ? [`now: ${now}`] : []),
    ...(nextTime ? [`next time: ${nextTime}`] : []),
  ].join('; ');
}

/** Three digits, never with an exponent. */
function rounded(value: number): string {
  return Math.abs(value) >= 100 ? value.toFixed(0) : value.toPrecision(3);
}
