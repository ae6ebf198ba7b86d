import { factorBanded, newBandedMatrix, solveFactored } from '../numeric/banded.js';
import { convolveCentred, normalisedKernel, planConvolution } from '../numeric/convolution.js';
import {
  butterworthLowPass,
  filterForwardBackward,
  savitzkyGolayWeights,
} from '../numeric/filterDesign.js';

/**
 * A zero-phase low-pass of one coordinate.
 *
 * @param signal - evenly sampled
 * @param sampleRate - Hz
 * @param cutoff - Hz at which half the amplitude is left
 * @returns length as the signal, without a shift in time
 */
export type SignalFilter = (
  signal: Float64Array,
  sampleRate: number,
  cutoff: number,
) => Float64Array;

/** The filters known from the textbooks, by name. */
export type ClassicFilterName = 'spline' | 'gaussian' | 'butterworth' | 'savitzky-golay';

/**
 * Gaussian mean. The standard deviation in time is √(2 ln 2)/(2π · cutoff): the transform of a
 * Gaussian is a Gaussian, exp(−2π²σ²f²) = ½ at the cut-off.
 */
export const gaussianFilter: SignalFilter = (signal, sampleRate, cutoff) => {
  const deviation = (Math.sqrt(2 * Math.LN2) / (2 * Math.PI * cutoff)) * sampleRate;
  const half = Math.ceil(4 * deviation);
  const kernel = Float64Array.from({ length: 2 * half + 1 }, (_, i) =>
    Math.exp(-0.5 * ((i - half) / deviation) ** 2),
  );
  return planConvolution(normalisedKernel(kernel), 'odd', signal.length)(signal)[0];
};

/**
 * Butterworth of order 2 forward and backward, over ends that are point-mirrored for three
 * periods of the cut-off. Two passes square the gain: |H|² = 1/(1 + (w/wc)⁴) at half amplitude.
 */
export const butterworthFilter: SignalFilter = (signal, sampleRate, cutoff) =>
  // Half amplitude after two passes is half power after one.
  filterForwardBackward(
    butterworthLowPass(cutoff, sampleRate),
    signal,
    Math.round((3 * sampleRate) / cutoff),
  );

/**
 * Savitzky–Golay smoother of degree 2. Half amplitude lies at f · (half + ½)/sampleRate = 0.638, the
 * root of ∫₋₁¹ (9 − 15x²)/8 · cos 2πux dx = ½ for wide windows and within 1 % from half = 8 on.
 *
 * @see Schafer, "What is a Savitzky–Golay filter?", IEEE Signal Processing Magazine 28(4), 2011
 */
export const savitzkyGolayFilter: SignalFilter = (signal, sampleRate, cutoff) => {
  const wanted = Math.round((HALF_AMPLITUDE_OF_DEGREE_2 * sampleRate) / cutoff - 0.5);
  const half = Math.max(2, Math.min(wanted, (signal.length - 1) >> 1));
  return convolveCentred(signal, savitzkyGolayWeights(half, 2), 'odd');
};

/** Half-amplitude frequency times half width, cycles. */
const HALF_AMPLITUDE_OF_DEGREE_2 = 0.638;

/**
 * Penalised spline: the signal x that minimises Σ(y − x)² + λ Σ(Δ³x)². Inside, its gain is
 * 1/(1 + λ (2 sin(πf/fs))⁶), and λ puts half amplitude at the cut-off; at the ends it goes on as a
 * parabola, with no signal invented beyond them.
 *
 * @see Whittaker, "On a new method of graduation", Proc. Edinburgh Math. Soc. 41, 1923; Eilers,
 *   "A perfect smoother", Analytical Chemistry 75(14), 2003
 */
export const splineFilter: SignalFilter = (signal, sampleRate, cutoff) =>
  splineWithCutoffs(signal, sampleRate, new Float64Array(signal.length).fill(cutoff));

/**
 * The same spline with a cut-off of its own at each sample, Hz: the weight λ of each third difference
 * is the one that leaves half the amplitude at the cut-off between its two middle samples.
 *
 * @param cutoffs - Hz, length n; should change slowly against its own period
 */
export function splineWithCutoffs(
  signal: Float64Array,
  sampleRate: number,
  cutoffs: Float64Array,
): Float64Array {
  const n = signal.length;
  if (n < 4) return signal.slice();
  const matrix = newBandedMatrix(n, 3);
  const { band } = matrix;
  for (let k = 0; k < n; k++) band[4 * k] = 1;
  let cutoff = Number.NaN;
  let penalty = 0;
  for (let k = 0; k + 3 < n; k++) {
    const wanted = Math.sqrt(cutoffs[k + 1]! * cutoffs[k + 2]!);
    // Powers are dear, and cut-offs mostly stay as they are.
    if (wanted !== cutoff) {
      cutoff = wanted;
      penalty = splinePenalty(cutoff, sampleRate);
    }
    addThirdDifference(band, k, penalty);
  }
  factorBanded(matrix);
  const out = signal.slice();
  solveFactored(matrix, out);
  return out;
}

/** Adds the weight times vᵀv, v being −1, 3, −3, 1 from column k on. */
function addThirdDifference(band: Float64Array, k: number, weight: number): void {
  const i = 4 * k;
  band[i]! += weight;
  band[i + 4]! += 9 * weight;
  band[i + 5]! -= 3 * weight;
  band[i + 8]! += 9 * weight;
  band[i + 9]! -= 9 * weight;
  band[i + 10]! += 3 * weight;
  band[i + 12]! += weight;
  band[i + 13]! -= 3 * weight;
  band[i + 14]! += 3 * weight;
  band[i + 15]! -= weight;
}

/**
 * λ of third differences that leaves half the amplitude at the cut-off, Hz; at most a quarter of the
 * rate, and no stiffer than double precision can solve for.
 */
export function splinePenalty(cutoff: number, sampleRate: number): number {
  const exact = 1 / (2 * Math.sin(Math.PI * Math.min(cutoff / sampleRate, 0.25))) ** 6;
  return Math.min(exact, STIFFEST);
}

/**
 * A matrix I + λ D₃ᵀD₃ has the condition 64 λ; beyond 10¹⁵ its factors are rounding. The cut-off then
 * ends at 0.0011 of the sample rate: a move of a minute at 15 samples a second, of 15 s at 60.
 */
const STIFFEST = 1e13;

export const CLASSIC_FILTERS: Readonly<Record<ClassicFilterName, SignalFilter>> = {
  spline: splineFilter,
  gaussian: gaussianFilter,
  butterworth: butterworthFilter,
  'savitzky-golay': savitzkyGolayFilter,
};
