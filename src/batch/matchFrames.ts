import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import type { Movie } from '../files/movie.js';
import { framesOf } from '../handoff/poses.js';
import { type FrameRate, formatFrameRate } from '../track/frameRate.js';
import type { FrameSpan } from './frameSpan.js';

/** Which frames of a movie are steadied, and by which corrections. */
export interface FrameMatch {
  /** Index of the first of the movie's frames, from 0; the others follow without a gap. */
  readonly from: number;
  /** For each of them the index of its correction in the result. */
  readonly corrections: Int32Array;
  /** Whether the movie's frames are evenly spaced. */
  readonly constant: boolean;
  /** Seconds between frames; the middle one where they differ. */
  readonly stepS: number;
}

/** How a movie and a result belong together. */
export interface MatchOptions {
  /** Number of the movie's first frame; default: the result's first. */
  readonly movieStarts?: number;
  /** Only these frames, by the result's numbers. */
  readonly span?: FrameSpan;
}

/**
 * Finds the correction of every frame by time stamps, and refuses a movie that cannot be the one
 * that was tracked: of another rate, too short, too long.
 *
 * @throws TwinkeelError `movie/unfit` with both numbers and what to do
 */
export function matchFrames(
  movie: Movie,
  result: CorrectionResult,
  { movieStarts, span }: MatchOptions = {},
): FrameMatch {
  const numbers = framesOf(result);
  const constant = isConstant(movie);
  const stepS = middleStep(movie);
  const { frameRate } = result.corrections;
  if (frameRate) requireRate(movie, frameRate, constant, stepS);
  const resultStepS = frameRate ? frameRate.denominator / frameRate.numerator : stepS;
  const lead = numbers[0]! - (movieStarts ?? numbers[0]!);
  const taken =
    constant && frameRate
      ? byNumber(movie, numbers, lead)
      : byTime(movie, result.corrections.times, lead * resultStepS, resultStepS);
  const wanted = span && requireSpan(span, numbers);
  const kept = Array.from(taken.keys()).filter((frame) => {
    const k = taken[frame]!;
    return k >= 0 && (!wanted || (k >= wanted.first && k <= wanted.last));
  });
  const from = kept[0];
  if (from === undefined) {
    throw unfit(
      movie,
      `${movie.stamps.length} frames, none of which has a correction`,
      `the movie that was tracked, with frames ${numbers[0]} to ${numbers.at(-1)}`,
      'take the result that belongs to the movie, or say with which frame the movie begins: --movie-starts N',
    );
  }
  const last = kept.at(-1)!;
  const explicit = span !== undefined || movieStarts !== undefined;
  refuseGaps(movie, kept, from, last);
  refuseUncovered(movie, numbers, { first: taken[from]!, last: taken[last]! }, wanted);
  if (!explicit && kept.length < movie.stamps.length) {
    throw unfit(
      movie,
      `${movie.stamps.length} frames`,
      `${kept.length}, as many as the corrections are for`,
      `take the movie that was tracked; if the corrections are for its frames ${numbers[0]} to ${numbers.at(-1)} only, say so: --frames ${numbers[0]}..${numbers.at(-1)}`,
    );
  }
  return { from, corrections: Int32Array.from(kept, (frame) => taken[frame]!), constant, stepS };
}

/** A movie is constant when no stamp lies more than its rounding off an even spacing. */
export function isConstant({ stamps }: Pick<Movie, 'stamps'>): boolean {
  const n = stamps.length;
  const step = (stamps[n - 1]! - stamps[0]!) / Math.max(1, n - 1);
  // Each stamp is rounded by up to half a tick, and so are the two ends that tell the step.
  return stamps.every((stamp, k) => Math.abs(stamp - stamps[0]! - k * step) <= 1 + 1e-6);
}

/** The middle one of the steps between frames, s; of one frame what the file states. */
function middleStep({ stamps, tick, rate }: Movie): number {
  if (stamps.length < 2) return rate ? rate.denominator / rate.numerator : 1;
  const n = stamps.length;
  const seconds = tick.numerator / tick.denominator;
  if (isConstant({ stamps })) return ((stamps[n - 1]! - stamps[0]!) / (n - 1)) * seconds;
  const steps = stamps.slice(1).map((stamp, k) => stamp - stamps[k]!);
  return steps.sort()[steps.length >> 1]! * seconds;
}

/** How far the middle step of a movie of variable rate may lie off the corrections' (our judgement). */
const VARIABLE_SHARE = 0.2;

/** Refuses a movie whose rate is not that of the corrections. */
function requireRate(movie: Movie, corrections: FrameRate, constant: boolean, stepS: number): void {
  const { stamps, tick, rate } = movie;
  const wanted = corrections.denominator / corrections.numerator;
  // How far rounding of the two end stamps, half a tick each, moves the mean step.
  const blur = tick.numerator / tick.denominator / Math.max(1, stamps.length - 1);
  const near = constant
    ? Math.abs(stepS - wanted) <= blur + 1e-9 * wanted
    : Math.abs(stepS / wanted - 1) <= VARIABLE_SHARE;
  // A short clip with coarse stamps cannot tell 60 from 60000/1001, but its header can.
  const stated = constant && rate && [1, 1001].includes(rate.denominator) ? rate : undefined;
  const same =
    !stated ||
    stated.numerator * corrections.denominator === corrections.numerator * stated.denominator;
  if (near && same) return;
  const shown = stated ? formatFrameRate(stated) : (1 / stepS).toFixed(3).replace(/\.?0+$/, '');
  throw unfit(
    movie,
    `${shown} frames per second${constant ? '' : ' (variable, the middle one)'}`,
    `${formatFrameRate(corrections)}, the rate of the corrections`,
    'take the movie that was tracked at its own rate, or correct the track again with the rate of this one',
  );
}

/** By counting: evenly spaced frames of the same exact rate. −1 where no correction is. */
function byNumber({ stamps }: Movie, numbers: Int32Array, lead: number): Int32Array {
  const places = new Map(Array.from(numbers, (number, k) => [number - numbers[0]!, k]));
  return Int32Array.from(stamps, (_, frame) => places.get(frame - lead) ?? -1);
}

/** The nearest correction within half a step of the corrections. −1 where none is. */
function byTime(
  { stamps, tick }: Movie,
  times: Float64Array,
  leadS: number,
  stepS: number,
): Int32Array {
  const seconds = tick.numerator / tick.denominator;
  let k = 0;
  return Int32Array.from(stamps, (stamp) => {
    const time = (stamp - stamps[0]!) * seconds - leadS;
    while (k + 1 < times.length && Math.abs(times[k + 1]! - time) <= Math.abs(times[k]! - time)) {
      k++;
    }
    // Half a frame, and the rounding of the stamp itself.
    return Math.abs(times[k]! - time) <= stepS / 2 + seconds ? k : -1;
  });
}

/** The span as indexes of the result; refuses what the result does not hold. */
function requireSpan(
  { from, to }: FrameSpan,
  numbers: Int32Array,
): { first: number; last: number } {
  const first = numbers.findIndex((number) => number >= from);
  const after = numbers.findIndex((number) => number > to);
  const last = (after < 0 ? numbers.length : after) - 1;
  const beyond =
    (Number.isFinite(from) && from < numbers[0]!) ||
    (Number.isFinite(to) && to > numbers.at(-1)!) ||
    first < 0 ||
    last < first;
  if (!beyond) return { first, last };
  throw new TwinkeelError('argument/invalid', {
    found: `the frames ${from} to ${to}`,
    expected: `a part of the corrections' frames ${numbers[0]} to ${numbers.at(-1)}`,
    remedy: 'correct the numbers of --frames',
  });
}

function refuseGaps(movie: Movie, kept: readonly number[], from: number, last: number): void {
  if (last - from + 1 === kept.length) return;
  const frame = kept.find((each, k) => each !== from + k)! - 1;
  throw new TwinkeelError('movie/unfit', {
    file: movie.path,
    frame,
    timeS: secondsAt(movie, frame),
    found: 'a frame that no correction is within half a frame of',
    expected: 'a correction for every frame between the first and the last',
    remedy: 'take the movie that was tracked, or correct the track again with its own time stamps',
  });
}

/** Refuses a movie that ends before its corrections do, or begins after them. */
function refuseUncovered(
  movie: Movie,
  numbers: Int32Array,
  got: { readonly first: number; readonly last: number },
  wanted = { first: 0, last: numbers.length - 1 },
): void {
  if (got.first === wanted.first && got.last === wanted.last) return;
  const count = wanted.last - wanted.first + 1;
  throw unfit(
    movie,
    `${got.last - got.first + 1} of the ${count} frames that the corrections are for (a movie of ${movie.stamps.length} frames)`,
    `frames ${numbers[wanted.first]} to ${numbers[wanted.last]}`,
    `take the whole movie that was tracked, or only what is there: --frames ${numbers[got.first]}..${numbers[got.last]}`,
  );
}

function secondsAt({ stamps, tick }: Movie, frame: number): number {
  const seconds = ((stamps[frame]! - stamps[0]!) * tick.numerator) / tick.denominator;
  return Number(seconds.toFixed(4));
}

function unfit(movie: Movie, found: string, expected: string, remedy: string): TwinkeelError {
  return new TwinkeelError('movie/unfit', { file: movie.path, found, expected, remedy });
}
