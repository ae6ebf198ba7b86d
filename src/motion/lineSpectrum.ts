import { hannWindow, nextPowerOfTwo, planFourier } from '../numeric/fourier.js';
import { median } from '../numeric/quantile.js';

/** Spectra of windows of one length in which lines stand out. */
export interface LineSpectrum {
  /** Hz from each value to the next, the first at 0 Hz. */
  readonly resolution: number;
  /**
   * Power of the rates of one signal or two over their background, in the window that starts at a
   * sample; zero outside of the frequencies that are asked for.
   */
  readonly of: (
    start: number,
    asked: Band,
    first: Float64Array,
    second?: Float64Array,
  ) => Float64Array[];
}

/** From one frequency to another, Hz. */
interface Band {
  readonly from: number;
  readonly to: number;
}

/** The background is measured between these frequencies, Hz, or below this share of the sample rate. */
const BACKGROUND = { from: 0.55, to: 3.6, ofRate: 0.45 };
/** Below this frequency it is that of this frequency, Hz. */
const LEVEL_BELOW = 0.3;
/** Power below this is none: a still camera has no lines, rad². */
const LEAST_POWER = 1e-30;
/** Transforms are at least so long, so that neighbours show the top of every line. */
const FINEST = 2048;

/**
 * Power of a signal's rate relative to its background: a parabola of log power over log
 * frequency through the medians of three bands of 0.55–3.6 Hz. Looking about has a steep
 * spectrum without lines, and must not look like steps.
 *
 * @param n - samples of a window
 * @param highest - Hz, above which nobody asks
 */
export function lineSpectrum(n: number, sampleRate: number, highest: number): LineSpectrum {
  const size = nextPowerOfTwo(Math.max(FINEST, 2 * n));
  const resolution = sampleRate / size;
  const window = hannWindow(n);
  const transform = planFourier(size);
  const low = Math.log(BACKGROUND.from);
  const span = Math.log(Math.min(BACKGROUND.to, BACKGROUND.ofRate * sampleRate)) - low;
  const place = (frequency: number) => (Math.log(frequency) - low) / span;
  // The three bands as [from, to) of the transform.
  const edges = [0, 1 / 3, 2 / 3, 1].map((at) => {
    let k = 1;
    while (k <= size / 2 && place(k * resolution) < at) k++;
    return k;
  });
  const asked = Math.min(size / 2 + 1, Math.ceil(highest / resolution) + 2);
  const count = Math.max(asked, edges[3]!);
  // Lagrange parabola through the middles 1/6, 1/2 and 5/6 of the three bands.
  const across = Float64Array.from(
    { length: asked },
    (_, k) => 3 * (place(Math.max(k * resolution, LEVEL_BELOW)) - 0.5),
  );
  const relative = (power: Float64Array, { from, to }: Band) => {
    const [y0, y1, y2] = [0, 1, 2].map((band) =>
      Math.log(median(power.subarray(edges[band]!, edges[band + 1]!)) + LEAST_POWER),
    ) as [number, number, number];
    const out = new Float64Array(asked);
    const last = Math.min(asked - 1, Math.ceil(to / resolution) + 1);
    for (let k = Math.floor(from / resolution); k <= last; k++) {
      const t = across[k]!;
      const background = y1 + (t * (y2 - y0)) / 2 + (t * t * (y2 - 2 * y1 + y0)) / 2;
      out[k] = power[k]! / Math.exp(background);
    }
    return out;
  };
  const re = new Float64Array(size);
  const im = new Float64Array(size);
  return {
    resolution,
    of(start, band, first, second) {
      fillRates(first, start, window, re);
      if (second) fillRates(second, start, window, im);
      else im.fill(0);
      transform(re, im);
      return splitPowers(re, im, count, second !== undefined).map((power) => relative(power, band));
    },
  };
}

/** Rates of a window of the signal less their straight line, faded at both ends, zero beyond. */
function fillRates(
  signal: Float64Array,
  start: number,
  window: Float64Array,
  out: Float64Array,
): void {
  const n = window.length;
  const rate = new Float64Array(n);
  for (let k = 1; k < n; k++) rate[k] = signal[start + k]! - signal[start + k - 1]!;
  if (n > 1) rate[0] = rate[1]!;
  const line = straightLine(rate);
  out.fill(0);
  for (let k = 0; k < n; k++) out[k] = (rate[k]! - line(k)) * window[k]!;
}

/**
 * Squared magnitudes below `count` of one real signal, or of two that were transformed as the real and
 * the imaginary part: X = (Z[k] + Z*[−k])/2 and Y = (Z[k] − Z*[−k])/2i.
 */
function splitPowers(
  re: Float64Array,
  im: Float64Array,
  count: number,
  two: boolean,
): Float64Array[] {
  const size = re.length;
  if (!two) return [re.subarray(0, count).map((x, k) => x * x + im[k]! * im[k]!)];
  const first = new Float64Array(count);
  const second = new Float64Array(count);
  for (let k = 0; k < count; k++) {
    const mirrored = (size - k) & (size - 1);
    const evenRe = 0.5 * (re[k]! + re[mirrored]!);
    const evenIm = 0.5 * (im[k]! - im[mirrored]!);
    const oddRe = 0.5 * (re[k]! - re[mirrored]!);
    const oddIm = 0.5 * (im[k]! + im[mirrored]!);
    first[k] = evenRe * evenRe + evenIm * evenIm;
    second[k] = oddRe * oddRe + oddIm * oddIm;
  }
  return [first, second];
}

/** The least-squares line through evenly spaced values. */
function straightLine(values: Float64Array): (k: number) => number {
  const n = values.length;
  const middle = (n - 1) / 2;
  let mean = 0;
  let slope = 0;
  let spread = 0;
  for (let k = 0; k < n; k++) {
    mean += values[k]! / n;
    slope += (k - middle) * values[k]!;
    spread += (k - middle) ** 2;
  }
  const gradient = spread > 0 ? slope / spread : 0;
  return (k) => mean + gradient * (k - middle);
}
