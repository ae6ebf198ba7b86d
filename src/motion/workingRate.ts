import { convolveCentred } from '../numeric/convolution.js';
import { cubicSpline } from '../numeric/cubicSpline.js';
import { windowedSinc } from '../numeric/filterDesign.js';

/** Bob and sway end well below 5 Hz; what lies above is tremor and noise, removed in any case. */
const WORKING_RATE = 15;
const PASS_BAND = 5;

/** How many samples become one so that the separation runs near 15 Hz. */
export function decimationFactor(sampleRate: number): number {
  return Math.max(1, Math.round(sampleRate / WORKING_RATE));
}

/**
 * A signal at the working rate: low-passed at 5 Hz without phase, then every `factor`-th sample.
 */
export function decimate(signal: Float64Array, sampleRate: number, factor: number): Float64Array {
  if (factor === 1) return signal;
  const kernel = windowedSinc(Math.floor(0.25 * sampleRate), PASS_BAND, sampleRate);
  const smooth = convolveCentred(signal, kernel, 'odd');
  return Float64Array.from(
    { length: Math.ceil(signal.length / factor) },
    (_, k) => smooth[k * factor]!,
  );
}

/** A smooth signal back at the original rate, by a cubic spline; beyond its last knot it goes on straight. */
export function undecimate(signal: Float64Array, factor: number, length: number): Float64Array {
  if (factor === 1) return signal;
  const n = signal.length;
  const knots = Float64Array.from(signal, (_, k) => k * factor);
  const spline = cubicSpline(knots, signal);
  const slope = n > 1 ? (signal[n - 1]! - signal[n - 2]!) / factor : 0;
  const end = (n - 1) * factor;
  return Float64Array.from({ length }, (_, k) =>
    k <= end ? spline(k) : signal[n - 1]! + slope * (k - end),
  );
}
