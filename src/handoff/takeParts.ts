import type { Stretch } from '../comfort/stretches.js';
import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import { requireFiniteFigures } from '../track/finite.js';
import type { FrameRate } from '../track/frameRate.js';
import { formatTimecode, parseTimecode } from '../track/timecode.js';
import { framesOf } from './poses.js';

/** A stretch of a take as an editor counts it. */
export interface TakePart {
  readonly stretch: Stretch;
  /** Frames from the result's first one to the stretch's first. */
  readonly start: number;
  /** How many frames it has. */
  readonly count: number;
}

/** How the movie is counted. */
export interface MovieClock {
  /** Time code of the movie's first frame, for editors; `;` before the frames drops labels; default 00:00:00:00. */
  readonly timecode?: string;
  /** Number of the movie's first frame, for ffmpeg and editors; default: the result's first. */
  readonly firstFrame?: number;
}

/** The stretches of a take counted in frames, and the time code of each frame. */
export interface TakeParts {
  /** In order; together they hold every frame of the result. */
  readonly parts: readonly TakePart[];
  /** How many frames the result has. */
  readonly count: number;
  readonly rate: FrameRate;
  /** Frames from 00:00:00:00 to the movie's first one, by its time code. */
  readonly movieStart: number;
  /** Frames from 00:00:00:00 to the result's first one. */
  readonly takeStart: number;
  /** Whether the time code drops labels. */
  readonly dropFrame: boolean;
  /** The time code of a frame, counted from the result's first one. */
  readonly codeAt: (frame: number) => string;
}

/**
 * The stretches of a result as an editor counts them.
 *
 * @param result - of {@link correct}, with an exact frame rate
 * @param clock - how the movie is counted
 * @throws TwinkeelError `argument/invalid` without an exact frame rate or without stretches, or for
 *   a movie that begins after the result, `timecode/invalid`
 */
export function takeParts(result: CorrectionResult, clock: MovieClock = {}): TakeParts {
  const { frameRate: rate } = result.corrections;
  if (!rate) {
    throw new TwinkeelError('argument/invalid', {
      found: 'a result without an exact frame rate',
      expected: 'a frame rate such as 60000/1001, to count its stretches in frames',
      remedy: 'correct the clip with --rate',
    });
  }
  const { parts, count } = stretchesInFrames(result);
  const before = framesBefore(result, clock);
  // A clock says the movie's first frame, a result its own.
  const timecode = clock.timecode ?? result.timecode ?? '00:00:00:00';
  const own = clock.timecode === undefined && result.timecode !== undefined;
  const movieStart = parseTimecode(timecode, rate) - (own ? before : 0);
  const takeStart = movieStart + before;
  const dropFrame = /[;.]\d+\s*$/.test(timecode);
  return {
    ...{ parts, count, rate, movieStart, takeStart, dropFrame },
    codeAt: (frame) => formatTimecode(takeStart + frame, rate, dropFrame),
  };
}

/** Frames of the movie before the result's first one. */
function framesBefore(result: CorrectionResult, { firstFrame }: MovieClock): number {
  const first = framesOf(result)[0]!;
  const before = first - (firstFrame ?? first);
  if (Number.isInteger(before) && before >= 0) return before;
  throw new TwinkeelError('argument/invalid', {
    frame: first,
    found: `a movie that begins with frame ${firstFrame}`,
    expected: 'a whole number, and a movie that holds every frame of the result',
    remedy: 'correct the number of the movie’s first frame, or trim the result',
  });
}

const VERDICTS: readonly string[] = ['usable', 'with care', 'not usable'];

/**
 * The stretches counted in frames from the result's first one; a frame number that is missing belongs to the
 * stretch before it.
 *
 * @throws TwinkeelError `argument/invalid` where they are none, or are not those of the frames
 */
export function stretchesInFrames(
  result: Pick<CorrectionResult, 'corrections' | 'stretches'>,
): Pick<TakeParts, 'parts' | 'count'> {
  const { stretches } = result;
  requireFiniteFigures(stretches, 'stretches');
  const frames = framesOf(result);
  const [first, last] = [frames[0]!, frames[frames.length - 1]!];
  const starts = [...stretches.map(({ fromFrame }) => fromFrame), last + 1];
  if (!cover(frames, stretches)) {
    const found = stretches.map(({ fromFrame, toFrame }) => `${fromFrame} to ${toFrame}`);
    throw new TwinkeelError('argument/invalid', {
      found:
        found.length === 0
          ? 'a result without stretches'
          : `the stretches ${found.slice(0, 4).join(', ')}${found.length > 4 ? ' …' : ''}`,
      expected: `usable and unusable stretches that cover the frames ${first} to ${last}`,
      remedy: 'correct the clip again with this release',
    });
  }
  return {
    parts: stretches.map((stretch, k) => ({
      stretch,
      start: starts[k]! - first,
      count: starts[k + 1]! - starts[k]!,
    })),
    count: last + 1 - first,
  };
}

/** Whether stretches are in order, begin and end with the frames, and leave none of them out. */
function cover(frames: Int32Array, stretches: readonly Stretch[]): boolean {
  const sound = stretches.every(
    ({ fromFrame, toFrame, verdict }, k) =>
      Number.isInteger(fromFrame) &&
      Number.isInteger(toFrame) &&
      fromFrame <= toFrame &&
      toFrame < (stretches[k + 1]?.fromFrame ?? Number.POSITIVE_INFINITY) &&
      VERDICTS.includes(verdict),
  );
  if (!sound || stretches[0]?.fromFrame !== frames[0]) return false;
  let k = 0;
  for (const frame of frames) {
    while (k < stretches.length && frame > stretches[k]!.toFrame) k++;
    if (k === stretches.length || frame < stretches[k]!.fromFrame) return false;
  }
  return stretches[k]!.toFrame === frames[frames.length - 1] && k === stretches.length - 1;
}
