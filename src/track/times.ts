import { TwinkeelError } from '../error.js';

/** A stretch without samples: between samples `after` and `after + 1`, seconds long. */
export interface TimeGap {
  readonly after: number;
  readonly length: number;
}

/** An interval this many times the usual one is a gap: the next sample is surely missing. */
const GAP_RATIO = 1.8;

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

/** Stretches in which samples are missing, by the length of the usual interval. */
export function timeGaps(times: Float64Array): TimeGap[] {
  const limit = GAP_RATIO * medianInterval(times);
  const gaps: TimeGap[] = [];
  for (let k = 0; k + 1 < times.length; k++) {
    const length = times[k + 1]! - times[k]!;
    if (length > limit) gaps.push({ after: k, length });
  }
  return gaps;
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
