import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import type { Movie } from '../files/movie.js';
import { type ChromaSiting, type PixelFormat, pixelFormatNamed } from '../picture/pixelFormat.js';
import { type EyeImage, eyeRectangle, type StereoFrame } from '../picture/stereoFrame.js';
import type { ImageCircle } from '../rig/lens.js';
import type { EyeLayout } from '../rig/picture.js';

/** What a movie's frames show, as the caller says. */
export interface PictureOptions {
  /** How each eye shows directions; a fisheye is that of the rig's lens. Default: the
   * result's own picture. */
  readonly picture?: 'half-equirect' | 'fisheye';
  /** Where the eyes lie; left or top is the left eye. Default side by side. */
  readonly layout?: EyeLayout;
  /** Where the circles of a fisheye pair lie, pixels from the corner of each eye's own picture. */
  readonly circles?: {
    /** Of the left eye. */
    readonly left: ImageCircle;
    /** Of the right eye. */
    readonly right: ImageCircle;
  };
}

/**
 * The frames of a movie as the resampler reads them.
 *
 * @throws TwinkeelError `movie/unfit` for a movie that players turn, whose fields are interlaced or
 *   whose frame cannot hold two eyes in this layout; `argument/invalid` for pixels it cannot read
 */
export function sourceFrame(
  movie: Movie,
  result: CorrectionResult,
  { picture = result.picture, layout = 'side-by-side', circles }: PictureOptions = {},
): StereoFrame {
  requireUpright(movie);
  const image = (eye: 'left' | 'right') => eyeImage(result, picture, circles?.[eye]);
  const { widthPx, heightPx } = movie;
  const frame = { widthPx, heightPx, layout, left: image('left'), right: image('right') };
  requireTwoEyes(movie, frame);
  if (circles) requireCircles(movie, frame, circles);
  return frame;
}

/** How the movie's pixels are stored, with what its header says of range and siting. */
export function formatOf(movie: Movie): PixelFormat {
  const siting = SITINGS[movie.siting ?? 'left'];
  if (siting === undefined) {
    throw unfit(
      movie,
      `colour samples sited "${movie.siting}"`,
      Object.keys(SITINGS).join(', '),
      'convert the movie to one of these with ffmpeg, or correct its header',
    );
  }
  const range = movie.range && ({ range: movie.range === 'pc' ? 'full' : 'limited' } as const);
  return pixelFormatNamed(movie.pixelFormat, { siting, ...range });
}

const SITINGS: Readonly<Record<string, ChromaSiting>> = {
  left: 'left',
  center: 'center',
  topleft: 'top-left',
};

function eyeImage(
  { rig }: CorrectionResult,
  picture: 'half-equirect' | 'fisheye',
  circle: ImageCircle | undefined,
): EyeImage {
  if (picture === 'half-equirect') return { projection: picture };
  if (!rig) {
    throw new TwinkeelError('argument/invalid', {
      found: 'fisheye pictures and corrections without a rig',
      expected: 'a rig description that states the lens',
      remedy: 'correct the clip again with --rig rig.json',
    });
  }
  const { mapping, fieldDeg } = rig.lens;
  return { projection: picture, mapping, fieldDeg, ...(circle && { circle }) };
}

function requireUpright(movie: Movie): void {
  if (movie.turn !== undefined) {
    throw unfit(
      movie,
      `${movie.turn} that players are told to make`,
      'pictures stored as they are shown, for which the corrections hold',
      'take the word away if the pictures are upright without it (ffmpeg -display_rotation 0 -i MOVIE -map 0 -c copy NEW, before ffmpeg 6 -metadata:s:v rotate=0 behind MOVIE), else let ffmpeg write a turned copy and track that',
    );
  }
  if (movie.fieldOrder !== undefined && movie.fieldOrder !== 'progressive') {
    throw unfit(
      movie,
      `interlaced pictures (${movie.fieldOrder})`,
      'progressive ones, whose rows belong to one moment',
      'deinterlace the movie first, and track what comes out',
    );
  }
}

/**
 * An eye's picture is square, or squeezed by up to half in one direction; a frame that is not even
 * that holds the eyes in another way, or one eye only. (Our judgement.)
 */
const MOST_SQUEEZED = 2;

function requireTwoEyes(movie: Movie, frame: StereoFrame): void {
  const shape = (layout: EyeLayout) => {
    const { widthPx, heightPx } = eyeRectangle({ ...frame, layout }, 'left');
    return widthPx / heightPx;
  };
  const fits = (layout: EyeLayout) =>
    shape(layout) < MOST_SQUEEZED && shape(layout) > 1 / MOST_SQUEEZED;
  if (fits(frame.layout)) return;
  const other = frame.layout === 'side-by-side' ? 'top-bottom' : 'side-by-side';
  const { widthPx, heightPx } = eyeRectangle(frame, 'left');
  throw unfit(
    movie,
    `${frame.widthPx} × ${frame.heightPx} pixels, ${widthPx} × ${heightPx} for each eye ${frame.layout}`,
    'two eyes whose pictures are less than twice as wide as high, and the other way round',
    fits(other) ? `say how they lie: --layout ${other}` : 'name the movie that holds both eyes',
  );
}

function requireCircles(
  movie: Movie,
  frame: StereoFrame,
  circles: NonNullable<PictureOptions['circles']>,
): void {
  const { widthPx, heightPx } = eyeRectangle(frame, 'left');
  for (const eye of ['left', 'right'] as const) {
    const [x, y] = circles[eye].centrePx;
    if (x >= 0 && x <= widthPx && y >= 0 && y <= heightPx && circles[eye].diameterPx > 0) continue;
    throw unfit(
      movie,
      `a circle around ${x}, ${y} px for the ${eye} eye`,
      `a middle within that eye's picture of ${widthPx} × ${heightPx} px`,
      'count from the upper left corner of each eye’s own picture',
    );
  }
}

function unfit(movie: Movie, found: string, expected: string, remedy: string): TwinkeelError {
  return new TwinkeelError('movie/unfit', { file: movie.path, found, expected, remedy });
}
