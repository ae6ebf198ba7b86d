import { clamp } from '../math.js';

/**
 * Vectors of one sensor at the times of another: on straight lines between its samples, averaged
 * first over the others' interval where it is sampled more densely. Outside its samples the nearest
 * holds.
 *
 * @param times - seconds, strictly increasing; length n
 * @param vectors - length 3n
 * @param wanted - seconds in the same time base, increasing; length m
 * @returns length 3m
 */
export function vectorsAt(
  times: Float64Array,
  vectors: Float64Array,
  wanted: Float64Array,
): Float64Array {
  const n = times.length;
  const m = wanted.length;
  const interval = (wanted[m - 1]! - wanted[0]!) / Math.max(1, m - 1);
  const own = (times[n - 1]! - times[0]!) / Math.max(1, n - 1);
  const out = new Float64Array(3 * m);
  // The integral of the straight lines, of which a mean over an interval is a difference.
  const dense = own < 0.75 * interval;
  const integral = dense ? integralOf(times, vectors) : undefined;
  const at = { value: [0, 0, 0] as [number, number, number], k: 0 };
  for (let j = 0; j < m; j++) {
    const time = wanted[j]!;
    const from = Math.max(time - interval / 2, times[0]!);
    const to = Math.min(time + interval / 2, times[n - 1]!);
    if (!integral || !(to > from)) {
      linear(times, vectors, time, at);
      out.set(at.value, 3 * j);
      continue;
    }
    integrated(times, vectors, integral, to, at);
    const [x, y, z] = at.value;
    integrated(times, vectors, integral, from, at);
    out[3 * j] = (x - at.value[0]) / (to - from);
    out[3 * j + 1] = (y - at.value[1]) / (to - from);
    out[3 * j + 2] = (z - at.value[2]) / (to - from);
  }
  return out;
}

/** A place among the samples, and a vector there. */
interface Cursor {
  value: [number, number, number];
  k: number;
}

/** Moves the cursor to the interval that holds a time. */
function seek(times: Float64Array, time: number, at: Cursor): void {
  const last = times.length - 1;
  while (at.k < last - 1 && times[at.k + 1]! <= time) at.k++;
  while (at.k > 0 && times[at.k]! > time) at.k--;
}

function linear(times: Float64Array, vectors: Float64Array, time: number, at: Cursor): void {
  seek(times, time, at);
  const { k } = at;
  const h = times[k + 1]! - times[k]!;
  const share = clamp((time - times[k]!) / h, 0, 1);
  for (let axis = 0; axis < 3; axis++) {
    const a = vectors[3 * k + axis]!;
    at.value[axis] = a + share * (vectors[3 * k + 3 + axis]! - a);
  }
}

/** Integral from the first sample to each, by trapezoids. */
function integralOf(times: Float64Array, vectors: Float64Array): Float64Array {
  const out = new Float64Array(vectors.length);
  for (let i = 3; i < vectors.length; i++) {
    const k = Math.floor(i / 3);
    out[i] = out[i - 3]! + ((times[k]! - times[k - 1]!) * (vectors[i]! + vectors[i - 3]!)) / 2;
  }
  return out;
}

function integrated(
  times: Float64Array,
  vectors: Float64Array,
  integral: Float64Array,
  time: number,
  at: Cursor,
): void {
  linear(times, vectors, time, at);
  const { k } = at;
  const h = Math.max(time - times[k]!, 0);
  for (let axis = 0; axis < 3; axis++) {
    const i = 3 * k + axis;
    at.value[axis] = integral[i]! + (h * (vectors[i]! + at.value[axis]!)) / 2;
  }
}
