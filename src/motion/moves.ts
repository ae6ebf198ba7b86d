import { clamp } from '../math.js';
import { convolveCentred, normalisedKernel, planConvolution } from '../numeric/convolution.js';
import {
  butterworthHighPass,
  butterworthLowPass,
  filterForwardBackward,
} from '../numeric/filterDesign.js';
import { hannWindow } from '../numeric/fourier.js';
import { quantile } from '../numeric/quantile.js';
import { splineFilter } from './classicFilters.js';

/** A stretch in which the operator means to move, in samples: [from, to). */
export interface Move {
  readonly from: number;
  readonly to: number;
}

/** What makes a slow motion a move rather than sway. Our judgement, tuned on synthetic walks. */
const MOVE = {
  /** Cut-off of the path whose speed is looked at, Hz. */
  cutoff: 0.45,
  /** Peak speed in multiples of the sway's typical speed, plus a floor in rad/s. */
  speedRatio: 4,
  speedFloor: 0.3 * (Math.PI / 180),
  /** A move lasts while the speed is above this share of the peak threshold. */
  hysteresis: 0.35,
  /** Least way in multiples of the sway, plus a floor in rad. */
  wayRatio: 6,
  wayFloor: 0.5 * (Math.PI / 180),
  /** Pauses shorter than this belong to the move, s. */
  bridge: 2,
  /** Added at both ends, s. */
  margin: 0.25,
};

/** Typical frequency of postural sway, Hz: the middle of 0.1–0.5 Hz. */
const SWAY_FREQUENCY = 0.3;

/**
 * Where a coordinate moves on purpose: faster and further than the operator's sway explains.
 *
 * @param slow - one coordinate without bob, radians, evenly sampled
 * @param sampleRate - Hz
 * @param sway - standard deviation of the sway, rad, see {@link swayLevel}
 * @returns moves in order, apart from each other
 */
export function findMoves(slow: Float64Array, sampleRate: number, sway: number): Move[] {
  const n = slow.length;
  const path = slowPath(slow, sampleRate);
  const speed = derivative(path, sampleRate);
  const threshold = MOVE.speedRatio * sway * 2 * Math.PI * SWAY_FREQUENCY + MOVE.speedFloor;
  const way = MOVE.wayRatio * sway + MOVE.wayFloor;
  const joined: { from: number; to: number }[] = [];
  for (const run of runsWhere(n, (k) => Math.abs(speed[k]!) > MOVE.hysteresis * threshold)) {
    let peak = 0;
    for (let k = run.from; k < run.to; k++) peak = Math.max(peak, Math.abs(speed[k]!));
    if (peak <= threshold || Math.abs(path[run.to - 1]! - path[run.from]!) <= way) continue;
    const previous = joined[joined.length - 1];
    if (previous && run.from - previous.to < MOVE.bridge * sampleRate) previous.to = run.to;
    else joined.push({ ...run });
  }
  const margin = Math.round(MOVE.margin * sampleRate);
  return joined.map(({ from, to }) => ({
    from: Math.max(0, from - margin),
    to: Math.min(n, to + margin),
  }));
}

/** The path whose speed and acceleration tell moves from sway. */
export function slowPath(slow: Float64Array, sampleRate: number): Float64Array {
  return splineFilter(slow, sampleRate, MOVE.cutoff);
}

/** Share of the samples that lie in moves. */
export function shareMoving(moves: readonly Move[], n: number): number {
  return moves.reduce((sum, { from, to }) => sum + to - from, 0) / n;
}

/**
 * Standard deviation of the sway, rad: the quiet level (30 % quantile of the 3 s envelope) of the
 * band 0.22–0.6 Hz, scaled to the whole of the sway (× 1.45, tuned on synthetic walks).
 *
 * @param slow - one coordinate without bob, radians
 * @param within - samples to look at; all when left out
 */
export function swayLevel(
  slow: Float64Array,
  sampleRate: number,
  within?: (sample: number) => boolean,
): number {
  const n = slow.length;
  if (n < 6 * sampleRate) return SWAY_PRIOR;
  const pad = Math.round(6 * sampleRate);
  const high = filterForwardBackward(butterworthHighPass(0.22, sampleRate), slow, pad);
  const band = filterForwardBackward(butterworthLowPass(0.6, sampleRate), high, pad);
  const envelope = poolMean(
    band.map((value) => value * value),
    3 * sampleRate,
  ).map(Math.sqrt);
  const quiet = within ? envelope.filter((_, k) => within(k)) : envelope;
  return clamp(1.45 * quantile(quiet, 0.3), SWAY_RANGE.least, SWAY_RANGE.most);
}

/** Sway of a clip too short to measure it, rad: 0.5° (our judgement). */
const SWAY_PRIOR = 0.5 * (Math.PI / 180);
/** Sway outside this range is a tripod or a deliberate motion, rad. */
const SWAY_RANGE = { least: 0.03 * (Math.PI / 180), most: 1.5 * (Math.PI / 180) };

/** Mean under a Hann window of about `width` samples, the ends mirrored. */
export function poolMean(values: Float64Array, width: number): Float64Array {
  return convolveCentred(values, poolKernel(width), 'even');
}

/** The same of many pairs of squares of one length, for wide windows. */
export function planPoolMeans(
  width: number,
  length: number,
): (a: Float64Array, b: Float64Array) => [Float64Array, Float64Array] {
  const convolve = planConvolution(poolKernel(width), 'even', length);
  return (a, b) => {
    const means = convolve(a, b);
    // Transforms may round a mean of squares below zero.
    for (const mean of means) for (let k = 0; k < mean.length; k++) mean[k] = Math.max(0, mean[k]!);
    return means;
  };
}

function poolKernel(width: number): Float64Array {
  return normalisedKernel(hannWindow(Math.max(1, Math.floor(width) | 1)));
}

/** Derivative by central differences, one-sided at the ends, per second. */
export function derivative(values: Float64Array, sampleRate: number): Float64Array {
  const n = values.length;
  return values.map((_, k) => {
    const before = Math.max(k - 1, 0);
    const after = Math.min(k + 1, n - 1);
    return after === before
      ? 0
      : ((values[after]! - values[before]!) * sampleRate) / (after - before);
  });
}

/** Stretches [from, to) of samples for which a condition holds. */
export function runsWhere(n: number, holds: (sample: number) => boolean): Move[] {
  const runs: Move[] = [];
  let from = -1;
  for (let k = 0; k <= n; k++) {
    const on = k < n && holds(k);
    if (on && from < 0) from = k;
    if (!on && from >= 0) {
      runs.push({ from, to: k });
      from = -1;
    }
  }
  return runs;
}
