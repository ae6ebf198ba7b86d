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

/** Median of the intervals between neighbouring samples, seconds. */
export function medianInterval(times: Float64Array): number {
  const intervals = new Float64Array(times.length - 1);
  for (let k = 0; k < intervals.length; k++) intervals[k] = times[k + 1]! - times[k]!;
  return selected(intervals, intervals.length >> 1);
}

/**
 * The value that would stand at `place` if the values were sorted; they are left in disorder.
 *
 * @see Hoare, "Algorithm 65: find", Communications of the ACM 4(7), 1961
 */
function selected(values: Float64Array, place: number): number {
  let low = 0;
  let high = values.length - 1;
  while (low < high) {
    const pivot = values[place]!;
    let i = low;
    let j = high;
    while (i <= j) {
      while (values[i]! < pivot) i++;
      while (values[j]! > pivot) j--;
      if (i > j) break;
      const value = values[i]!;
      values[i++] = values[j]!;
      values[j--] = value;
    }
    if (j < place) low = i;
    if (i > place) high = j;
  }
  return values[place]!;
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
