import { clamp, RADIANS_PER_DEGREE } from '../math.js';
import type { Marks } from './axisConduct.js';
import { splineFilter } from './classicFilters.js';
import { derivative, type Move, poolMean, runsWhere } from './moves.js';

/** What makes a move one that stays. Our judgement, tuned on synthetic walks and five real tracks. */
const STAYING = {
  /** Least way between the rests before and after, rad. */
  way: 15 * RADIANS_PER_DEGREE,
  /** How far the view may wander within a rest, as a share of the way. */
  wander: 0.3,
  /** Share of the shortest move that a rest must last, unless the clip begins or ends there. */
  rest: 0.75,
  /** Cut-off of the path that is looked at for rests, Hz. */
  cutoff: 0.5,
  /** Seconds next to a move that belong to neither. */
  gap: 0.3,
};

/** How a path opens for a move that stays. */
const OPENING = {
  /** By how much the corners of a move may be cut, rad. */
  corner: 0.35 * RADIANS_PER_DEGREE,
  /** The path never opens further than this, Hz: faster is tremor. */
  most: 2,
  /** A part of a move that is faster than this share of its peak speed opens the path for itself. */
  part: 0.15,
  /** Seconds added to both sides of it, and over which the opening fades. */
  margin: 0.4,
  fade: 1,
};

/**
 * Half-amplitude frequency of the calm path at each sample, Hz: 1/shortestMove, and more within
 * moves that stay. A penalised spline of third order cuts the corner where a speed v begins or ends
 * by v/(6π f): ½ ∫ |t| h(t) dt with the transform 1/(1 + (f/fc)⁶) of its kernel h is 1/(6π fc). The
 * cut-off is what keeps that below {@link OPENING}.corner.
 *
 * @param measured - one coordinate, rad
 * @param moves - found by the structural model
 * @param marks - what the operator says: a move opens the path, a hold closes it
 */
export function cutoffsOf(
  measured: Float64Array,
  moves: readonly Move[],
  sampleRate: number,
  shortestMove: number,
  marks?: Marks,
): Float64Array {
  const n = measured.length;
  const slowest = 1 / shortestMove;
  const opening = new Float64Array(n);
  const speed = derivative(splineFilter(measured, sampleRate, 1), sampleRate).map(Math.abs);
  const peakOf = (from: number, to: number) =>
    speed.subarray(from, to).reduce((most, value) => Math.max(most, value), 0);
  const margin = Math.round(OPENING.margin * sampleRate);
  for (const { from, to } of movesThatStay(measured, moves, sampleRate, shortestMove)) {
    const least = OPENING.part * peakOf(from, to);
    for (const part of runsWhere(to - from, (k) => speed[from + k]! > least)) {
      const first = Math.max(0, from + part.from - margin);
      const end = Math.min(n, from + part.to + margin);
      const wanted = peakOf(first, end) / (6 * Math.PI * OPENING.corner);
      const open = Math.log(clamp(wanted, slowest, Math.max(slowest, OPENING.most)) / slowest);
      for (let k = first; k < end; k++) opening[k] = Math.max(opening[k]!, open);
    }
  }
  marks?.forEach((mark, k) => {
    if (mark > 0) opening[k] = Math.max(0, Math.log(OPENING.most / slowest));
    if (mark < 0) opening[k] = 0;
  });
  return poolMean(opening, OPENING.fade * sampleRate).map((value) => slowest * Math.exp(value));
}

/**
 * Moves after which the view stays where they led: it rests before and after for as long as a
 * shortest move, and has gone a clear way between the rests. Drifting and looking about leave no
 * such rests.
 */
export function movesThatStay(
  measured: Float64Array,
  moves: readonly Move[],
  sampleRate: number,
  shortestMove: number,
): Move[] {
  const n = measured.length;
  const path = splineFilter(measured, sampleRate, STAYING.cutoff);
  const rest = Math.round(shortestMove * sampleRate);
  const gap = Math.round(STAYING.gap * sampleRate);
  return moves.filter(({ from, to }, k) => {
    const start = Math.max(0, from - gap - rest, (moves[k - 1]?.to ?? -gap) + gap);
    const end = Math.min(n, to + gap + rest, (moves[k + 1]?.from ?? n + gap) - gap);
    const before = path.subarray(start, Math.max(start + 1, from - gap));
    const after = path.subarray(Math.min(to + gap, end - 1), end);
    const longEnough =
      (start === 0 || before.length > STAYING.rest * rest) &&
      (end === n || after.length > STAYING.rest * rest);
    const way = Math.abs(meanOf(after) - meanOf(before));
    const wander = Math.max(rangeOf(before), rangeOf(after));
    return longEnough && way > STAYING.way && wander < STAYING.wander * way;
  });
}

function meanOf(values: Float64Array): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

function rangeOf(values: Float64Array): number {
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (const value of values) {
    least = Math.min(least, value);
    most = Math.max(most, value);
  }
  return most - least;
}
