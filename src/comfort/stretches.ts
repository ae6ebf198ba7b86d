import type { FrameRate } from '../track/frameRate.js';
import { formatTimecode, parseTimecode } from '../track/timecode.js';
import type { StretchCause } from './criteria.js';
import type { MomentaryFigure } from './moments.js';

/** What a part of a take is good for. */
export type StretchVerdict = 'usable' | 'with care' | 'not usable';

export type { StretchCause } from './criteria.js';

/** What speaks against a stretch. */
export interface StretchReason {
  /** Whose doing it is. */
  readonly cause: StretchCause;
  /** What was judged, in words. */
  readonly figure: string;
  /** The largest of the stretch. */
  readonly value: number;
  /** Unit of value and threshold. */
  readonly unit: string;
  /** The value that was passed. */
  readonly threshold: number;
  /** Where the threshold comes from. */
  readonly source: string;
  /** What other settings would do now, found by trying them. */
  readonly now?: string;
  /** What to do on set next time. */
  readonly nextTime: string;
}

/** A part of a take with one verdict and one reason; together they cover the take without gaps. */
export interface Stretch {
  /** First frame: its number where the track has them, else counted from 0. */
  readonly fromFrame: number;
  /** Last frame. */
  readonly toFrame: number;
  /** Seconds of the first frame. */
  readonly fromSeconds: number;
  /** Seconds of the frame after the last. */
  readonly toSeconds: number;
  /** Time code of the first frame, where that of the clip is known. */
  readonly fromTimecode?: string;
  /** Time code of the frame after the last. */
  readonly toTimecode?: string;
  /** What it is good for. */
  readonly verdict: StretchVerdict;
  /** For all but usable stretches: who causes it, in what, how much, against which threshold. */
  readonly because?: StretchReason;
}

/** What stretches are cut from. */
export interface StretchInput {
  readonly times: Float64Array;
  readonly frames?: Int32Array;
  readonly figures: readonly MomentaryFigure[];
}

/** A level once reached is left below this share of its threshold, so that stretches do not flicker. */
const HYSTERESIS = 0.8;
/** A better moment, or another reason, shorter than this belongs to what surrounds it, s (our judgement). */
const SHORTEST = 1;

const VERDICTS: readonly StretchVerdict[] = ['usable', 'with care', 'not usable'];

/**
 * Cuts a take into stretches. Each figure has a level at each frame, the worst figure decides, and
 * raising any figure anywhere never makes a frame better.
 *
 * @returns in order, from the first frame to the last; cost O(n)
 */
export function cutIntoStretches({ times, frames, figures }: StretchInput): Stretch[] {
  const n = times.length;
  const levels = figures.map(levelsOf);
  const level = new Uint8Array(n);
  for (const each of levels) {
    each.forEach((value, k) => {
      level[k] = Math.max(level[k]!, value);
    });
  }
  const interval = n > 1 ? times[n - 1]! / (n - 1) : 0;
  const shortest = Math.round(SHORTEST / Math.max(interval, 1e-9));
  bridgeBetter(level, shortest);
  const reasons = weightiestFigures(level, levels, figures);
  absorbShort(level, reasons, shortest);
  const out: Stretch[] = [];
  for (let from = 0; from < n; ) {
    let to = from;
    while (to < n && level[to] === level[from] && reasons[to] === reasons[from]) to++;
    out.push({
      fromFrame: frames ? frames[from]! : from,
      toFrame: frames ? frames[to - 1]! : to - 1,
      fromSeconds: times[from]!,
      toSeconds: times[to - 1]! + interval,
      verdict: VERDICTS[level[from]!]!,
      ...(level[from]! > 0 && {
        because: reasonOf(figures[reasons[from]!]!, from, to, level[from]!),
      }),
    });
    from = to;
  }
  return out;
}

/**
 * The same stretches with their time codes.
 *
 * @param timecode - of the clip's first frame; `;` before its frames means drop-frame
 * @throws TwinkeelError `timecode/invalid`
 */
export function withTimecodes(
  stretches: readonly Stretch[],
  timecode: string,
  rate: FrameRate,
): Stretch[] {
  const first = parseTimecode(timecode, rate);
  const drops = /[;.]/.test(timecode);
  const start = stretches[0]?.fromFrame ?? 0;
  const of = (frame: number) => formatTimecode(first + frame - start, rate, drops);
  return stretches.map((stretch) => ({
    ...stretch,
    fromTimecode: of(stretch.fromFrame),
    toTimecode: of(stretch.toFrame + 1),
  }));
}

/** The largest of a figure's values from one frame to before another. */
export function largestWithin(values: Float64Array, from: number, to: number): number {
  return values.subarray(from, to).reduce((most, value) => Math.max(most, value), 0);
}

/** 0, 1 or 2 at each frame, with hysteresis in both directions of time. */
function levelsOf({ values, care, bad }: MomentaryFigure): Uint8Array {
  const levels = Uint8Array.from(values, (value) => (value > bad ? 2 : value > care ? 1 : 0));
  const keep = (k: number, neighbour: number) => {
    const value = values[k]!;
    if (neighbour === 2 && value > HYSTERESIS * bad) levels[k] = 2;
    else if (neighbour >= 1 && value > HYSTERESIS * care) levels[k] = Math.max(levels[k]!, 1);
  };
  for (let k = 1; k < levels.length; k++) keep(k, levels[k - 1]!);
  for (let k = levels.length - 2; k >= 0; k--) keep(k, levels[k + 1]!);
  return levels;
}

/** Short better moments between worse ones take the lesser level of their neighbours. */
function bridgeBetter(level: Uint8Array, shortest: number): void {
  for (const least of [2, 1]) {
    let last = -1;
    for (let k = 0; k < level.length; k++) {
      if (level[k]! < least) continue;
      if (last >= 0 && k - last > 1 && k - last <= shortest) {
        for (let j = last + 1; j < k; j++) level[j] = least;
      }
      last = k;
    }
  }
}

/** No figure: at usable frames. */
const NONE = 255;

/**
 * Which figure weighs most at each frame: of those at the frame's level what a tracker or an operator
 * did, before what the rig makes of it, since that often lies over a whole take and would hide all else;
 * then the one furthest above its threshold.
 */
function weightiestFigures(
  level: Uint8Array,
  levels: readonly Uint8Array[],
  figures: readonly MomentaryFigure[],
): Uint8Array {
  return level.map((least, k) => {
    if (least === 0) return NONE;
    let [best, most] = [0, Number.NEGATIVE_INFINITY];
    figures.forEach(({ values, care, bad, cause }, f) => {
      const share = values[k]! / (least === 2 ? bad : care);
      const rank = (levels[f]![k]! >= least ? 2e6 : 0) + (cause === 'rig' ? 0 : 1e6);
      if (rank + share > most) [best, most] = [f, rank + share];
    });
    return best;
  });
}

/** Reasons that last shorter than a moment go over to the one before them, or at first after them. */
function absorbShort(level: Uint8Array, reasons: Uint8Array, shortest: number): void {
  const n = level.length;
  for (let from = 0; from < n; ) {
    let end = from;
    while (end < n && level[end] === level[from]) end++;
    if (level[from]! > 0) absorbWithin(reasons.subarray(from, end), shortest);
    from = end;
  }
}

function absorbWithin(reasons: Uint8Array, shortest: number): void {
  let before = NONE;
  for (let from = 0; from < reasons.length; ) {
    let to = from;
    while (to < reasons.length && reasons[to] === reasons[from]) to++;
    if (to - from >= shortest || (before === NONE && to === reasons.length))
      before = reasons[from]!;
    else if (before !== NONE) reasons.fill(before, from, to);
    else reasons.fill(reasons[to]!, from, to);
    // What went over to the reason after it is looked at again together with that.
    from = before === NONE ? 0 : to;
  }
}

/** What a figure says against the frames from one to before another. */
function reasonOf(
  { cause, figure, unit, care, bad, source, nextTime, values }: MomentaryFigure,
  from: number,
  to: number,
  level: number,
): StretchReason {
  const threshold = level === 2 ? bad : care;
  return {
    cause,
    figure,
    value: largestWithin(values, from, to),
    unit,
    threshold,
    source,
    nextTime,
  };
}
