import { type SampleSpan, type Span, secondsOf } from './spans.js';
import type { ValueRange } from './valueRanges.js';

/** Samples in a row at exactly the largest value that make a flat top. */
const FLAT_TOP = 3;
/** Steps of its resolution that a value must be from zero to stand at the end of a range (our judgement). */
const FEWEST_STEPS = 20;

/**
 * Stretches in which a component stands at the largest or smallest value that it ever has.
 *
 * @param ranges - of the three components
 */
export function clippedStretches(
  times: Float64Array,
  vectors: Float64Array,
  ranges: readonly ValueRange[],
): Span[] {
  const runs: SampleSpan[] = [];
  for (let axis = 0; axis < 3; axis++) {
    const { top, bottom, step } = ranges[axis]!;
    // A log of a few values, or of one, is quantised, not clipped.
    const flat = (end: number) => end !== 0 && Math.abs(end) >= FEWEST_STEPS * step;
    const highest = flat(top) ? top : Number.NaN;
    const lowest = flat(bottom) ? bottom : Number.NaN;
    addRuns(vectors, axis, highest, lowest, runs);
  }
  return secondsOf(times, joined(runs));
}

/** Adds the stretches in which a component has one of two values several times in a row. */
function addRuns(
  vectors: Float64Array,
  axis: number,
  top: number,
  bottom: number,
  runs: SampleSpan[],
): void {
  for (let i = axis; i < vectors.length; i += 3) {
    const value = vectors[i]!;
    if (value !== top && value !== bottom) continue;
    const first = i;
    while (i + 3 < vectors.length && vectors[i + 3] === value) i += 3;
    if (i - first < 3 * (FLAT_TOP - 1)) continue;
    runs.push({ first: (first - axis) / 3, last: (i - axis) / 3 });
  }
}

/** In order, those that overlap or follow each other in one. */
function joined(runs: readonly SampleSpan[]): SampleSpan[] {
  const out: { first: number; last: number }[] = [];
  for (const { first, last } of [...runs].sort((a, b) => a.first - b.first)) {
    const before = out[out.length - 1];
    if (before && first <= before.last + 1) before.last = Math.max(before.last, last);
    else out.push({ first, last });
  }
  return out;
}
