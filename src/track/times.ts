import { TwinkeelError } from '../error.js';

/** A stretch without samples: between samples `after` and `after + 1`, seconds long. */
export interface TimeGap {
  readonly after: number;
  readonly length: number;
}

/** An interval this many times the usual one is a gap: the next sample is surely missing. */
const GAP_RATIO = 1.8;

/** Steps come up to three times a second; below this rate they are not seen (our judgement). */
const SLOWEST_SAMPLING = 10;

/**
 * Samples that stay this close to an even grid, as a share of the interval, count as evenly spaced:
 * stamps rounded to a millisecond at 60 frames per second pass, and the filters cannot tell.
 */
const EVEN_SPACING = 0.05;

/**
 * Checks that times are finite and strictly increase.
 *
 * @throws TwinkeelError `track/not-finite` or `track/time-order` naming the sample
 */
export function checkTimes(
  times: Float64Array,
  place: (sample: number) => { line?: number; frame?: number },
): void {
  for (let k = 0; k < times.length; k++) {
    const time = times[k]!;
    if (!Number.isFinite(time)) {
      throw new TwinkeelError('track/not-finite', {
        ...place(k),
        column: 'time',
        found: `the time ${time}`,
        expected: 'a finite number of seconds',
        remedy: 'leave the sample out',
      });
    }
    if (k > 0 && time <= times[k - 1]!) {
      const previous = times[k - 1]!;
      throw new TwinkeelError('track/time-order', {
        ...place(k),
        column: 'time',
        found: time === previous ? `the time ${time} s twice` : `${time} s after ${previous} s`,
        expected: 'times that increase from row to row',
        remedy: 'sort the rows by time and remove duplicates',
      });
    }
  }
}

/** The first of increasing times that is at or after a moment; their count where none is. */
export function lowerBound(times: Float64Array, time: number): number {
  let low = 0;
  let high = times.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (times[middle]! < time) low = middle + 1;
    else high = middle;
  }
  return low;
}

/**
 * Median of the intervals between neighbouring samples, seconds. They are counted in classes from the
 * least to the greatest, then those of the median's class again, until these are all equal: a list of
 * them would be as long as the log.
 */
export function medianInterval(times: Float64Array): number {
  const classes = newClasses();
  const { counts, lows, highs } = classes;
  let place = (times.length - 1) >> 1;
  let chosen = 0;
  findRange(times, classes);
  while (lows[chosen]! < highs[chosen]!) {
    countIntervals(times, lows[chosen]!, highs[chosen]!, classes);
    chosen = 0;
    while (place >= counts[chosen]!) place -= counts[chosen++]!;
  }
  return lows[chosen]!;
}

const CLASSES = 4096;

/** Intervals in classes of equal width: how many, the least and the greatest of each. */
interface IntervalClasses {
  readonly counts: Uint32Array;
  readonly lows: Float64Array;
  readonly highs: Float64Array;
}

function newClasses(): IntervalClasses {
  return {
    counts: new Uint32Array(CLASSES),
    lows: new Float64Array(CLASSES),
    highs: new Float64Array(CLASSES),
  };
}

/** Takes all intervals into the first class. */
function findRange(times: Float64Array, { lows, highs }: IntervalClasses): void {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let k = 1; k < times.length; k++) {
    const length = times[k]! - times[k - 1]!;
    // By comparisons, the engine would make an object of every interval.
    low = Math.min(low, length);
    high = Math.max(high, length);
  }
  lows[0] = low;
  highs[0] = high;
}

/** Counts the intervals from `low` to `high`, which differ: the least and the greatest class are not empty. */
function countIntervals(
  times: Float64Array,
  low: number,
  high: number,
  { counts, lows, highs }: IntervalClasses,
): void {
  const range = high - low;
  counts.fill(0);
  for (let k = 1; k < times.length; k++) {
    const length = times[k]! - times[k - 1]!;
    if (length < low || length > high) continue;
    const at = Math.floor(((length - low) / range) * (CLASSES - 1));
    if (counts[at]!++ === 0) {
      lows[at] = length;
      highs[at] = length;
    } else if (length < lows[at]!) lows[at] = length;
    else if (length > highs[at]!) highs[at] = length;
  }
}

/**
 * The interval that half of the time is covered by, seconds: where stamps come in bursts it is that
 * of the bursts, while the median of all intervals would be that inside of one.
 */
export function intervalOfHalfTheTime(times: Float64Array): number {
  const intervals = new Float64Array(times.length - 1);
  for (let k = 0; k < intervals.length; k++) intervals[k] = times[k + 1]! - times[k]!;
  intervals.sort();
  const half = (times[times.length - 1]! - times[0]!) / 2;
  let covered = 0;
  let k = -1;
  while (k + 1 < intervals.length && covered < half) covered += intervals[++k]!;
  return intervals[Math.max(k, 0)]!;
}

/** The median interval, or where stamps come in bursts the interval between those, seconds. */
export function usualInterval(times: Float64Array): number {
  const median = medianInterval(times);
  const covering = intervalOfHalfTheTime(times);
  return covering > 2 * median ? covering : median;
}

/** Stretches in which samples are missing, by the length of the usual interval. */
export function timeGaps(times: Float64Array, interval = medianInterval(times)): TimeGap[] {
  const limit = GAP_RATIO * interval;
  const gaps: TimeGap[] = [];
  for (let k = 0; k + 1 < times.length; k++) {
    const length = times[k + 1]! - times[k]!;
    if (length > limit) gaps.push({ after: k, length });
  }
  return gaps;
}

/**
 * Refuses samples too far apart to show the steps of who carries the camera: drawn over finer frames
 * they would look smooth, and every figure would be good.
 *
 * @param perSecond - samples per second, of the file itself
 * @throws TwinkeelError `track/too-sparse`
 */
export function requireDense(perSecond: number): void {
  // Times are rounded: what is ten a second on paper passes.
  if (perSecond >= SLOWEST_SAMPLING * (1 - 1e-9)) return;
  throw new TwinkeelError('track/too-sparse', {
    found: `${perSecond >= 0.1 ? perSecond.toFixed(1) : perSecond.toPrecision(2)} samples per second`,
    expected: `at least ${SLOWEST_SAMPLING}, to see the steps`,
    remedy:
      'export every frame of the take, or check the unit of time: a column of frame numbers is written as: time: column "frame" frames at 60000/1001',
  });
}

/** Whether a filter that assumes a constant sampling rate may run over these samples. */
export function isEvenlySpaced(times: Float64Array): boolean {
  const n = times.length;
  const period = (times[n - 1]! - times[0]!) / (n - 1);
  for (let k = 0; k < n; k++) {
    if (Math.abs(times[k]! - times[0]! - k * period) > EVEN_SPACING * period) {
      return false;
    }
  }
  return true;
}

/** Times from 0 to the last at a constant interval. */
export function evenTimes(last: number, interval: number): Float64Array {
  const count = Math.floor(last / interval + 1e-9) + 1;
  return Float64Array.from({ length: count }, (_, k) => k * interval);
}
