import { RADIANS_PER_DEGREE } from '../math.js';
import { quantile } from '../numeric/quantile.js';
import { ACCELERATION_OF_SWAY } from './bodyModel.js';
import { splineFilter } from './classicFilters.js';
import { derivative, poolMean, runsWhere } from './moves.js';

/**
 * Someone who looks about all the time leaves no rests between which sway could be measured. What
 * tells it from moves with rests is that even the calm moments accelerate more than any sway.
 * Levels are sway (rad, standard deviation) that would cause the same acceleration. Our judgement,
 * from published recordings of two people walking about a room and tuned on synthetic walks.
 */
const CONTINUOUS = {
  level: 1.05 * RADIANS_PER_DEGREE,
  /** Below this share of the level a gap is a rest, however short. */
  rest: 0.5,
  /** Share of the level that counts where the whole clip is like that. */
  whole: 0.6,
  /** Share of the level that counts where the other axis looks about. */
  together: 0.4,
  /** Seconds over which the calm moments are sought, and which share of them counts as calm. */
  window: 16,
  calm: 0.3,
  longestGap: 8,
  shortestRun: 14,
};

/**
 * Where the operator looks about continuously, 0 to 1 at each sample.
 *
 * @param slow - one coordinate without bob, radians
 * @param sampleRate - Hz
 * @param ease - lowers the level that counts, 1 leaves it
 */
export function lookingAbout(slow: Float64Array, sampleRate: number, ease = 1): Float64Array {
  const n = slow.length;
  if (n < 6 * sampleRate) return new Float64Array(n);
  const path = splineFilter(slow, sampleRate, 0.5);
  const acceleration = derivative(derivative(path, sampleRate), sampleRate);
  const level = poolMean(
    acceleration.map((a) => a * a),
    1.5 * sampleRate,
  ).map((square) => Math.sqrt(square) / ACCELERATION_OF_SWAY);
  const calm = slidingQuantile(
    level,
    Math.min(Math.round(CONTINUOUS.window * sampleRate), n),
    CONTINUOUS.calm,
  );
  const wholeClip = quantile(level, CONTINUOUS.calm) > CONTINUOUS.level * 1.05;
  const threshold = ease * CONTINUOUS.level * (wholeClip ? CONTINUOUS.whole : 1);
  const on = Uint8Array.from(calm, (value) => (value > threshold ? 1 : 0));
  for (const gap of runsWhere(n, (k) => on[k] === 0)) {
    if (!on.includes(1) || gap.to - gap.from >= CONTINUOUS.longestGap * sampleRate) continue;
    const middle = quantile(calm.slice(gap.from, gap.to), 0.5);
    if (wholeClip || middle > CONTINUOUS.rest * CONTINUOUS.level) on.fill(1, gap.from, gap.to);
  }
  const shortest = Math.min(CONTINUOUS.shortestRun * sampleRate, 0.4 * n);
  for (const run of runsWhere(n, (k) => on[k] === 1)) {
    if (run.to - run.from < shortest) on.fill(0, run.from, run.to);
  }
  return poolMean(Float64Array.from(on), 1.5 * sampleRate);
}

/**
 * Looking about in heading and tilt: it is the person who looks about, so where one axis surely
 * does, less is asked of the other.
 */
export function lookingAboutTogether(
  heading: Float64Array,
  tilt: Float64Array,
  sampleRate: number,
): { heading: Float64Array; tilt: Float64Array } {
  const sure = [lookingAbout(heading, sampleRate), lookingAbout(tilt, sampleRate)] as const;
  const eased = [heading, tilt].map((slow) =>
    lookingAbout(slow, sampleRate, CONTINUOUS.together),
  ) as [Float64Array, Float64Array];
  const join = (own: Float64Array, easier: Float64Array, other: Float64Array) =>
    own.map((weight, k) => Math.max(weight, Math.min(easier[k]!, other[k]!)));
  return { heading: join(sure[0], eased[0], sure[1]), tilt: join(sure[1], eased[1], sure[0]) };
}

/** Quantile of the values within a window around each sample, the ends mirrored; O(n · window). */
function slidingQuantile(values: Float64Array, window: number, share: number): Float64Array {
  const n = values.length;
  const half = window >> 1;
  const at = (k: number) =>
    values[k < 0 ? Math.min(-k - 1, n - 1) : k >= n ? Math.max(2 * n - 1 - k, 0) : k]!;
  const sorted = Float64Array.from({ length: 2 * half + 1 }, (_, j) => at(j - half)).sort();
  const out = new Float64Array(n);
  const rank = Math.round(share * (sorted.length - 1));
  for (let k = 0; k < n; k++) {
    out[k] = sorted[rank]!;
    replaceSorted(sorted, at(k - half), at(k + 1 + half));
  }
  return out;
}

/** Takes one value out of a sorted array and puts another in. */
function replaceSorted(sorted: Float64Array, leaving: number, entering: number): void {
  let k = lowerBound(sorted, leaving);
  for (; k + 1 < sorted.length && sorted[k + 1]! < entering; k++) sorted[k] = sorted[k + 1]!;
  for (; k > 0 && sorted[k - 1]! > entering; k--) sorted[k] = sorted[k - 1]!;
  sorted[k] = entering;
}

function lowerBound(sorted: Float64Array, value: number): number {
  let low = 0;
  let high = sorted.length - 1;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sorted[middle]! < value) low = middle + 1;
    else high = middle;
  }
  return low;
}
