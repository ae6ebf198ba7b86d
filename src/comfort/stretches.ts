import type { MomentaryFigure } from './moments.js';

/** What a part of a take is good for. */
export type StretchVerdict = 'usable' | 'with care' | 'not usable';

/** Whose doing a stretch is. */
export type StretchCause = 'operator' | 'tracker' | 'settings' | 'rig';

/** A part of a take with one verdict and one cause; together they cover the take without gaps. */
export interface Stretch {
  /** First frame: its number where the track has them, else counted from 0. */
  readonly fromFrame: number;
  /** Last frame. */
  readonly toFrame: number;
  /** Seconds of the first frame. */
  readonly fromSeconds: number;
  /** Seconds of the frame after the last. */
  readonly toSeconds: number;
  /** What it is good for. */
  readonly verdict: StretchVerdict;
  /** For all but usable stretches: who causes it, in what, how much, against which threshold. */
  readonly because?: {
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
  };
}

/** What stretches are cut from. */
export interface StretchInput {
  readonly times: Float64Array;
  readonly frames?: Int32Array;
  readonly figures: readonly MomentaryFigure[];
  /** How far a limit, an aim key or less levelling keeps the view from the calm path at each frame, degrees. */
  readonly heldBackDeg: Float64Array;
  /** Whether levelling was asked for in full. */
  readonly levelled: boolean;
}

/** A level once reached is left below this share of its threshold, so that stretches do not flicker. */
const HYSTERESIS = 0.8;
/** A better moment shorter than this between worse ones belongs to them, s (our judgement). */
const SHORTEST = 1;
/** Held back by this much, what is left in view is the doing of the settings, degrees (our judgement). */
const HELD_BACK_DEG = 0.5;

const VERDICTS: readonly StretchVerdict[] = ['usable', 'with care', 'not usable'];

/**
 * Cuts a take into stretches. Each figure has a level at each frame, the worst figure decides, and
 * raising any figure anywhere never makes a frame better.
 *
 * @returns in order, from the first frame to the last; cost O(n)
 */
export function cutIntoStretches(input: StretchInput): Stretch[] {
  const { times, frames, figures } = input;
  const n = times.length;
  const level = new Uint8Array(n);
  for (const figure of figures) {
    levelsOf(figure).forEach((each, k) => {
      level[k] = Math.max(level[k]!, each);
    });
  }
  const interval = n > 1 ? times[n - 1]! / (n - 1) : 0;
  bridgeBetter(level, Math.round(SHORTEST / Math.max(interval, 1e-9)));
  const out: Stretch[] = [];
  for (let from = 0; from < n; ) {
    let to = from;
    while (to < n && level[to] === level[from]) to++;
    const because = level[from] === 0 ? undefined : reasonOf(input, from, to, level[from]!);
    out.push({
      fromFrame: frames ? frames[from]! : from,
      toFrame: frames ? frames[to - 1]! : to - 1,
      fromSeconds: times[from]!,
      toSeconds: times[to - 1]! + interval,
      verdict: VERDICTS[level[from]!]!,
      ...(because && { because }),
    });
    from = to;
  }
  return out;
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

/** The figure that weighs most in a stretch of a level, and whose doing it is. */
function reasonOf(
  { figures, heldBackDeg, levelled }: StretchInput,
  from: number,
  to: number,
  level: number,
): NonNullable<Stretch['because']> {
  const largest = (values: Float64Array) =>
    values.subarray(from, to).reduce((most, value) => Math.max(most, value), 0);
  let worst = figures[0]!;
  let weight = -1;
  for (const figure of figures) {
    const share = largest(figure.values) / (level === 2 ? figure.bad : figure.care);
    if (share > weight) [worst, weight] = [figure, share];
  }
  const own =
    worst.figure === 'horizon off level' && !levelled
      ? true
      : worst.cause === 'operator' && largest(heldBackDeg) > HELD_BACK_DEG;
  return {
    cause: own ? 'settings' : worst.cause,
    figure: worst.figure,
    value: largest(worst.values),
    unit: worst.unit,
    threshold: level === 2 ? worst.bad : worst.care,
    source: worst.source,
  };
}
