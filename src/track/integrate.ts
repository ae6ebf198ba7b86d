import { alignSignsInPlace } from '../rotation/arrays.js';
import { IDENTITY, type Quaternion } from '../rotation/quaternion.js';
import { halfCosine, halfSineOverAngle } from '../rotation/rotationVector.js';

/**
 * What a row of a log says about time: the rate at the instant of its stamp, or its mean over the
 * interval that ends there. Sensors filter and decimate, so their rows come close to the second.
 */
export type RateSampling = 'instant' | 'interval';

/**
 * Rotation vectors from each sample to the next, fourth order in the interval h for evenly spaced
 * samples, second order otherwise. The coning term is what a rate that changes direction adds to
 * the sum of its parts.
 *
 * `instant`: the four-point rule h (−ω₋₁ + 13 ω₀ + 13 ω₁ − ω₂)/24 (the trapezoid at ends and uneven
 * spacing) plus h²/12 ω₀ × ω₁. `interval`: φ = h ω₁ plus h²/12 ω₀ × ω₁.
 *
 * @param times - seconds, strictly increasing; length n
 * @param rate - angular rate about the body's axes, rad/s; length 3n
 * @param sampling - what a row says about time
 * @returns rad; length 3(n − 1)
 * @see Bortz, "A new mathematical formulation for strapdown inertial navigation", IEEE Trans.
 *   Aerospace and Electronic Systems 7(1), 1971, eq. (9), integrated for a linear rate; Savage,
 *   "Strapdown inertial navigation integration algorithm design part 1", J. Guidance, Control, and
 *   Dynamics 21(1), 1998, for increments (both from memory)
 * @example
 * const steady = Float64Array.of(0, 0.4, 0, 0, 0.4, 0); // rad/s, to the left
 * rotationIncrements(Float64Array.of(0, 0.5), steady); // [0, 0.2, 0] rad
 */
export function rotationIncrements(
  times: Float64Array,
  rate: Float64Array,
  sampling: RateSampling = 'instant',
): Float64Array {
  const out = new Float64Array(3 * (times.length - 1));
  writeIncrements(times, rate, sampling, 0, times.length - 1, out);
  return out;
}

/** {@link rotationIncrements} of the intervals `from` to `to` − 1; the first of them becomes the first of `out`. */
export function writeIncrements(
  times: Float64Array,
  rate: Float64Array,
  sampling: RateSampling,
  from: number,
  to: number,
  out: Float64Array,
): void {
  RULES[sampling](times, rate, from, to, out);
}

/** Writes the increments of intervals `from` to `to` − 1; the first of them becomes the first of `out`. */
type IncrementRule = (
  times: Float64Array,
  rate: Float64Array,
  from: number,
  to: number,
  out: Float64Array,
) => void;

const RULES: Readonly<Record<RateSampling, IncrementRule>> = {
  instant: incrementsFromInstants,
  interval: incrementsFromMeans,
};

function incrementsFromMeans(
  times: Float64Array,
  rate: Float64Array,
  from: number,
  to: number,
  out: Float64Array,
): void {
  for (let k = from, i = 3 * from, o = 0; k < to; k++, i += 3, o += 3) {
    const h = times[k + 1]! - times[k]!;
    const ax = rate[i]!;
    const ay = rate[i + 1]!;
    const az = rate[i + 2]!;
    const bx = rate[i + 3]!;
    const by = rate[i + 4]!;
    const bz = rate[i + 5]!;
    const coning = h * h * (1 / 12);
    out[o] = h * bx + coning * (ay * bz - az * by);
    out[o + 1] = h * by + coning * (az * bx - ax * bz);
    out[o + 2] = h * bz + coning * (ax * by - ay * bx);
  }
}

function incrementsFromInstants(
  times: Float64Array,
  rate: Float64Array,
  from: number,
  to: number,
  out: Float64Array,
): void {
  const n = times.length;
  for (let k = from, i = 3 * from, o = 0; k < to; k++, i += 3, o += 3) {
    const h = times[k + 1]! - times[k]!;
    const ax = rate[i]!;
    const ay = rate[i + 1]!;
    const az = rate[i + 2]!;
    const bx = rate[i + 3]!;
    const by = rate[i + 4]!;
    const bz = rate[i + 5]!;
    const coning = h * h * (1 / 12);
    out[o] = (h / 2) * (ax + bx) + coning * (ay * bz - az * by);
    out[o + 1] = (h / 2) * (ay + by) + coning * (az * bx - ax * bz);
    out[o + 2] = (h / 2) * (az + bz) + coning * (ax * by - ay * bx);
    if (k === 0 || k + 2 >= n) {
      addEndRule(times, rate, k, out, o);
      continue;
    }
    const before = times[k]! - times[k - 1]!;
    const after = times[k + 2]! - times[k + 1]!;
    if (Math.abs(before - h) > EVEN * h || Math.abs(after - h) > EVEN * h) continue;
    // h (−ω₋₁ + ω₀ + ω₁ − ω₂)/24 turns the trapezoid into the four-point rule.
    out[o]! += (h / 24) * (ax + bx - rate[i - 3]! - rate[i + 6]!);
    out[o + 1]! += (h / 24) * (ay + by - rate[i - 2]! - rate[i + 7]!);
    out[o + 2]! += (h / 24) * (az + bz - rate[i - 1]! - rate[i + 8]!);
  }
}

/** h (−3ω₀ + 7ω₁ − 5ω₂ + ω₃)/24, counted from the end, turns the trapezoid into (9, 19, −5, 1)/24. */
function addEndRule(
  times: Float64Array,
  rate: Float64Array,
  k: number,
  out: Float64Array,
  o: number,
): void {
  const n = times.length;
  if (n < 4) return;
  const inward = k === 0 ? 1 : -1;
  const first = k === 0 ? 0 : n - 1;
  const h = times[k + 1]! - times[k]!;
  for (let j = 1; j < 3; j++) {
    const gap = Math.abs(times[first + inward * (j + 1)]! - times[first + inward * j]!);
    if (Math.abs(gap - h) > EVEN * h) return;
  }
  for (let axis = 0; axis < 3; axis++) {
    const at = (j: number) => rate[3 * (first + inward * j) + axis]!;
    out[o + axis]! += (h / 24) * (-3 * at(0) + 7 * at(1) - 5 * at(2) + at(3));
  }
}

/** Neighbouring intervals that differ by less than this share are treated as equal. */
const EVEN = 0.02;

/** Intervals whose increments are computed at a time: 12 kB of them. */
const BLOCK = 512;

/**
 * Orientations that follow from angular rates alone. Any constant error of the rate grows without
 * bound; use {@link index!orientLog} for a track that stays level.
 *
 * @param rate - angular rate about the body's axes, rad/s; length 3n
 * @param times - seconds, strictly increasing; length n
 * @param start - orientation at the first sample, body→world
 * @param sampling - what a row says about time
 * @returns unit quaternions x, y, z, w, body→world; length 4n
 * @example
 * const steady = Float64Array.of(0, 0.4, 0, 0, 0.4, 0); // rad/s, to the left
 * integrateRate(Float64Array.of(0, 0.5), steady); // [0, 0, 0, 1, 0, 0.0998, 0, 0.9950]
 */
export function integrateRate(
  times: Float64Array,
  rate: Float64Array,
  start: Quaternion = IDENTITY,
  sampling: RateSampling = 'instant',
): Float64Array {
  const out = new Float64Array(4 * times.length);
  const side = start[3] < 0 ? -1 : 1;
  for (let i = 0; i < 4; i++) out[i] = side * start[i]! + 0;
  // Increments wait in a short buffer, which stays in the processor's cache.
  const steps = new Float64Array(3 * BLOCK);
  const count = times.length - 1;
  let continuous = true;
  for (let k = 0; k < count; k += BLOCK) {
    const end = Math.min(k + BLOCK, count);
    RULES[sampling](times, rate, k, end, steps);
    continuous = turnBySteps(steps, end - k, out, k) && continuous;
  }
  if (!continuous) alignSignsInPlace(out);
  return out;
}

/**
 * Turns an orientation by one rotation vector after the other, q ← q Exp(v), about the body's axes:
 * the step that everything with a gyroscope rests on.
 *
 * @param steps - rotation vectors, rad
 * @param count - how many of them
 * @param path - quaternions; the one at `at` is turned, those behind it receive what comes of it
 * @returns whether signs are continuous: no step goes beyond 180°
 */
export function turnBySteps(
  steps: Float64Array,
  count: number,
  path: Float64Array,
  at: number,
): boolean {
  let o = 4 * at;
  let x = path[o]!;
  let y = path[o + 1]!;
  let z = path[o + 2]!;
  let w = path[o + 3]!;
  let least = 1;
  let scale = 1.5 - 0.5 * (x * x + y * y + (z * z + w * w));
  for (let i = 0; i < 3 * count; i += 3) {
    o += 4;
    const vx = steps[i]!;
    const vy = steps[i + 1]!;
    const vz = steps[i + 2]!;
    const squared = vx * vx + vy * vy + vz * vz;
    const angle = Math.sqrt(squared);
    const s = halfSineOverAngle(angle, squared);
    // The real part of a step is the product of both neighbours in four dimensions.
    const c = halfCosine(angle, squared);
    if (c < least) least = c;
    const dx = vx * s;
    const dy = vy * s;
    const dz = vz * s;
    // Each row waits for the one before: sums in pairs shorten the wait.
    const nx = w * dx + x * c + (y * dz - z * dy);
    const ny = w * dy + y * c + (z * dx - x * dz);
    const nz = w * dz + z * c + (x * dy - y * dx);
    const nw = w * c - x * dx - (y * dy + z * dz);
    // One Newton step towards norm 1 is exact to rounding, since the norm never strays further. It
    // goes by the norm of the step before, which is there by then.
    x = nx * scale;
    y = ny * scale;
    z = nz * scale;
    w = nw * scale;
    scale = 1.5 - 0.5 * (x * x + y * y + (z * z + w * w));
    // Adding zero turns −0 into 0, so that text holds every bit of a track.
    path[o] = x + 0;
    path[o + 1] = y + 0;
    path[o + 2] = z + 0;
    path[o + 3] = w + 0;
  }
  return least >= 0;
}
