import type { FrameRate } from '../track/frameRate.js';
import { parseTimecode } from '../track/timecode.js';
import { UsageError } from './usage.js';

/** Frames from the first to the last one kept, as numbers of the track. */
export interface FrameSpan {
  /** The first one. */
  readonly from: number;
  /** The last one, kept as well. */
  readonly to: number;
}

/**
 * A part of a clip from words: `120..480` by frame numbers, `01:00:02:00..01:00:10:00` by time
 * codes. Both ends are kept; an end left out is the clip's own.
 *
 * @param clip - its exact rate (for time codes), the number of its first frame, and the time code
 *   that frame carries (00:00:00:00 when left out)
 * @throws UsageError for other words, TwinkeelError `timecode/invalid`
 */
export function parseFrameSpan(
  words: string,
  clip: {
    readonly rate: FrameRate | undefined;
    readonly first: number;
    readonly timecode: string | undefined;
  },
): FrameSpan {
  const ends = words.split('..');
  if (ends.length !== 2) throw new UsageError(`"${words}" is no span such as 120..480`);
  // After an hour at 30000/1001 a code that drops and one that does not are 108 frames apart.
  const codes = [...ends, clip.timecode ?? ''].filter((word) => word.includes(':'));
  const drops = new Set(codes.map((word) => /[;.]\s*\d+\s*$/.test(word)));
  if (drops.size > 1) {
    throw new UsageError(`${codes.join(', ')} mix codes that drop frames with codes that do not`);
  }
  const [from, to] = ends.map((end, k) => {
    const word = end.trim();
    if (word === '') return k === 0 ? Number.NEGATIVE_INFINITY : Number.POSITIVE_INFINITY;
    if (/^-?\d+$/.test(word)) return Number(word);
    if (!clip.rate) throw new UsageError(`the time code ${word} needs an exact frame rate`);
    const start = parseTimecode(clip.timecode ?? '00:00:00:00', clip.rate);
    return clip.first + parseTimecode(word, clip.rate) - start;
  }) as [number, number];
  if (!(from <= to)) throw new UsageError(`the span ${words} ends before it begins`);
  return { from, to };
}
