import type { Warning, WarningCode } from '../error.js';

/** A stretch of a log, seconds from the first sample. */
export interface Span {
  /** Seconds from the first sample. */
  readonly from: number;
  /** Seconds from the first sample; after `from`. */
  readonly to: number;
}

/** A stretch of a log by its first and last sample. */
export interface SampleSpan {
  readonly first: number;
  readonly last: number;
}

/** Stretches of samples in seconds. */
export function secondsOf(times: Float64Array, spans: readonly SampleSpan[]): Span[] {
  return spans.map(({ first, last }) => ({ from: times[first]!, to: times[last]! }));
}

/** Spans in order, those that touch joined. */
export function joinedSpans(spans: readonly Span[]): Span[] {
  const out: { from: number; to: number }[] = [];
  for (const { from, to } of [...spans].sort((a, b) => a.from - b.from)) {
    const last = out[out.length - 1];
    if (last && from <= last.to) last.to = Math.max(last.to, to);
    else out.push({ from, to });
  }
  return out;
}

/** One warning for all stretches of a kind; none where there is none. */
export function spanWarning(code: WarningCode, spans: readonly Span[], what: string): Warning[] {
  if (spans.length === 0) return [];
  const shown = spans.slice(0, 5).map(({ from, to }) => `${from.toFixed(2)}–${to.toFixed(2)} s`);
  const more = spans.length > 5 ? ` and ${spans.length - 5} more` : '';
  return [{ code, timeS: spans[0]!.from, message: `${what}: ${shown.join(', ')}${more}` }];
}
