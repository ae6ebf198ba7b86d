import type { Span } from './spans.js';

/** Root mean square of the force from sample to sample above which a second counts as vibrating, m/s² (our judgement). */
const VIBRATION = 8;

/**
 * Seconds in which the accelerometer vibrates.
 *
 * @param acceleration - m/s², length 3n
 * @param interval - the usual one between samples, s
 */
export function shakenSeconds(
  times: Float64Array,
  acceleration: Float64Array,
  interval: number,
): Span[] {
  const width = Math.max(1, Math.round(1 / interval));
  const spans: Span[] = [];
  let from = -1;
  for (let start = 0; start < times.length; start += width) {
    const end = Math.min(start + width, times.length);
    const mean = squaredSteps(acceleration, start, end) / Math.max(1, end - start - 1);
    const shaken = Math.sqrt(mean) > VIBRATION;
    if (shaken && from < 0) from = start;
    if (!shaken && from >= 0) {
      spans.push({ from: times[from]!, to: times[start - 1]! });
      from = -1;
    }
  }
  if (from >= 0) spans.push({ from: times[from]!, to: times[times.length - 1]! });
  return spans;
}

/** Sum of the squared steps between the samples start…end − 1, all components. */
function squaredSteps(vectors: Float64Array, start: number, end: number): number {
  let sum = 0;
  for (let i = 3 * start + 3; i < 3 * end; i++) {
    const step = vectors[i]! - vectors[i - 3]!;
    sum += step * step;
  }
  return sum;
}
