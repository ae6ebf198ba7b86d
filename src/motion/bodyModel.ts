import { RADIANS_PER_DEGREE } from '../math.js';
import {
  newOscillator,
  type Oscillator,
  type StructuralModel,
} from '../numeric/structuralModel.js';
import { type Move, poolMean } from './moves.js';

/** One square degree, rad². */
export const DEGREE2 = RADIANS_PER_DEGREE ** 2;
/** Variance of what remains after all parts: noise of the tracker and tremor below 5 Hz. */
const NOISE = 2.5e-3 * DEGREE2;
/** Sway of a standing body: a damped oscillation around 0.27 Hz that forgets itself in 0.8 s. */
const SWAY = { frequency: 0.27, lifetime: 0.8 };

/** Acceleration of a sway of 1 rad standard deviation, rad/s²: (2π · 0.3 Hz)². */
export const ACCELERATION_OF_SWAY = 3.55;

/** A trend with constant noise, (rad/s)² per second, and nothing else. */
export function baseModel(n: number, sampleRate: number, trendNoise: number): StructuralModel {
  return {
    sampleRate,
    order: 2,
    trendNoise: new Float64Array(n).fill(trendNoise),
    oscillators: [],
    noise: NOISE,
  };
}

/** The sway of a body, of unit variance. */
export function swayOscillator(n: number, sampleRate: number): Oscillator {
  const step = new Float64Array(n).fill((2 * Math.PI * SWAY.frequency) / sampleRate);
  return newOscillator(1, step, SWAY.lifetime, sampleRate);
}

/**
 * The largest sway of a standing or walking body over three seconds, root mean square, rad (our
 * judgement, above the largest of published standing sway and of our synthetic bodies). What is
 * larger is something the operator means.
 */
const LARGEST_SWAY = 3 * RADIANS_PER_DEGREE;

/**
 * Where the removed slow motion is larger than any body's, widened to the seconds around it: 0 to
 * 1 at each sample, or undefined where it nowhere is.
 */
export function beyondBody(
  removed: Float64Array,
  moves: readonly Move[],
  sampleRate: number,
): Float64Array | undefined {
  // Where a turn starts and ends the trend may lag for a moment; that is no body either.
  const outside = removed.map((value) => value * value);
  const margin = Math.round(1.5 * sampleRate);
  for (const { from, to } of moves) outside.fill(0, Math.max(0, from - margin), to + margin);
  const size = poolMean(outside, 3 * sampleRate).map(Math.sqrt);
  if (!size.some((value) => value > LARGEST_SWAY)) return undefined;
  const near = size.map((value) => (value > LARGEST_SWAY / 2 ? 1 : 0));
  return poolMean(
    near.map((_, k) =>
      near
        .subarray(Math.max(0, k - Math.round(2 * sampleRate)), k + Math.round(2 * sampleRate))
        .includes(1)
        ? 1
        : 0,
    ),
    1.5 * sampleRate,
  );
}
