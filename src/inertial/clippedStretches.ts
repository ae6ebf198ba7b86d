import type { Span } from './spans.js';
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
  const clipped = new Uint8Array(times.length);
  let some = false;
  for (let axis = 0; axis < 3; axis++) {
    const { top, bottom, step } = ranges[axis]!;
    // A log of a few values, or of one, is quantised, not clipped.
    const flat = (end: number) => end !== 0 && Math.abs(end) >= FEWEST_STEPS * step;
    const highest = flat(top) ? top : Number.NaN;
    const lowest = flat(bottom) ? bottom : Number.NaN;
    some = markRuns(vectors, axis, highest, lowest, clipped) || some;
  }
  return some ? markedSpans(times, clipped) : [];
}

/** Marks the samples at which a component has one of two values several times in a row. */
function markRuns(
  vectors: Float64Array,
  axis: number,
  top: number,
  bottom: number,
  marks: Uint8Array,
): boolean {
  let marked = false;
  let before = Number.NaN;
  let run = 0;
  for (let i = axis, k = 0; i < vectors.length; i += 3, k++) {
    const value = vectors[i]!;
    if (value === top || value === bottom) {
      run = value === before ? run + 1 : 1;
      if (run === FLAT_TOP) {
        marks.fill(1, k + 1 - FLAT_TOP, k + 1);
        marked = true;
      } else if (run > FLAT_TOP) marks[k] = 1;
    }
    before = value;
  }
  return marked;
}

function markedSpans(times: Float64Array, marks: Uint8Array): Span[] {
  const spans: Span[] = [];
  let first = marks.indexOf(1);
  while (first >= 0) {
    const next = marks.indexOf(0, first);
    const end = next < 0 ? marks.length : next;
    spans.push({ from: times[first]!, to: times[end - 1]! });
    first = marks.indexOf(1, end);
  }
  return spans;
}
