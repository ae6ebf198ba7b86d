import { TwinkeelError, type Warning } from '../error.js';
import { medianInterval } from '../track/times.js';

/** Rows with one stamp, or late, up to this share are a logger's slip; more are a clock too coarse. */
const FEW = 0.1;
/** How far a row may come late, s (our judgement). */
const LATE = 0.5;

/** Rows of a sensor in the order of their stamps. */
export interface OrderedRows {
  readonly times: Float64Array;
  /** Row of the file that a sample came from; the first of those that were averaged. */
  readonly rowOf: (sample: number) => number;
  /** Puts the vectors of the rows into the same order; equal stamps are averaged. */
  readonly arrange: (vectors: Float64Array) => Float64Array;
  readonly warnings: readonly Warning[];
}

/**
 * Rows of a log by increasing time: a few rows that come late are put where they belong, and rows
 * with one stamp become one, their mean.
 *
 * @param times - seconds as the rows have them; length n
 * @param lineOf - line of the file that a row came from
 * @throws TwinkeelError `track/time-order` where more than a tenth of the rows share a stamp or come
 *   late, or one comes more than half a second late
 */
export function orderRows(times: Float64Array, lineOf: (row: number) => number): OrderedRows {
  if (increases(times)) {
    return { times, rowOf: (sample) => sample, arrange: (vectors) => vectors, warnings: [] };
  }
  const n = times.length;
  let late = 0;
  let latest = Number.NEGATIVE_INFINITY;
  let wrong = -1;
  let twice = 0;
  for (let k = 0; k < n; k++) {
    const time = times[k]!;
    if (time < latest) {
      late++;
      if (wrong < 0) wrong = k;
      if (latest - time > LATE) throw outOfOrder(lineOf(k), time, latest);
    } else latest = time;
  }
  const order = Int32Array.from({ length: n }, (_, k) => k);
  if (late > 0) order.sort((a, b) => times[a]! - times[b]! || a - b);
  const starts: number[] = [];
  let again = -1;
  for (let k = 0; k < n; k++) {
    const fresh = k === 0 || times[order[k]!]! !== times[order[k - 1]!]!;
    if (fresh) starts.push(k);
    else {
      if (twice === 0) again = order[k]!;
      twice++;
    }
  }
  if (late > FEW * n) throw outOfOrder(lineOf(wrong), times[wrong]!, times[wrong - 1]!);
  if (twice > FEW * n) throw coarseClock(lineOf(again), times[again]!, twice, n);
  const ordered = Float64Array.from(starts, (k) => times[order[k]!]!);
  return {
    times: ordered,
    rowOf: (sample) => order[starts[sample]!]!,
    arrange: (vectors) => averaged(vectors, order, starts),
    warnings: [stampWarning(late, twice, ordered)],
  };
}

function increases(times: Float64Array): boolean {
  for (let k = 1; k < times.length; k++) if (!(times[k]! > times[k - 1]!)) return false;
  return true;
}

function averaged(vectors: Float64Array, order: Int32Array, starts: readonly number[]) {
  const out = new Float64Array(3 * starts.length);
  starts.forEach((start, j) => {
    const end = starts[j + 1] ?? order.length;
    for (let k = start; k < end; k++) {
      for (let axis = 0; axis < 3; axis++) {
        out[3 * j + axis]! += vectors[3 * order[k]! + axis]! / (end - start);
      }
    }
  });
  return out;
}

function stampWarning(late: number, twice: number, times: Float64Array): Warning {
  const rows = (count: number) => `${count} row${count === 1 ? '' : 's'}`;
  const said = [
    ...(late > 0 ? [`${rows(late)} came late and went where the stamps say`] : []),
    ...(twice > 0 ? [`${rows(twice)} had the stamp of another and became one with it`] : []),
  ];
  const interval = times.length > 1 ? medianInterval(times) * 1000 : 0;
  return {
    code: 'log/stamps',
    message: `${said.join('; ')} (rows are ${interval.toFixed(2)} ms apart)`,
  };
}

function outOfOrder(line: number, time: number, latest: number): TwinkeelError {
  return new TwinkeelError('track/time-order', {
    line,
    column: 'time',
    found: `${time} s after ${latest} s`,
    expected: 'times that increase, but for a few rows that come up to half a second late',
    remedy: 'split the file where a new recording starts, or sort its rows by time',
  });
}

function coarseClock(line: number, time: number, twice: number, count: number): TwinkeelError {
  return new TwinkeelError('track/time-order', {
    line,
    column: 'time',
    found: `the time ${time} s twice, and ${twice} of ${count} rows with the stamp of another`,
    expected: 'a stamp of its own for every row, but for a few slips',
    remedy:
      'export finer stamps, or count the rows instead: time: frames at the rate of the sensor',
  });
}
