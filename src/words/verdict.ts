/** What speaks for and against a take, in words. */
import type { StretchCause } from '../comfort/criteria.js';
import type { Stretch, StretchVerdict } from '../comfort/stretches.js';
import { JUDGED_WITH_RIG, type Reason } from '../comfort/verdict.js';
import type { CorrectionResult } from '../correct.js';
import type { Warning } from '../error.js';
import { clockTime, percent, withUnit } from '../readable.js';

/** What each cause is called. */
export const CAUSES: Readonly<Record<StretchCause, string>> = {
  operator: 'the operator',
  tracker: 'the tracker',
  settings: 'your settings',
  rig: 'the rig and its distance',
};

/** The verdict and its reasons, a line each and what to do about it. */
export function describeVerdict({
  verdict,
  reasons,
  rig,
}: Pick<CorrectionResult, 'verdict' | 'reasons' | 'rig'>): string[] {
  return [
    `verdict: ${verdict}${reasons.length === 0 ? '' : ', because of'}`,
    ...reasons.flatMap(describeReason),
    ...(rig ? [] : [`  not judged without a rig (--rig): ${JUDGED_WITH_RIG}`]),
  ];
}

function describeReason(reason: Reason): string[] {
  const { figure, value, unit, threshold, source, cause, now, nextTime } = reason;
  const { fromSeconds, toSeconds } = reason;
  const when =
    fromSeconds === undefined || toSeconds === undefined
      ? ''
      : `, at worst ${clockTime(fromSeconds)}–${clockTime(toSeconds)}`;
  return [
    `  ${figure}: ${withUnit(value, unit)}, above ${threshold}${unit === '°' ? '' : ' '}${unit} (${source})${when}; caused by ${CAUSES[cause]}`,
    ...(now === undefined ? [] : [`    now: ${now}`]),
    `    next time: ${nextTime}`,
  ];
}

/** The verdicts of many clips, with what weighs most against each. */
export function verdictTable(
  clips: readonly (Pick<CorrectionResult, 'verdict' | 'reasons'> & { readonly name: string })[],
): string[] {
  const width = Math.max(4, ...clips.map(({ name }) => name.length));
  return [
    `${'clip'.padEnd(width)}  ${'verdict'.padEnd(17)}  weightiest reason`,
    ...clips.map(({ name, verdict, reasons: [first] }) => {
      const why = first ? `${first.figure}: ${withUnit(first.value, first.unit)}` : '–';
      return `${name.padEnd(width)}  ${verdict.padEnd(17)}  ${why}`;
    }),
  ];
}

/** How many stretches are spelled out on the terminal; the result holds them all. */
const SPELLED_OUT = 3;

/** Which parts of a take are usable, and the weightiest of those that are not. */
export function describeStretches({ stretches }: Pick<CorrectionResult, 'stretches'>): string[] {
  const [usable, careful, bad] = (['usable', 'with care', 'not usable'] as const).map((verdict) =>
    spansOf(stretches, verdict),
  );
  const worst = stretches
    .filter(({ because }) => because !== undefined)
    .sort((a, b) => stretchWeight(b) - stretchWeight(a))
    .slice(0, SPELLED_OUT)
    .sort((a, b) => a.fromSeconds - b.fromSeconds);
  return [
    [
      `usable: ${usable!.length === 0 ? 'nothing without care' : usable!.join(', ')}`,
      ...(careful!.length === 0 ? [] : [`with care: ${careful!.join(', ')}`]),
      ...(bad!.length === 0 ? [] : [`not usable: ${bad!.join(', ')}`]),
    ].join('; '),
    ...worst.map((stretch) => `  ${describeStretch(stretch)}`),
  ];
}

/** One stretch: when, what it is good for, why, and whose doing that is. */
function describeStretch(stretch: Stretch): string {
  const { fromSeconds, toSeconds, fromFrame, toFrame } = stretch;
  const when = `${clockTime(fromSeconds)}–${clockTime(toSeconds)}`;
  const code = stretch.fromTimecode ? `, ${stretch.fromTimecode}–${stretch.toTimecode}` : '';
  return `${when} (frames ${fromFrame}–${toFrame}${code}) ${stretchSentence(stretch)}`;
}

/** What a stretch is good for, the figure against its threshold, and whose doing it is. */
export function stretchSentence({ verdict, because }: Stretch): string {
  if (!because) return verdict;
  const { cause, figure, value, unit, threshold } = because;
  return `${verdict}: ${figure} ${withUnit(value, unit)} (from ${threshold}${unit === '°' ? '' : ' '}${unit}); caused by ${CAUSES[cause]}`;
}

/** The same with what helps now and what to do next time, for whoever reads it away from the verdict. */
export function stretchSentenceWithAdvice(stretch: Stretch): string {
  const { now, nextTime } = stretch.because ?? {};
  return [
    stretchSentence(stretch),
    ...(now ? [`now: ${now}`] : []),
    ...(nextTime ? [`next time: ${nextTime}`] : []),
  ].join('; ');
}

/** Neighbouring stretches of one verdict as one span of time. */
function spansOf(stretches: readonly Stretch[], verdict: StretchVerdict): string[] {
  const spans: [number, number][] = [];
  for (const { verdict: own, fromSeconds, toSeconds } of stretches) {
    if (own !== verdict) continue;
    const last = spans[spans.length - 1];
    if (last?.[1] === fromSeconds) last[1] = toSeconds;
    else spans.push([fromSeconds, toSeconds]);
  }
  return spans.map(([from, to]) => `${clockTime(from)}–${clockTime(to)}`);
}

/**
 * How much a stretch weighs for a person: what is not usable first, then what an operator, a tracker or a
 * setting did before what the rig makes of it, then by how far the threshold was passed.
 */
export function stretchWeight({ verdict, because }: Stretch): number {
  if (!because) return 0;
  const { cause, value, threshold } = because;
  return (verdict === 'not usable' ? 2e6 : 0) + (cause === 'rig' ? 0 : 1e6) + value / threshold;
}

/** How long the view lies above thresholds: the figures that do so at all. */
export function describeTimesAbove({ timesAbove }: Pick<CorrectionResult, 'timesAbove'>): string[] {
  return timesAbove
    .filter(({ shareAboveCare }) => shareAboveCare > 0)
    .map(({ figure, unit, care, bad, shareAboveCare, shareAboveBad }) => {
      const above = (limit: number, share: number) =>
        `above ${withUnit(limit, unit)} for ${percent(share)} of the time`;
      const more = shareAboveBad > 0 ? `, ${above(bad, shareAboveBad)}` : '';
      return `${figure}: ${above(care, shareAboveCare)}${more}`;
    });
}

/** Warnings, one line each. */
export function describeWarnings(warnings: readonly Warning[]): string[] {
  return warnings.map(({ message }) => `note: ${message}`);
}
