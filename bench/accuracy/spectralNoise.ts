import type { Random } from './random.js';

/**
 * Draws stationary Gaussian noise of a prescribed power spectral density.
 *
 * Every frequency bin gets an independent complex normal deviate of the wanted power; one inverse
 * transform makes the series. The transform is periodic, so the period is the next power of two at
 * least `spareS` seconds longer than the series: the end does not lead back into the beginning.
 *
 * @param length - samples wanted
 * @param sampleRate - samples per second
 * @param density - one-sided density at a frequency above 0, in Hz; unit² per Hz
 * @param spareS - seconds between the end of the series and the repeat of its beginning
 */
export function spectralNoise(
  random: Random,
  length: number,
  sampleRate: number,
  density: (frequency: number) => number,
  spareS: number,
): Float64Array {
  const period = 2 ** Math.ceil(Math.log2(length + spareS * sampleRate));
  const real = new Float64Array(period);
  const imaginary = new Float64Array(period);
  const binWidth = sampleRate / period;
  // The mean (bin 0) stays zero. Only the real part of the transform is used, and in it x + iy of
  // variance v each gives a wave of power v: no mirrored half is needed.
  for (let bin = 1; bin < period / 2; bin++) {
    const deviation = Math.sqrt(density(bin * binWidth) * binWidth);
    real[bin] = deviation * random.normal();
    imaginary[bin] = deviation * random.normal();
  }
  transformInPlace(real, imaginary);
  return real.subarray(0, length);
}

export interface NoiseBand {
  readonly lowHz: number;
  readonly highHz: number;
  /** Order of both Butterworth skirts: the density falls with f^(2·order). */
  readonly order: number;
}

// One period of the slowest sway to either side, so that a short clip need not hold a whole one.
const MARGIN_S = 10;

/**
 * Draws noise confined to a band, scaled so that its root mean square is exactly `rms` over the
 * series and ten seconds to either side of it.
 *
 * @param rms - in the unit of the result
 */
export function bandNoise(
  random: Random,
  length: number,
  sampleRate: number,
  band: NoiseBand,
  rms: number,
): Float64Array {
  const margin = Math.floor(MARGIN_S * sampleRate);
  const power = 2 * band.order;
  const density = (frequency: number) =>
    1 / ((1 + (frequency / band.highHz) ** power) * (1 + (band.lowHz / frequency) ** power));
  const noise = spectralNoise(random, length + 2 * margin, sampleRate, density, 0);
  const scale = rms / Math.sqrt(meanSquare(noise));
  return noise.subarray(margin, margin + length).map((value) => value * scale);
}

function meanSquare(series: Float64Array): number {
  return series.reduce((sum, value) => sum + value * value, 0) / series.length;
}

/**
 * Replaces a complex series by its discrete Fourier transform with positive exponent,
 * Σ zₖ exp(2πi jk/n), unscaled.
 *
 * @param real - real parts; the length must be a power of two
 * @param imaginary - imaginary parts, as many
 * @see Cooley and Tukey, 1965, An algorithm for the machine calculation of complex Fourier series
 */
function transformInPlace(real: Float64Array, imaginary: Float64Array): void {
  const length = real.length;
  swapBitReversed(real, imaginary);
  const { cosines, sines } = unitRoots(length);
  for (let span = 1; span < length; span *= 2) {
    const rootStep = length / (2 * span);
    for (let block = 0; block < length; block += 2 * span) {
      for (let k = 0; k < span; k++) {
        const upper = block + k;
        const lower = upper + span;
        const c = cosines[k * rootStep]!;
        const s = sines[k * rootStep]!;
        const re = real[lower]!;
        const im = imaginary[lower]!;
        const turnedReal = c * re - s * im;
        const turnedImaginary = s * re + c * im;
        const upperReal = real[upper]!;
        const upperImaginary = imaginary[upper]!;
        real[upper] = upperReal + turnedReal;
        imaginary[upper] = upperImaginary + turnedImaginary;
        real[lower] = upperReal - turnedReal;
        imaginary[lower] = upperImaginary - turnedImaginary;
      }
    }
  }
}

interface UnitRoots {
  readonly cosines: Float64Array;
  readonly sines: Float64Array;
}

// Hundreds of walks share two or three lengths, so their tables are kept.
const rootsByLength = new Map<number, UnitRoots>();

function unitRoots(length: number): UnitRoots {
  const known = rootsByLength.get(length);
  if (known !== undefined) return known;
  const angles = Float64Array.from({ length: length / 2 }, (_, k) => (2 * Math.PI * k) / length);
  const roots = { cosines: angles.map(Math.cos), sines: angles.map(Math.sin) };
  rootsByLength.set(length, roots);
  return roots;
}

function swapBitReversed(real: Float64Array, imaginary: Float64Array): void {
  const length = real.length;
  let mirrored = 0;
  for (let i = 1; i < length; i++) {
    // Add one to `mirrored` as if its bits were written backwards.
    let carry = length >> 1;
    while (mirrored & carry) {
      mirrored ^= carry;
      carry >>= 1;
    }
    mirrored |= carry;
    if (i < mirrored) {
      swap(real, i, mirrored);
      swap(imaginary, i, mirrored);
    }
  }
}

function swap(series: Float64Array, i: number, j: number): void {
  const held = series[i]!;
  series[i] = series[j]!;
  series[j] = held;
}
