import type { Warning, WarningCode } from '../error.js';
import { RADIANS_PER_DEGREE } from '../math.js';
import type { MotionLog } from '../track/motionLog.js';
import { medianInterval, timeGaps } from '../track/times.js';
import { secondsOf, straightStretches } from './filledStretches.js';
import { unitWarnings } from './unitEvidence.js';

/** A stretch of a log, seconds from the first sample. */
export interface Span {
  /** Seconds from the first sample. */
  readonly from: number;
  /** Seconds from the first sample; after `from`. */
  readonly to: number;
}

/** Where a log is to be trusted less, and where its camera rests. */
export interface LogQuality {
  /** Stretches in which samples are missing. */
  readonly gaps: readonly Span[];
  /** Stretches in which the gyroscope's values were filled in: straight lines or repeats. */
  readonly filledRate: readonly Span[];
  /** Stretches in which the accelerometer's values were filled in. */
  readonly filledForce: readonly Span[];
  /** Stretches in which the gyroscope stands at the end of its range. */
  readonly clippedRate: readonly Span[];
  /** Stretches in which the accelerometer stands at the end of its range. */
  readonly clippedForce: readonly Span[];
  /** Stretches of vibration, which rectifies into false tilt. */
  readonly vibration: readonly Span[];
  /**
   * Stretches in which rates and force contradicted each other, so that the horizon was found again
   * from the force; known once the log is oriented.
   */
  readonly lost: readonly Span[];
  /** Stretches in which the camera rests on something still. */
  readonly rests: readonly Span[];
  /** The same in words, one for each kind of trouble. */
  readonly warnings: readonly Warning[];
}

/** Samples in a row at exactly the largest value that make a flat top. */
const FLAT_TOP = 3;
/** Steps of its resolution that a value must be from zero to stand at the end of a range (our judgement). */
const FEWEST_STEPS = 20;
/** Root mean square of the force from sample to sample above which a second counts as vibrating, m/s² (our judgement). */
const VIBRATION = 8;
/** A camera on something still: largest spread of quarter-second means within a rest (our judgement). */
const REST = {
  rate: 0.12 * RADIANS_PER_DEGREE,
  acceleration: 0.04,
  shortest: 1.5,
  bias: 10 * RADIANS_PER_DEGREE,
  biasDrift: 0.5 * RADIANS_PER_DEGREE,
};

/**
 * Looks through a log before it is used: gaps, flat tops, vibration, rests.
 *
 * @throws TwinkeelError `log/units` when the accelerometer's values cannot be m/s²
 */
export function inspectLog(log: MotionLog): LogQuality {
  const interval = medianInterval(log.times);
  const gaps = timeGaps(log.times, interval).map(({ after }) => ({
    from: log.times[after]!,
    to: log.times[after + 1]!,
  }));
  const filledForce = log.acceleration
    ? secondsOf(log.times, straightStretches(log.times, log.acceleration, interval))
    : [];
  const filledRate = filledRates(log, filledForce, interval);
  const clippedRate = flatTops(log.times, log.rate);
  const clippedForce = log.acceleration ? flatTops(log.times, log.acceleration) : [];
  const vibration = log.acceleration ? shakenSeconds(log.times, log.acceleration, interval) : [];
  const silent = [...gaps, ...filledRate, ...filledForce];
  const rests = log.acceleration
    ? findRests(log.times, log.rate, log.acceleration, silent, interval)
    : [];
  return {
    gaps,
    filledRate,
    filledForce,
    clippedRate,
    clippedForce,
    vibration,
    lost: [],
    rests,
    warnings: [
      ...spanWarning('log/gap', gaps, 'samples are missing; the orientation is bridged there'),
      ...spanWarning(
        'log/filled',
        filledRate,
        'the gyroscope was silent and its values were filled in by straight lines; turns are lost there',
      ),
      ...spanWarning(
        'log/filled',
        filledForce,
        'the accelerometer was silent and its values were filled in by straight lines; the horizon is less sure there',
      ),
      ...spanWarning(
        'log/clipped',
        clippedRate,
        'the gyroscope is at the end of its range; turns are lost there',
      ),
      ...spanWarning(
        'log/clipped',
        clippedForce,
        'the accelerometer is at the end of its range; the horizon is less sure there',
      ),
      ...spanWarning(
        'log/vibration',
        vibration,
        'the accelerometer vibrates; the horizon is less sure there',
      ),
      ...(log.acceleration ? unitWarnings(log.times, log.rate, log.acceleration, interval) : []),
    ],
  };
}

/** Standard deviation of the force within which a camera rests, m/s² (our judgement). */
const STILL_FORCE = 0.15;

/** A coarse gyroscope may stand still with a resting camera: only while it moves are rates missing. */
function filledRates(
  { times, rate, acceleration }: MotionLog,
  filledForce: readonly Span[],
  interval: number,
): Span[] {
  const spans = straightStretches(times, rate, interval);
  if (!acceleration) return secondsOf(times, spans);
  const moving = spans.filter(({ first, last }) => {
    const silent = filledForce.some(({ from, to }) => from < times[last]! && to > times[first]!);
    return (
      silent || [0, 1, 2].some((axis) => spreadOf(acceleration, axis, first, last) > STILL_FORCE)
    );
  });
  return secondsOf(times, moving);
}

/** Standard deviation of a component over the samples [first, last]. */
function spreadOf(vectors: Float64Array, axis: number, first: number, last: number): number {
  let sum = 0;
  let squares = 0;
  for (let k = first; k <= last; k++) {
    const value = vectors[3 * k + axis]! - vectors[3 * first + axis]!;
    sum += value;
    squares += value * value;
  }
  const count = last - first + 1;
  return Math.sqrt(Math.max(0, squares / count - (sum / count) ** 2));
}

/** Spans in order, those that touch joined. */
export function joinedSpans(spans: readonly Span[]): Span[] {
  const out: { from: number; to: number }[] = [];
  for (const { from, to } of [...spans].sort((a, b) => a.from - b.from)) {
    const last = out[out.length - 1];
    if (last && from <= last.to) last.to = Math.max(last.to, to);
    else out.push({ from, to });
  }
  return out;
}

/** One warning for all stretches of a kind; none where there is none. */
export function spanWarning(code: WarningCode, spans: readonly Span[], what: string): Warning[] {
  if (spans.length === 0) return [];
  const shown = spans.slice(0, 5).map(({ from, to }) => `${from.toFixed(2)}–${to.toFixed(2)} s`);
  const more = spans.length > 5 ? ` and ${spans.length - 5} more` : '';
  return [{ code, timeS: spans[0]!.from, message: `${what}: ${shown.join(', ')}${more}` }];
}

/** Stretches in which a component stands at the largest or smallest value that it ever has. */
function flatTops(times: Float64Array, vectors: Float64Array): Span[] {
  const clipped = new Uint8Array(times.length);
  let some = false;
  for (let axis = 0; axis < 3; axis++) {
    const { top, bottom, step } = rangeOf(vectors, axis);
    // A log of a few values, or of one, is quantised, not clipped.
    const flat = (end: number) => end !== 0 && Math.abs(end) >= FEWEST_STEPS * step;
    const ends = [flat(top) ? top : Number.NaN, flat(bottom) ? bottom : Number.NaN] as const;
    some = markRuns(vectors, axis, ends, clipped) || some;
  }
  return some ? spansWhere(times, (k) => clipped[k] === 1) : [];
}

/** The ends of a component's range, zero included, and the smallest step that is none. */
function rangeOf(vectors: Float64Array, axis: number) {
  let top = 0;
  let bottom = 0;
  let step = Number.POSITIVE_INFINITY;
  let before = vectors[axis] ?? 0;
  for (let i = axis; i < vectors.length; i += 3) {
    const value = vectors[i]!;
    if (value > top) top = value;
    if (value < bottom) bottom = value;
    const change = Math.abs(value - before);
    if (change > 0 && change < step) step = change;
    before = value;
  }
  return { top, bottom, step };
}

/** Marks the samples at which a component has one of two values several times in a row. */
function markRuns(
  vectors: Float64Array,
  axis: number,
  [top, bottom]: readonly [number, number],
  marks: Uint8Array,
): boolean {
  let marked = false;
  for (let i = axis; i < vectors.length; i += 3) {
    const value = vectors[i]!;
    if (value !== top && value !== bottom) continue;
    const first = i;
    while (vectors[i + 3] === value) i += 3;
    if (i - first < 3 * (FLAT_TOP - 1)) continue;
    marks.fill(1, (first - axis) / 3, (i - axis) / 3 + 1);
    marked = true;
  }
  return marked;
}

function shakenSeconds(times: Float64Array, acceleration: Float64Array, interval: number): Span[] {
  const width = Math.max(1, Math.round(1 / interval));
  const shaken = new Uint8Array(times.length);
  for (let start = 0; start + 1 < times.length; start += width) {
    const end = Math.min(start + width, times.length);
    let sum = 0;
    for (let i = 3 * start + 3; i < 3 * end; i++)
      sum += (acceleration[i]! - acceleration[i - 3]!) ** 2;
    if (Math.sqrt(sum / Math.max(1, end - start - 1)) > VIBRATION) shaken.fill(1, start, end);
  }
  return spansWhere(times, (k) => shaken[k] === 1);
}

/**
 * Stretches in which quarter-second means of rate and force all stay within a narrow spread; where
 * a sensor is silent, nothing is known to rest.
 */
function findRests(
  times: Float64Array,
  rate: Float64Array,
  acceleration: Float64Array,
  silent: readonly Span[],
  interval: number,
): Span[] {
  const width = Math.max(1, Math.round(0.25 / interval));
  const count = Math.floor(times.length / width);
  const mean = (vectors: Float64Array, block: number, axis: number) => {
    let sum = 0;
    for (let k = block * width; k < (block + 1) * width; k++) sum += vectors[3 * k + axis]!;
    return sum / width;
  };
  const rests: Span[] = [];
  let from = 0;
  const spreads = () =>
    [0, 1, 2, 3, 4, 5].map(() => [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]);
  let extremes = spreads();
  const close = (to: number) => {
    if (to <= from) return;
    const start = times[from * width]!;
    const end = times[Math.min(to * width, times.length) - 1]!;
    if (end - start >= REST.shortest) rests.push({ from: start, to: end });
  };
  for (let block = 0; block < count; block++) {
    const values = [0, 1, 2, 3, 4, 5].map((c) => mean(c < 3 ? rate : acceleration, block, c % 3));
    const still = () =>
      extremes.every(([low, high], c) => {
        const spread = Math.max(high!, values[c]!) - Math.min(low!, values[c]!);
        return (
          spread <= (c < 3 ? REST.rate : REST.acceleration) &&
          (c > 2 || Math.abs(values[c]!) < REST.bias)
        );
      });
    const first = times[block * width]!;
    const last = times[Math.min((block + 1) * width, times.length - 1)]!;
    const unknown = silent.some(({ from, to }) => from < last && to > first);
    if (unknown) {
      close(block);
      from = block + 1;
      extremes = spreads();
      continue;
    }
    if (!still()) {
      close(block);
      from = block;
      extremes = spreads();
    }
    extremes.forEach((extreme, c) => {
      extreme[0] = Math.min(extreme[0]!, values[c]!);
      extreme[1] = Math.max(extreme[1]!, values[c]!);
    });
  }
  close(count);
  return ofOneBias(rests, times, rate);
}

/** The rests whose mean rate is that of the longest: a steady pan between two stands is none. */
function ofOneBias(rests: Span[], times: Float64Array, rate: Float64Array): Span[] {
  let k = 0;
  const means = rests.map(({ from, to }) => {
    const sum = [0, 0, 0];
    let count = 0;
    for (; k < times.length && times[k]! <= to; k++) {
      if (times[k]! < from) continue;
      for (let axis = 0; axis < 3; axis++) sum[axis]! += rate[3 * k + axis]!;
      count++;
    }
    return sum.map((x) => x / count);
  });
  const length = (r: number) => rests[r]!.to - rests[r]!.from;
  const longest = means.reduce((best, _, r) => (length(r) > length(best) ? r : best), 0);
  return rests.filter((_, r) =>
    means[r]!.every((mean, axis) => Math.abs(mean - means[longest]![axis]!) < REST.biasDrift),
  );
}

function spansWhere(times: Float64Array, holds: (sample: number) => boolean): Span[] {
  const spans: Span[] = [];
  let from = -1;
  for (let k = 0; k <= times.length; k++) {
    const on = k < times.length && holds(k);
    if (on && from < 0) from = k;
    if (!on && from >= 0) {
      spans.push({ from: times[from]!, to: times[k - 1]! });
      from = -1;
    }
  }
  return spans;
}
