import type { Stretch } from '../comfort/stretches.js';
import { judge } from '../comfort/verdict.js';
import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import type { FrameRate } from '../track/frameRate.js';
import { formatTimecode, parseTimecode } from '../track/timecode.js';
import { framesOf } from './poses.js';

/**
 * The same result for a part of the clip: what an editor has cut needs no other rotations.
 * Stretches are cut to it, each with the figure of the whole stretch, and it is judged by them; other
 * figures and warnings stay those of the whole clip.
 *
 * @param result - of {@link index!correct}
 * @param from - number of the first frame to keep
 * @param to - number of the last frame to keep
 * @returns frames `from` to `to`, both included; seconds count from the first of them
 * @throws TwinkeelError `argument/invalid` when no frame lies between them
 * @example
 * trimResult(result, 60, 119).corrections.times.length; // 60
 */
export function trimResult(result: CorrectionResult, from: number, to: number): CorrectionResult {
  const frames = framesOf(result);
  const first = frames.findIndex((frame) => frame >= from);
  const after = frames.findIndex((frame) => frame > to);
  const end = after < 0 ? frames.length : after;
  if (!(from <= to) || first < 0 || first >= end) {
    throw new TwinkeelError('argument/invalid', {
      found: `the frames ${from} to ${to}`,
      expected: `a part of the clip's frames ${frames[0]} to ${frames[frames.length - 1]}`,
      remedy:
        'correct the numbers; time codes count from 00:00:00:00 unless --timecode names that of the first frame',
    });
  }
  const start = result.corrections.times[first]!;
  const times = result.corrections.times.slice(first, end).map((time) => time - start);
  const part = (quaternions: Float64Array) => quaternions.slice(4 * first, 4 * end);
  const quaternions = part(result.corrections.quaternions);
  const { startNs } = result.intended;
  const { timecode } = result;
  const { frameRate } = result.corrections;
  const cut = { times, frames: frames.slice(first, end) };
  const kept = {
    ...result,
    corrections: { ...result.corrections, ...cut, quaternions },
    intended: {
      ...result.intended,
      ...cut,
      quaternions: part(result.intended.quaternions),
      ...(startNs !== undefined && { startNs: startNs + BigInt(Math.round(start * 1e9)) }),
    },
    moves: movesWithin(result.moves, start, times[times.length - 1]!),
    ...(timecode !== undefined && frameRate && { timecode: later(timecode, frameRate, first) }),
    stretches: stretchesWithin(result.stretches, {
      frames: cut.frames,
      start,
      end: result.corrections.times[end] ?? Number.POSITIVE_INFINITY,
    }),
  };
  // What was cut away speaks neither for nor against the rest.
  return { ...kept, ...judge(kept) };
}

/** The time code some frames on. */
function later(timecode: string, rate: FrameRate, frames: number): string {
  return formatTimecode(parseTimecode(timecode, rate) + frames, rate, /[;.]/.test(timecode));
}

/** What happens in the part that is kept. */
function movesWithin(
  moves: CorrectionResult['moves'],
  start: number,
  end: number,
): CorrectionResult['moves'] {
  return moves
    .filter(({ fromSeconds, toSeconds }) => toSeconds >= start && fromSeconds <= start + end)
    .map((move) => ({
      ...move,
      fromSeconds: Math.max(0, move.fromSeconds - start),
      toSeconds: Math.min(end, move.toSeconds - start),
    }));
}

/** The stretches of the frames that are kept; seconds count from the first of them. */
function stretchesWithin(
  stretches: readonly Stretch[],
  { frames, start, end }: { frames: Int32Array; start: number; end: number },
): Stretch[] {
  const [first, last] = [frames[0]!, frames[frames.length - 1]!];
  return stretches
    .filter(({ fromFrame, toFrame }) => fromFrame <= last && toFrame >= first)
    .map((stretch) => ({
      ...stretch,
      fromFrame: Math.max(stretch.fromFrame, first),
      toFrame: Math.min(stretch.toFrame, last),
      fromSeconds: Math.max(stretch.fromSeconds, start) - start,
      toSeconds: Math.min(stretch.toSeconds, end) - start,
    }));
}
