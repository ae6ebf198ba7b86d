import { Matrix, solve } from 'ml-matrix';
import { extend } from './convolution.js';

/** One second-order section: y = (b₀ + b₁z⁻¹ + b₂z⁻²)/(1 + a₁z⁻¹ + a₂z⁻²) x. */
export interface Biquad {
  readonly b: readonly [number, number, number];
  readonly a: readonly [1, number, number];
}

/**
 * Digital Butterworth low-pass of order 2 by the bilinear transform, exact at the cut-off.
 *
 * @param cutoff - Hz where one pass leaves half the power, below sampleRate/2
 * @see Oppenheim and Schafer, Discrete-Time Signal Processing, section 7.1
 */
export function butterworthLowPass(cutoff: number, sampleRate: number): Biquad {
  const c = Math.tan((Math.PI * cutoff) / sampleRate);
  const norm = 1 + Math.SQRT2 * c + c * c;
  const b = (c * c) / norm;
  return {
    b: [b, 2 * b, b],
    a: [1, (2 * (c * c - 1)) / norm, (1 - Math.SQRT2 * c + c * c) / norm],
  };
}

/** Digital Butterworth high-pass of order 2, the mirror image of the low-pass. */
export function butterworthHighPass(cutoff: number, sampleRate: number): Biquad {
  const c = Math.tan((Math.PI * cutoff) / sampleRate);
  const norm = 1 + Math.SQRT2 * c + c * c;
  const b = 1 / norm;
  return {
    b: [b, -2 * b, b],
    a: [1, (2 * (c * c - 1)) / norm, (1 - Math.SQRT2 * c + c * c) / norm],
  };
}

/**
 * One pass of a second-order section, started in the steady state of its first value.
 */
export function filterOnce({ b, a }: Biquad, signal: Float64Array): Float64Array {
  const gain = (b[0] + b[1] + b[2]) / (1 + a[1] + a[2]);
  const first = signal[0] ?? 0;
  // Transposed direct form II; these states hold the response to an endless constant input.
  let s2 = (b[2] - a[2] * gain) * first;
  let s1 = (b[1] - a[1] * gain) * first + s2;
  const out = new Float64Array(signal.length);
  for (let k = 0; k < signal.length; k++) {
    const x = signal[k]!;
    const y = b[0] * x + s1;
    s1 = b[1] * x - a[1] * y + s2;
    s2 = b[2] * x - a[2] * y;
    out[k] = y;
  }
  return out;
}

/**
 * A section forward and backward over ends that are point-mirrored: no phase, the gain squared.
 *
 * @param pad - samples to go on beyond each end
 */
export function filterForwardBackward(
  section: Biquad,
  signal: Float64Array,
  pad: number,
): Float64Array {
  const reach = Math.min(signal.length - 1, pad);
  const forward = filterOnce(section, extend(signal, reach, 'odd'));
  const backward = filterOnce(section, forward.reverse()).reverse();
  return backward.slice(reach, reach + signal.length);
}

/**
 * Weights of the Savitzky–Golay smoother: the value in the middle of a polynomial fitted by least
 * squares to 2 half + 1 evenly spaced values.
 *
 * @param half - values on each side
 * @param degree - of the polynomial, at most 2 half
 * @param at - where in the window to evaluate, −half … half; 0 is the middle
 * @see Savitzky and Golay, Analytical Chemistry 36(8), 1964, with the corrections of Steinier,
 *   Termonia, Deltour 1972
 */
export function savitzkyGolayWeights(half: number, degree: number, at = 0): Float64Array {
  const size = 2 * half + 1;
  const vandermonde = new Matrix(
    Array.from({ length: size }, (_, i) =>
      Array.from({ length: degree + 1 }, (_, p) => ((i - half) / half) ** p),
    ),
  );
  const transposed = vandermonde.transpose();
  const target = Matrix.columnVector(
    Array.from({ length: degree + 1 }, (_, p) => (at / half) ** p),
  );
  const coefficients = solve(transposed.mmul(vandermonde), target);
  return Float64Array.from(vandermonde.mmul(coefficients).to1DArray());
}

/**
 * Low-pass by a windowed sinc (Hamming), zero phase, gain 1 at frequency 0.
 *
 * @param half - taps on each side
 * @param cutoff - Hz of half amplitude
 * @see Oppenheim and Schafer, Discrete-Time Signal Processing, section 7.2
 */
export function windowedSinc(half: number, cutoff: number, sampleRate: number): Float64Array {
  const f = cutoff / sampleRate;
  const kernel = Float64Array.from({ length: 2 * half + 1 }, (_, i) => {
    const t = i - half;
    const sinc = t === 0 ? 2 * f : Math.sin(2 * Math.PI * f * t) / (Math.PI * t);
    return sinc * (0.54 + 0.46 * Math.cos((Math.PI * t) / half));
  });
  const sum = kernel.reduce((total, value) => total + value, 0);
  return kernel.map((value) => value / sum);
}
