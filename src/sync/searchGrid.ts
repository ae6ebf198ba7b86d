import { TwinkeelError } from '../error.js';
import type { MotionLog } from '../track/motionLog.js';
import { COARSE_SAMPLE_RATE } from './coarseLag.js';

/** A stretch of a log without a hole that hides motion. */
export interface LogStretch {
  /** First and last row. */
  readonly first: number;
  readonly last: number;
  /** Log times of the two, s. */
  readonly from: number;
  readonly to: number;
}

/** A log on an even grid: its stretches with their filtered rates, holes left at zero. */
export interface SearchGrid {
  /** Mean rates in sensor axes, rad/s, length 3 · cells. */
  readonly rates: Float64Array;
  readonly stretches: readonly (LogStretch & { readonly cell: number; readonly cells: number })[];
}

/** Rows further apart than this do not see a step, s. */
const SPARSE = 0.5;
/** Most cells of a grid: 38 hours; the search takes seconds and a gigabyte there. */
const MOST_CELLS = 2 ** 22;

/** The stretches of a log in which rows follow each other densely, at least `shortest` seconds long. */
export function logStretches({ times }: MotionLog, shortest: number): LogStretch[] {
  const out: LogStretch[] = [];
  let first = 0;
  for (let k = 1; k <= times.length; k++) {
    if (k < times.length && times[k]! - times[k - 1]! <= SPARSE) continue;
    const stretch = { first, last: k - 1, from: times[first]!, to: times[k - 1]! };
    if (stretch.to - stretch.from >= shortest && k - 1 > first) out.push(stretch);
    first = k;
  }
  return out;
}

/**
 * Lays the stretches of a log, as far as they lie between two times, on one grid of
 * {@link COARSE_SAMPLE_RATE}. Holes keep their length, but for those in which the whole clip would vanish:
 * they are cut, so that a log of two evenings costs no more than what was logged.
 *
 * @param between - log times that matter, s
 * @param clip - seconds of the clip
 * @throws TwinkeelError `argument/invalid` for a log of days without a hint
 */
export function searchGrid(
  log: MotionLog,
  stretches: readonly LogStretch[],
  between: { readonly from: number; readonly to: number },
  clip: number,
): SearchGrid {
  const placed: (LogStretch & { cell: number; cells: number })[] = [];
  let next = 0;
  let end = 0;
  for (const stretch of stretches) {
    const from = Math.max(stretch.from, between.from);
    const to = Math.min(stretch.to, between.to);
    const cells = Math.floor((to - from) * COARSE_SAMPLE_RATE);
    if (cells < 1) continue;
    const hole = placed.length === 0 ? 0 : Math.min(from - end, clip + 1);
    const cell = next + Math.round(hole * COARSE_SAMPLE_RATE);
    placed.push({ ...stretch, from, to, cell, cells });
    next = cell + cells;
    end = to;
  }
  if (next > MOST_CELLS) {
    throw new TwinkeelError('argument/invalid', {
      found: `a log of ${(next / COARSE_SAMPLE_RATE / 3600).toFixed(0)} h to search`,
      expected: `at most ${Math.floor(MOST_CELLS / COARSE_SAMPLE_RATE / 3600)} h`,
      remedy: 'say how long before the clip the log starts, and how exactly that is known',
    });
  }
  const rates = new Float64Array(3 * next);
  for (const { first, last, from, cell, cells } of placed) {
    const times = log.times.subarray(first, last + 1);
    const own = log.rate.subarray(3 * first, 3 * last + 3);
    rates.set(meanRates(times, own, from, cells), 3 * cell);
  }
  return { rates, stretches: placed };
}

/** Mean rates over the cells from a time on, by differences of their integral. */
export function meanRates(
  times: Float64Array,
  rates: Float64Array,
  from: number,
  cells: number,
): Float64Array {
  const out = new Float64Array(3 * cells);
  let k = 0;
  // Rates are taken as constant around each row: from half-way before to half-way after it.
  const endOf = (row: number) =>
    row + 1 < times.length ? (times[row]! + times[row + 1]!) / 2 : Number.POSITIVE_INFINITY;
  let x = 0;
  let y = 0;
  let z = 0;
  for (let cell = 0; cell < cells; cell++) {
    const end = from + (cell + 1) / COARSE_SAMPLE_RATE;
    let time = from + cell / COARSE_SAMPLE_RATE;
    x = 0;
    y = 0;
    z = 0;
    while (endOf(k) <= time) k++;
    while (time < end) {
      const next = Math.min(endOf(k), end);
      x += rates[3 * k]! * (next - time);
      y += rates[3 * k + 1]! * (next - time);
      z += rates[3 * k + 2]! * (next - time);
      if (endOf(k) <= end) k++;
      time = next;
    }
    out[3 * cell] = x * COARSE_SAMPLE_RATE;
    out[3 * cell + 1] = y * COARSE_SAMPLE_RATE;
    out[3 * cell + 2] = z * COARSE_SAMPLE_RATE;
  }
  return out;
}
