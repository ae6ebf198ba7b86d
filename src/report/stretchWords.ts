/** What the page says about stretches of a take, and how it writes numbers. */

import type { Stretch } from '../comfort/stretches.js';
import { clockTime } from '../readable.js';
import { CAUSES, stretchWeight } from '../words/verdict.js';
import type { ClipData } from './pageData.js';

/** Minutes and whole seconds, for sums. */
export function minutes(seconds: number): string {
  const whole = Math.round(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}

/** A number as it is set in print, with a minus that is as wide as a plus; none before nothing. */
export function number(value: number, decimals: number): string {
  const text = value.toFixed(decimals);
  return Number(text) === 0 ? text.replace('-', '') : text.replace('-', '−');
}

/** How many decimals a figure of this size deserves. */
export function decimalsFor(value: number): number {
  const size = Math.abs(value);
  return size >= 100 ? 0 : size >= 1 ? 1 : 2;
}

/** A figure with its unit; a degree stands close, any other unit after a space. */
export function amount(value: number, unit: string, decimals = decimalsFor(value)): string {
  return `${number(value, decimals)}${unit === '°' ? '' : '\u00a0'}${unit}`;
}

/** A threshold as it was set. */
export function threshold(value: number, unit: string): string {
  return `${String(value).replace('-', '−')}${unit === '°' ? '' : '\u00a0'}${unit}`;
}

/** The stretches that speak against a clip, the weightiest first. */
export function byWeight(stretches: readonly Stretch[]): Stretch[] {
  return stretches
    .filter(({ because }) => because)
    .sort((a, b) => stretchWeight(b) - stretchWeight(a));
}

/** When a stretch is. */
export function span({ fromSeconds, toSeconds }: Stretch): string {
  return `${clockTime(fromSeconds)}–${clockTime(toSeconds)}`;
}

/** What is wrong with a stretch: the figure without its band of frequencies, and how much. */
export function what({ figure, value, unit }: NonNullable<Stretch['because']>): string {
  return `${figure.replace(/ \([^)]*\)$/, '')} ${amount(value, unit)}`;
}

/** A clip in one sentence: its weightiest stretch, or else what weighs against the whole of it. */
export function sentenceOf({
  stretches,
  reasons,
  verdict,
}: Pick<ClipData, 'stretches' | 'reasons' | 'verdict'>): string {
  const [worst] = byWeight(stretches);
  const [first] = reasons;
  // What condemns the whole clip need not condemn any moment of it.
  const whole = verdict === 'reshoot' && worst?.verdict !== 'not usable';
  if (worst && !(whole && first)) {
    const when = stretches.length === 1 ? 'Throughout' : span(worst);
    return `${when}: ${what(worst.because!)}, caused by ${CAUSES[worst.because!.cause]}.`;
  }
  if (!first) return 'Usable from end to end.';
  return `The clip as a whole, ${first.figure}: ${amount(first.value, first.unit)}.`;
}
