import {
  butterworthHighPass,
  butterworthLowPass,
  filterForwardBackward,
} from '../numeric/filterDesign.js';
import { bestRotation3, type Rotation3, singularValues3 } from '../numeric/svd3.js';
import { crossCovariances3 } from './crossCovariance.js';

/** A time lag at which two motions agree, and the turn between their axes. */
export interface LagCandidate {
  /** Cells of the log's grid before the clip starts; negative where the log starts later. */
  readonly lag: number;
  /** 0 to 1: how much of both motions the best common turn explains where they overlap. */
  readonly score: number;
  /** −n log(1 − score²) over n common cells: a long agreement weighs more than a short one. */
  readonly weight: number;
  /** Sensor axes to camera axes, row by row. */
  readonly axes: Rotation3;
}

/** Which lags are looked at. */
export interface LagSearch {
  /** How many candidates, best first. */
  readonly count: number;
  /** Cells that both must share. */
  readonly overlap: number;
  /** Lags from the first to the last of these only, cells; all by default. */
  readonly from?: number;
  readonly to?: number;
}

/** Samples per second of the search; peaks are found between them, and the refinement does the rest. */
export const COARSE_SAMPLE_RATE = 30;
/** Motion that both see: above the drift of either, below the picture's noise, Hz. */
const BAND = { low: 0.3, high: 6 };
/** Lags this close belong to the same optimum, s. */
const SAME_OPTIMUM = 0.12;
/** Lags that cannot explain this share of what the best may explain are passed over. */
const HOPELESS = 0.3;

/**
 * Lags at which the angular rates of a picture and a log agree best, whatever the turn between their
 * axes: at each lag the 3 × 3 cross-covariance is formed, and the sum of its singular values, the last
 * with the sign of the determinant, is what the best rotation explains. A log may cover a part of the
 * clip; its motion and the clip's are then measured over that part.
 *
 * @param picture - rates in camera axes at {@link COARSE_SAMPLE_RATE}, rad/s, length 3n; from {@link inBand}
 * @param log - rates in sensor axes at the same spacing, zero where unknown, length 3m; likewise
 * @returns candidates, best first; cost O((n + m) log(n + m))
 * @see Wahba, SIAM Review 7(3), 1965; Markley, J. Astronaut. Sci. 36(3), 1988
 */
export function findLags(
  picture: Float64Array,
  log: Float64Array,
  { count, overlap, from, to }: LagSearch,
): LagCandidate[] {
  const n = picture.length / 3;
  const m = log.length / 3;
  const first = Math.max(overlap - n, Math.ceil(from ?? -n));
  const last = Math.min(m - overlap, Math.floor(to ?? m));
  const lags = last - first + 1;
  if (lags < 1 || overlap > Math.min(n, m)) return [];
  const H = crossCovariances3(picture, log, first, lags);
  const ownSums = runningEnergy(picture);
  const logSums = runningEnergy(log);
  // Where nothing moves at all, the product of both energies is the rounding of their sums.
  const silent = 1e-18 * (ownSums[n]! * logSums[m]! + 1e-300);
  const bound = new Float64Array(lags);
  const scales = new Float64Array(lags);
  for (let i = 0; i < lags; i++) {
    const lag = first + i;
    const begin = Math.max(0, -lag);
    const end = Math.min(n, m - lag);
    const own = ownSums[end]! - ownSums[begin]!;
    const other = logSums[end + lag]! - logSums[begin + lag]!;
    const scale = own * other;
    scales[i] = scale > silent ? 1 / Math.sqrt(scale) : 0;
    let squares = 0;
    for (const h of H) squares += h[i]! * h[i]!;
    // No rotation explains more than √3 times the Frobenius norm.
    bound[i] = Math.min(3 * squares, scale) * scales[i]! ** 2;
  }
  const hopeless = HOPELESS * bound.reduce((a, b) => Math.max(a, b), 0);
  const h = new Float64Array(9);
  const scores = new Float64Array(lags);
  for (let i = 0; i < lags; i++) {
    if (bound[i]! < hopeless) continue;
    for (let e = 0; e < 9; e++) h[e] = H[e]![i]!;
    scores[i] = Math.max(0, wahbaGain(h) * scales[i]!);
  }
  return bestPeaks(scores, count, (i) => Math.min(n, m - first - i) - Math.max(0, -first - i)).map(
    ({ at, between, score, weight }) => {
      for (let e = 0; e < 9; e++) h[e] = H[e]![at]!;
      return { lag: first + at + between, score, weight, axes: bestRotation3(h) };
    },
  );
}

interface Peak {
  readonly at: number;
  /** −½ … ½: where between the samples the parabola through three of them has its top. */
  readonly between: number;
  readonly score: number;
  readonly weight: number;
}

/** Peaks that are no neighbours, best first. */
function bestPeaks(scores: Float64Array, count: number, common: (i: number) => number): Peak[] {
  const peaks: Peak[] = [];
  for (let i = 0; i < scores.length; i++) {
    const here = scores[i]!;
    const before = scores[i - 1] ?? 0;
    const after = scores[i + 1] ?? 0;
    if (here < before || here < after || here <= 0) continue;
    const curvature = 2 * here - before - after;
    const inside = i > 0 && i + 1 < scores.length && before > 0 && after > 0 && curvature > 0;
    const between = inside ? (after - before) / (2 * curvature) : 0;
    const score = Math.min(here + (between * (after - before)) / 4, 1);
    peaks.push({ at: i, between, score, weight: -common(i) * Math.log(1 - score * score + 1e-6) });
  }
  peaks.sort((a, b) => b.weight - a.weight);
  const chosen: Peak[] = [];
  for (const peak of peaks) {
    if (chosen.length === count) break;
    if (chosen.every(({ at }) => Math.abs(at - peak.at) > SAME_OPTIMUM * COARSE_SAMPLE_RATE)) {
      chosen.push(peak);
    }
  }
  return chosen;
}

function wahbaGain(h: Float64Array): number {
  const { values, determinant } = singularValues3(h);
  return values[0] + values[1] + (determinant < 0 ? -values[2] : values[2]);
}

/** Rates without what is slower or faster than the search looks at; length 3n. */
export function inBand(vectors: Float64Array): Float64Array {
  const n = vectors.length / 3;
  const pad = Math.round((3 * COARSE_SAMPLE_RATE) / BAND.low);
  const out = new Float64Array(3 * n);
  for (let axis = 0; axis < 3; axis++) {
    const signal = Float64Array.from({ length: n }, (_, k) => vectors[3 * k + axis]!);
    const high = filterForwardBackward(
      butterworthHighPass(BAND.low, COARSE_SAMPLE_RATE),
      signal,
      pad,
    );
    const band = filterForwardBackward(
      butterworthLowPass(BAND.high, COARSE_SAMPLE_RATE),
      high,
      pad,
    );
    for (let k = 0; k < n; k++) out[3 * k + axis] = band[k]!;
  }
  return out;
}

/** Σ of the squared rates before each sample, length n + 1. */
function runningEnergy(rates: Float64Array): Float64Array {
  const n = rates.length / 3;
  const sums = new Float64Array(n + 1);
  for (let k = 0; k < n; k++) {
    sums[k + 1] = sums[k]! + rates[3 * k]! ** 2 + rates[3 * k + 1]! ** 2 + rates[3 * k + 2]! ** 2;
  }
  return sums;
}
