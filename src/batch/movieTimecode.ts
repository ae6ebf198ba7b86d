import { isTwinkeelError } from '../error.js';
import type { Movie } from '../files/movie.js';
import { type FrameRate, formatFrameRate } from '../track/frameRate.js';
import { formatTimecode, parseTimecode } from '../track/timecode.js';

/** The time code of a part of a movie, or why it has none. */
export type CutTimecode = { readonly text: string } | { readonly lost: string } | undefined;

/**
 * The time code of a frame, counted from that of the movie's first frame. The code may count
 * slower than the frames come, as where 59.94 pictures a second are numbered at 29.97.
 *
 * @param frame - index from the movie's first frame
 * @param stepS - seconds between frames
 * @param constant - whether they are evenly spaced
 */
export function timecodeAt(
  { timecode, rate }: Pick<Movie, 'timecode' | 'rate'>,
  frame: number,
  stepS: number,
  constant: boolean,
): CutTimecode {
  if (!timecode) return undefined;
  if (frame === 0) return { text: timecode.text };
  const counting = timecode.rate ?? rate;
  if (!constant || !counting) {
    return { lost: `the time code ${timecode.text} counts frames that are not evenly spaced` };
  }
  // Exact where both are fractions; the step of a constant movie is its rate to rounding.
  const advance = frame * stepS * (counting.numerator / counting.denominator);
  const labels = Math.round(advance);
  if (Math.abs(advance - labels) > SAME_LABEL) {
    return {
      lost: `frame ${frame} lies between two labels of the time code, which counts at ${formatFrameRate(counting)}`,
    };
  }
  return counted(timecode.text, labels, counting);
}

/** A frame lies on a label when the count agrees to this share of one (rounding of stamps). */
const SAME_LABEL = 0.1;

function counted(text: string, labels: number, rate: FrameRate): CutTimecode {
  try {
    const drops = /[;.]\d+\s*$/.test(text);
    return { text: formatTimecode(parseTimecode(text, rate) + labels, rate, drops) };
  } catch (error) {
    if (!isTwinkeelError(error)) throw error;
    return { lost: `the time code ${text} is none at ${formatFrameRate(rate)}` };
  }
}
