/** The values of one axis of a sensor. */
export interface ValueRange {
  /** The ends of the range, zero included. */
  top: number;
  bottom: number;
  /** The smallest step between neighbours that is none; infinite where nothing changes. */
  step: number;
}

/** Values that are looked at axis by axis: so few of them stay in the fastest memory. */
const BLOCK = 3 * 1024;

/** The ranges of x, y and z; vectors side by side. */
export function valueRanges(vectors: Float64Array): readonly [ValueRange, ValueRange, ValueRange] {
  const ranges = [newRange(), newRange(), newRange()] as const;
  for (let from = 0; from < vectors.length; from += BLOCK) {
    const to = Math.min(from + BLOCK, vectors.length);
    for (let axis = 0; axis < 3; axis++) extendRange(ranges[axis]!, vectors, from + axis, to);
  }
  return ranges;
}

function newRange(): ValueRange {
  return { top: 0, bottom: 0, step: Number.POSITIVE_INFINITY };
}

/** Takes in every third value from `from` on, and the step that led to the first of them. */
function extendRange(range: ValueRange, vectors: Float64Array, from: number, to: number): void {
  let { top, bottom, step } = range;
  let before = vectors[from < 3 ? from : from - 3]!;
  for (let i = from; i < to; i += 3) {
    const value = vectors[i]!;
    if (value > top) top = value;
    if (value < bottom) bottom = value;
    const change = Math.abs(value - before);
    if (change > 0 && change < step) step = change;
    before = value;
  }
  range.top = top;
  range.bottom = bottom;
  range.step = step;
}
