import {
  butterworthHighPass,
  butterworthLowPass,
  filterForwardBackward,
} from '../numeric/filterDesign.js';
import { fourierTransform, nextPowerOfTwo } from '../numeric/fourier.js';
import { bestRotation3, type Rotation3, singularValues3 } from '../numeric/svd3.js';

/** A time lag at which two motions agree, and the turn between their axes. */
export interface LagCandidate {
  /** Log time less picture time, s. */
  readonly lag: number;
  /** 0 to 1: how much of both motions the best common turn explains. */
  readonly score: number;
  /** Sensor axes to camera axes, row by row. */
  readonly axes: Rotation3;
}

/** Samples per second of the search; the refinement does the rest. */
export const COARSE_RATE = 20;
/** Motion that both see: above the drift of either, below the picture's noise, Hz. */
const BAND = { low: 0.3, high: 6 };
/** Lags this close belong to the same optimum, s. */
const SAME_OPTIMUM = 0.12;

/**
 * Lags at which the angular rates of a picture and a log agree best, whatever the turn between their
 * axes: at each lag the 3 × 3 cross-covariance is formed (nine transforms for all lags), and the sum
 * of its singular values, the last with the sign of the determinant, is what the best rotation
 * explains.
 *
 * @param picture - rates in camera axes at {@link COARSE_RATE}, rad/s, length 3n
 * @param log - rates in sensor axes at the same spacing, zero where unknown, length 3m
 * @param startLag - log time of its first sample less picture time of its first
 * @param count - how many candidates, best first
 * @see Wahba, SIAM Review 7(3), 1965; Markley, J. Astronaut. Sci. 36(3), 1988
 */
export function findLags(
  picture: Float64Array,
  log: Float64Array,
  startLag: number,
  count: number,
): LagCandidate[] {
  const v = bandPassed(picture);
  const g = bandPassed(log);
  const n = v[0]!.length;
  const m = g[0]!.length;
  if (m < n) return [];
  const lags = m - n + 1;
  const H = crossCovariances(v, g, lags);
  const energy = runningEnergy(g, n);
  const own = v.reduce((sum, axis) => sum + axis.reduce((s, x) => s + x * x, 0), 0);
  const scores = new Float64Array(lags);
  const h = new Float64Array(9);
  for (let lag = 0; lag < lags; lag++) {
    for (let i = 0; i < 9; i++) h[i] = H[i]![lag]!;
    const scale = Math.sqrt(own * Math.max(energy[lag]!, 1e-12));
    scores[lag] = scale > 0 ? wahbaGain(h) / scale : 0;
  }
  const peaks = Array.from(scores.keys())
    .filter((k) => scores[k]! >= (scores[k - 1] ?? -1) && scores[k]! >= (scores[k + 1] ?? -1))
    .sort((a, b) => scores[b]! - scores[a]!);
  const chosen: number[] = [];
  for (const peak of peaks) {
    if (chosen.length === count) break;
    if (chosen.every((other) => Math.abs(other - peak) > SAME_OPTIMUM * COARSE_RATE)) {
      chosen.push(peak);
    }
  }
  return chosen.map((lag) => {
    for (let i = 0; i < 9; i++) h[i] = H[i]![lag]!;
    return {
      lag: startLag + lag / COARSE_RATE,
      score: scores[lag]!,
      axes: bestRotation3(h),
    };
  });
}

function wahbaGain(h: Float64Array): number {
  const { values, determinant } = singularValues3(h);
  return values[0] + values[1] + (determinant < 0 ? -values[2] : values[2]);
}

function bandPassed(vectors: Float64Array): Float64Array[] {
  const n = vectors.length / 3;
  const pad = Math.round((3 * COARSE_RATE) / BAND.low);
  return [0, 1, 2].map((axis) => {
    const signal = Float64Array.from({ length: n }, (_, k) => vectors[3 * k + axis]!);
    const high = filterForwardBackward(butterworthHighPass(BAND.low, COARSE_RATE), signal, pad);
    return filterForwardBackward(butterworthLowPass(BAND.high, COARSE_RATE), high, pad);
  });
}

/** H[3i + j][lag] = Σ_k v_i[k] g_j[k + lag] for lags 0 … lags − 1. */
function crossCovariances(
  v: readonly Float64Array[],
  g: readonly Float64Array[],
  lags: number,
): Float64Array[] {
  const size = nextPowerOfTwo(v[0]!.length + g[0]!.length);
  const spectrum = (signal: Float64Array) => {
    const re = new Float64Array(size);
    const im = new Float64Array(size);
    re.set(signal);
    fourierTransform(re, im);
    return { re, im };
  };
  const V = v.map(spectrum);
  const G = g.map(spectrum);
  return V.flatMap((a) =>
    G.map((b) => {
      // conj(V) G, and the inverse transform as the conjugate of the forward one.
      const re = new Float64Array(size);
      const im = new Float64Array(size);
      for (let k = 0; k < size; k++) {
        re[k] = a.re[k]! * b.re[k]! + a.im[k]! * b.im[k]!;
        im[k] = -(a.re[k]! * b.im[k]! - a.im[k]! * b.re[k]!);
      }
      fourierTransform(re, im);
      return re.subarray(0, lags).map((value) => value / size);
    }),
  );
}

/** Σ of the squared rates over n samples from each lag on. */
function runningEnergy(g: readonly Float64Array[], n: number): Float64Array {
  const m = g[0]!.length;
  const sums = new Float64Array(m + 1);
  for (let k = 0; k < m; k++) {
    sums[k + 1] = sums[k]! + g.reduce((sum, axis) => sum + axis[k]! * axis[k]!, 0);
  }
  return Float64Array.from({ length: m - n + 1 }, (_, lag) => sums[lag + n]! - sums[lag]!);
}
