import { median } from '../numeric/quantile.js';
import type { SampleSpan } from './spans.js';
import type { ValueRange } from './valueRanges.js';

/** Fewer samples, or less time, may be straight by chance (our judgement). */
const FEWEST = 8;
const SHORTEST = 0.25;

/** A straight line in text strays from itself by this share of the last digit written. */
const ROUNDING = 1.5;
/** How far above the last digit a sensor's noise must be for a straight line to be unnatural (our judgement). */
const RESOLVED = 4;

/**
 * Stretches whose three components all run along straight lines, or stand still: a logger or a
 * converter has filled in what the sensor did not say. No sensor whose noise its file resolves
 * does that by itself.
 *
 * @param times - seconds, strictly increasing; length n
 * @param vectors - components side by side; length 3n
 * @param ranges - of the three components
 * @param interval - the usual one between samples, s
 */
export function straightStretches(
  times: Float64Array,
  vectors: Float64Array,
  ranges: readonly ValueRange[],
  interval: number,
): SampleSpan[] {
  const n = times.length;
  if (n < 2 * FEWEST) return [];
  const tolerance = new Float64Array(3);
  for (let axis = 0; axis < 3; axis++) {
    const step = resolutionOf(ranges[axis]!);
    const typical = medianBend(times, vectors, axis);
    tolerance[axis] = ROUNDING * step;
    if (!(typical > RESOLVED * step)) return [];
  }
  const fewest = Math.max(FEWEST, Math.ceil(SHORTEST / interval));
  const spans: SampleSpan[] = [];
  let first = -1;
  for (let k = 1; k < n; k++) {
    const straight =
      k < n - 1 &&
      Math.abs(bend(times, vectors, k, 0)) <= tolerance[0]! &&
      Math.abs(bend(times, vectors, k, 1)) <= tolerance[1]! &&
      Math.abs(bend(times, vectors, k, 2)) <= tolerance[2]!;
    if (straight) {
      if (first < 0) first = k - 1;
      continue;
    }
    if (first >= 0 && k - first >= fewest) spans.push({ first, last: k });
    first = -1;
  }
  return spans;
}

/** How far a component lies beside the line through its neighbours. */
function bend(times: Float64Array, vectors: Float64Array, k: number, axis: number): number {
  const before = vectors[3 * k - 3 + axis]!;
  const after = vectors[3 * k + 3 + axis]!;
  const share = (times[k]! - times[k - 1]!) / (times[k + 1]! - times[k - 1]!);
  return vectors[3 * k + axis]! - before - share * (after - before);
}

/** The smallest step between neighbours that is none: the resolution of the file. */
function resolutionOf({ top, bottom, step }: ValueRange): number {
  // Units are converted by a product, which leaves a few units in the last place.
  return Math.max(Number.isFinite(step) ? step : 0, Math.max(top, -bottom) * 2 ** -45);
}

/** Median of the bends over some thousands of samples. */
function medianBend(times: Float64Array, vectors: Float64Array, axis: number): number {
  const n = times.length;
  const stride = Math.max(1, Math.floor(n / 4000));
  const bends: number[] = [];
  for (let k = 1; k < n - 1; k += stride) bends.push(Math.abs(bend(times, vectors, k, axis)));
  return median(bends);
}
