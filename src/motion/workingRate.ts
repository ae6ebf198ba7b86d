import { convolveCentred } from '../numeric/convolution.js';
import { evenCubicSpline } from '../numeric/cubicSpline.js';
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

/**
 * A smooth signal back at the original rate, by a cubic spline. Beyond each end it goes on along the
 * parabola through its last three values, so that the spline bends there as the signal does.
 */
export function undecimate(signal: Float64Array, factor: number, length: number): Float64Array {
  if (factor === 1) return signal;
  const n = signal.length;
  const reach = n < 3 ? 1 : EXTRA_KNOTS;
  const extended = new Float64Array(n + 2 * reach);
  extended.set(signal, reach);
  for (let k = 1; k <= reach; k++) {
    extended[reach - k] = parabolaBeyond(signal[0]!, signal[1], signal[2], k);
    extended[reach + n - 1 + k] = parabolaBeyond(signal[n - 1]!, signal[n - 2], signal[n - 3], k);
  }
  return evenCubicSpline(extended, factor, reach * factor, length);
}

/** Knots added at each end; the bend that a natural spline lacks at its end decays by 0.27 per knot. */
const EXTRA_KNOTS = 12;

/** The value k steps beyond the end of a sequence, along the parabola through its last three values. */
function parabolaBeyond(
  last: number,
  before: number = last,
  beforeThat: number = 2 * before - last,
  k: number,
): number {
  const slope = last - before;
  const bend = last - 2 * before + beforeThat;
  return last + k * slope + ((k * (k + 1)) / 2) * bend;
}
