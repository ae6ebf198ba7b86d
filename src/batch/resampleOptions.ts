import type { ImageCircle } from '../rig/lens.js';
import type { ResampleMovieOptions } from './planMovie.js';
import { countOf, numberOf, type Options, textOf, UsageError, wordOf } from './usage.js';

/** How movies are made, but for which. */
export type HowToResample = Omit<
  ResampleMovieOptions,
  'movie' | 'result' | 'out' | 'frames' | 'signal' | 'onProgress'
>;

/** What a command line says of how movies are made.
 *
 * @throws UsageError for values that mean nothing
 */
export function howOf(options: Options, encoder: readonly string[]): HowToResample {
  const proxyWidthPx = countOf(options, 'proxy', 16);
  const size = sizeOf(options);
  if (proxyWidthPx !== undefined && size) {
    throw new UsageError('--proxy is a size of its own; leave --size out');
  }
  const jobs = countOf(options, 'jobs', 1);
  const segmentFrames = countOf(options, 'segment', 1);
  const movieStarts = numberOf(options, 'movie-starts');
  if (movieStarts !== undefined && !Number.isInteger(movieStarts)) {
    throw new UsageError(`--movie-starts ${options['movie-starts']} is not a whole number`);
  }
  const picture = wordOf(options, 'picture', ['half-equirect', 'fisheye'] as const);
  const layout = wordOf(options, 'layout', ['side-by-side', 'top-bottom'] as const);
  const deliver = wordOf(options, 'deliver', ['half-equirect', 'source'] as const);
  const filter = wordOf(options, 'filter', ['bicubic', 'bilinear', 'lanczos3'] as const);
  const circles = circlesOf(options);
  if (circles && picture !== 'fisheye') {
    throw new UsageError('--circle is of no use without --picture fisheye');
  }
  const [ffmpeg, ffprobe] = [textOf(options, 'ffmpeg'), textOf(options, 'ffprobe')];
  return {
    ...(picture && { picture }),
    ...(layout && { layout }),
    ...(deliver && { deliver }),
    ...(circles && { circles }),
    ...(size && { size }),
    ...(proxyWidthPx !== undefined && { proxyWidthPx }),
    ...(filter && { filter }),
    ...(movieStarts !== undefined && { movieStarts }),
    ...(jobs !== undefined && { jobs }),
    ...(segmentFrames !== undefined && { segmentFrames }),
    ...(ffmpeg !== undefined && { ffmpeg }),
    ...(ffprobe !== undefined && { ffprobe }),
    encoder,
    force: options.force === true,
  };
}

function sizeOf(options: Options): [number, number] | undefined {
  const words = textOf(options, 'size');
  if (words === undefined) return undefined;
  const match = /^(\d+)x(\d+)$/.exec(words);
  if (!match) throw new UsageError(`--size ${words} is no size such as 4096x2048`);
  return [Number(match[1]), Number(match[2])];
}

/** One circle for both eyes, or one for each: `1024,1020,1980/1018,1022,1980`. */
function circlesOf(options: Options): ResampleMovieOptions['circles'] {
  const words = textOf(options, 'circle');
  if (words === undefined) return undefined;
  const circles = words.split('/').map((word): ImageCircle | undefined => {
    const numbers = word.split(',').map((each) => (each.trim() === '' ? Number.NaN : Number(each)));
    const [x, y, diameterPx] = numbers;
    if (numbers.length !== 3 || !numbers.every(Number.isFinite)) return undefined;
    return { centrePx: [x!, y!], diameterPx: diameterPx! };
  });
  const [left, right = left] = circles;
  if (!left || !right || circles.length > 2) {
    throw new UsageError(
      `--circle ${words} is no circle such as 1024,1020,1980 (middle across and down, diameter, px), or two with / between`,
    );
  }
  return { left, right };
}
