import { extname } from 'node:path';
import type { CorrectionResult } from '../correct.js';
import type { Movie } from '../files/movie.js';
import type { FrameRate } from '../track/frameRate.js';
import type { FrameMatch } from './matchFrames.js';

/** When the frames of a new movie are shown, and which part of the sound goes with them. */
export interface MovieTiming {
  /** When each frame is shown, ticks. */
  readonly stamps: readonly number[];
  /** When the last one ends, ticks. */
  readonly end: number;
  /** Seconds of a tick, as a fraction. */
  readonly tick: FrameRate;
  /** Frames per second, nominal where they vary. */
  readonly rate: FrameRate;
  /** Seconds of sound before the first frame. */
  readonly startS: number;
  /** The part of the sound that stays; all of it when left out. */
  readonly sound?: { readonly fromS: number; readonly lengthS: number };
}

/** When each frame of the new movie is shown, in ticks that its container can count. */
export function timingOf(
  movie: Movie,
  result: CorrectionResult,
  { from, corrections, constant, stepS }: FrameMatch,
  out: string,
): MovieTiming {
  const count = corrections.length;
  const seconds = movie.tick.numerator / movie.tick.denominator;
  const stated = result.corrections.frameRate ?? movie.rate;
  // A constant movie whose stamps were rounded gets its exact ones back.
  const exact = constant && stated && agrees(stated, stepS, movie) ? stated : undefined;
  const tick = tickOf(movie, exact, out);
  const ticks = (timeS: number) => Math.round((timeS * tick.denominator) / tick.numerator);
  const timeOf = (k: number) =>
    exact
      ? (k * exact.denominator) / exact.numerator
      : (movie.stamps[from + k]! - movie.stamps[from]!) * seconds;
  const stamps = Array.from({ length: count }, (_, k) => ticks(timeOf(k)));
  const lastS = timeOf(count - 1) + (exact ? exact.denominator / exact.numerator : stepS);
  const firstS = movie.stamps[from]! * seconds;
  // From the movie's own beginning its start is kept, later it begins with its first frame.
  const startS = from === 0 ? Math.max(0, ticks(firstS - movie.startS)) / ticks(1) : 0;
  const cut = from > 0 || count < movie.stamps.length;
  return {
    stamps,
    end: ticks(lastS),
    tick,
    rate: exact ?? { numerator: Math.max(1, Math.round(1000 / stepS)), denominator: 1000 },
    startS,
    ...(cut && {
      sound: { fromS: from === 0 ? 0 : firstS - movie.startS, lengthS: startS + lastS },
    }),
  };
}

/** Whether a stated rate is that of the stamps, as far as their rounding lets it be told. */
function agrees(
  { numerator, denominator }: FrameRate,
  stepS: number,
  { stamps, tick }: Movie,
): boolean {
  const blur = tick.numerator / tick.denominator / Math.max(1, stamps.length - 1);
  return Math.abs(denominator / numerator - stepS) <= blur + 1e-9 * stepS;
}

/** Matroska counts in milliseconds; mov files in whatever they are told, best what divides the rate. */
function tickOf({ tick }: Movie, exact: FrameRate | undefined, out: string): FrameRate {
  if (extname(out).toLowerCase() === '.mkv') return { numerator: 1, denominator: 1000 };
  if (exact) {
    const times = Math.ceil(LEAST_TIMESCALE / exact.numerator);
    return { numerator: 1, denominator: exact.numerator * times };
  }
  return tick.numerator === 1 && tick.denominator >= 1000 && tick.denominator <= 1e6
    ? tick
    : { numerator: 1, denominator: 90_000 };
}

/** Ticks per second below which sound and picture could not be told apart finely. */
const LEAST_TIMESCALE = 10_000;
