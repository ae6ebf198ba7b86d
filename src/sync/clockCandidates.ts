import { quaternionFromMatrix } from '../rotation/matrix.js';
import type { Quaternion } from '../rotation/quaternion.js';
import { angularRate } from '../track/angularRate.js';
import type { MotionLog } from '../track/motionLog.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { COARSE_SAMPLE_RATE, findLags, inBand } from './coarseLag.js';
import { type LogStretch, logStretches, meanRates, searchGrid } from './searchGrid.js';

/** A clock to look at. */
export interface ClockCandidate {
  /** Log time less picture time, s. */
  readonly lag: number;
  readonly axes: Quaternion;
  /** How well the rates agree there, 0 to 1. */
  readonly score: number;
  /** The stretch of the log that covers most of the clip there. */
  readonly stretch: LogStretch;
}

/** Log and clip must share this much: seconds, or the whole clip where it is shorter. */
export const LEAST_SHARED = 3;
/** And this share of the clip. */
const LEAST_SHARE = 0.25;
/** Agreements that are looked at. */
const CANDIDATES = 24;

/** Seconds that log and clip must share. */
export function leastShared(duration: number): number {
  return Math.min(0.9 * duration, Math.max(LEAST_SHARED, LEAST_SHARE * duration));
}

/**
 * Lags at which a log agrees best with a picture, wherever it covers enough of the clip.
 *
 * @param picture - without wild frames
 * @param hint - log time less picture time, s, and how far it may be off
 */
export function clockCandidates(
  log: MotionLog,
  picture: OrientationTrack,
  hint?: { readonly value: number; readonly within: number },
): ClockCandidate[] {
  const duration = picture.times[picture.times.length - 1]!;
  const shared = leastShared(duration);
  const logEnd = log.times[log.times.length - 1]!;
  // Half a second more, so that the filter's ends lie outside.
  const between = hint
    ? { from: hint.value - hint.within - 0.5, to: hint.value + hint.within + duration + 0.5 }
    : { from: 0, to: logEnd };
  const grid = searchGrid(log, logStretches(log, shared), between, duration);
  if (grid.stretches.length === 0) return [];
  const cells = Math.floor(duration * COARSE_SAMPLE_RATE);
  const v = inBand(meanRates(picture.times, angularRate(picture, 'camera'), 0, cells));
  const g = new Float64Array(grid.rates.length);
  for (const { cell, cells: own } of grid.stretches) {
    g.set(inBand(grid.rates.subarray(3 * cell, 3 * (cell + own))), 3 * cell);
  }
  const [start] = grid.stretches;
  const cellOf = (time: number) => start!.cell + (time - start!.from) * COARSE_SAMPLE_RATE;
  const found = findLags(v, g, {
    count: CANDIDATES,
    overlap: Math.min(cells, Math.ceil(shared * COARSE_SAMPLE_RATE)),
    ...(hint && {
      from: Math.floor(cellOf(hint.value - hint.within)),
      to: Math.ceil(cellOf(hint.value + hint.within)),
    }),
  });
  return found.flatMap(({ lag, axes, score }) => {
    const covers = (one: { readonly cell: number; readonly cells: number }) =>
      Math.min(one.cell + one.cells, lag + cells) - Math.max(one.cell, lag);
    const best = grid.stretches.reduce((a, b) => (covers(b) > covers(a) ? b : a));
    if (covers(best) < shared * COARSE_SAMPLE_RATE - 1) return [];
    const whole = {
      first: best.first,
      last: best.last,
      from: log.times[best.first]!,
      to: log.times[best.last]!,
    };
    return [
      {
        lag: best.from + (lag - best.cell) / COARSE_SAMPLE_RATE,
        axes: quaternionFromMatrix(axes),
        score,
        stretch: whole,
      },
    ];
  });
}
