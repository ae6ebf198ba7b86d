import { createHash } from 'node:crypto';
import { extname } from 'node:path';
import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import { type FfmpegPrograms, findFfmpeg } from '../files/ffmpegPrograms.js';
import { type Movie, probeMovie } from '../files/movie.js';
import { toJson } from '../handoff/json.js';
import type { ResamplingFilter } from '../picture/filters.js';
import { frameBytes } from '../picture/pixelFormat.js';
import type { ResamplingOptions } from '../picture/resampler.js';
import type { StereoFrame } from '../picture/stereoFrame.js';
import { defaultPicture, requireEnding, sortEncoderOptions } from './encoderOptions.js';
import type { FrameSpan } from './frameSpan.js';
import { type FrameMatch, matchFrames } from './matchFrames.js';
import { formatOf, type PictureOptions, sourceFrame } from './movieFit.js';
import { requireNew } from './moviePlaces.js';
import { timecodeAt } from './movieTimecode.js';
import { type MovieTiming, timingOf } from './movieTiming.js';
import { release } from './release.js';
import type { SegmentJob } from './resampleSegments.js';
import { spareInputs } from './resultPlaces.js';
import { movieFingerprint } from './segmentFolder.js';

/** How far a movie has come. */
export interface ResampleProgress {
  /** Frames that are whole, with those of an earlier run. */
  readonly done: number;
  /** All frames of the new movie. */
  readonly total: number;
  /** Of this run. */
  readonly framesPerSecond: number;
  /** At this rate. */
  readonly secondsLeft: number;
}

/** How to make a steadied movie. */
export interface ResampleMovieOptions extends PictureOptions {
  /** The movie that was tracked; it is only read. */
  readonly movie: string;
  /** Its corrections. */
  readonly result: CorrectionResult;
  /** The movie to make, ending in .mkv, .mov or .mp4. */
  readonly out: string;
  /** Projection of the new movie: half-equirect (default), or the source's own. */
  readonly deliver?: 'half-equirect' | 'source';
  /** Pixels of the new movie's frame; default: as the source. */
  readonly size?: readonly [widthPx: number, heightPx: number];
  /** Width of a small movie to look at, in H.264 unless `encoder` says otherwise; replaces `size`. */
  readonly proxyWidthPx?: number;
  /** Default `bicubic`, for a proxy `bilinear`. */
  readonly filter?: ResamplingFilter;
  /** Only these frames, by the numbers of the result. */
  readonly frames?: FrameSpan;
  /** Number of the movie's first frame; default: the result's first. */
  readonly movieStarts?: number;
  /** Options for ffmpeg's encoder, names and values in turn; default FFV1, without loss. */
  readonly encoder?: readonly string[];
  /** Worker threads; default: one per processor. */
  readonly jobs?: number;
  /** Frames per segment, the piece that is whole or not there; default 600. */
  readonly segmentFrames?: number;
  /** Name or path of ffmpeg; default: on PATH. */
  readonly ffmpeg?: string;
  /** Name or path of ffprobe; default: on PATH. */
  readonly ffprobe?: string;
  /** Replace a movie that exists. */
  readonly force?: boolean;
  /** Told now and then. */
  readonly onProgress?: (progress: ResampleProgress) => void;
  /** Ends the work; whole segments stay, and the next call goes on with them. */
  readonly signal?: AbortSignal;
}

const SEGMENT_FRAMES = 600;

/** Everything that is known before the first frame. */
export interface MoviePlan extends MovieTiming {
  readonly movie: Movie;
  readonly programs: FfmpegPrograms;
  readonly resampling: ResamplingOptions;
  readonly target: StereoFrame;
  readonly match: FrameMatch;
  readonly timecode: ReturnType<typeof timecodeAt>;
  readonly out: string;
  readonly encoding: SegmentJob['encoding'];
  readonly targetBytes: number;
  readonly options: readonly string[];
  readonly segmentFrames: number;
  readonly fingerprint: string;
}

/** Looks at everything and refuses what cannot be done, before anything is made. */
export async function planMovie(options: ResampleMovieOptions): Promise<MoviePlan> {
  const { result, out, signal, proxyWidthPx } = options;
  requireEnding(out);
  spareInputs([out], [options.movie]);
  if (options.force !== true) requireNew(out);
  const programs = await findFfmpeg(options);
  const movie = await probeMovie(options.movie, programs, signal);
  const source = sourceFrame(movie, result, options);
  const format = formatOf(movie);
  const target = targetFrame(source, options);
  const filter = options.filter ?? (proxyWidthPx === undefined ? 'bicubic' : 'bilinear');
  const resampling = { source, target, format, filter };
  const match = matchFrames(movie, result, {
    ...(options.movieStarts !== undefined && { movieStarts: options.movieStarts }),
    ...(options.frames && { span: options.frames }),
  });
  const { picture, join } = sortEncoderOptions(options.encoder ?? []);
  const chosen =
    picture.length > 0 ? picture : defaultPicture(out, proxyWidthPx !== undefined, target.widthPx);
  // A proxy is for headsets and browsers, few of which play a camera's uncompressed sound.
  const soundOptions = proxyWidthPx !== undefined && join.length === 0 ? ['-c:a', 'aac'] : join;
  const timing = timingOf(movie, result, match, out);
  const segmentFrames = options.segmentFrames ?? SEGMENT_FRAMES;
  const { path: _, ...told } = movie;
  const fingerprint = sha256([
    release(),
    programs.version,
    movieFingerprint(movie),
    JSON.stringify({ ...told, stamps: movie.stamps.length }),
    toJson(result),
    JSON.stringify({
      resampling,
      timing,
      chosen,
      soundOptions,
      segmentFrames,
      ending: extname(out),
    }),
    JSON.stringify([match.from, match.corrections.length]),
    new Uint8Array(match.corrections.buffer),
  ]);
  return {
    movie,
    programs,
    resampling,
    target,
    match,
    ...timing,
    timecode: timecodeAt(movie, match.from, match.stepS, match.constant),
    out,
    encoding: {
      widthPx: target.widthPx,
      heightPx: target.heightPx,
      pixelFormat: movie.pixelFormat,
      rate: timing.rate,
      tick: timing.tick,
      colour: movie,
      options: chosen,
    },
    targetBytes: frameBytes(format, target.widthPx, target.heightPx),
    options: soundOptions,
    segmentFrames,
    fingerprint,
  };
}

function targetFrame(
  source: StereoFrame,
  { deliver = 'half-equirect', size, proxyWidthPx }: ResampleMovieOptions,
): StereoFrame {
  const half = { projection: 'half-equirect' } as const;
  const images = deliver === 'source' ? {} : { left: half, right: half };
  const even = (side: number) => Math.max(8, Math.round(side / 4) * 4);
  const [widthPx, heightPx] =
    proxyWidthPx === undefined
      ? (size ?? [source.widthPx, source.heightPx])
      : [even(proxyWidthPx), even((proxyWidthPx * source.heightPx) / source.widthPx)];
  // A circle that was stated is counted in the source's pixels.
  const scaled = <T extends StereoFrame['left']>(image: T): T => {
    if (image.projection !== 'fisheye' || !image.circle) return image;
    const { centrePx, diameterPx } = image.circle;
    const [across, down] = [widthPx / source.widthPx, heightPx / source.heightPx];
    if (Math.abs(across / down - 1) > 1e-2) {
      throw new TwinkeelError('argument/invalid', {
        found: `a fisheye of ${source.widthPx} × ${source.heightPx} px to become ${widthPx} × ${heightPx}`,
        expected: 'the same shape, since a circle stays one',
        remedy: 'correct --size',
      });
    }
    const circle = {
      centrePx: [centrePx[0] * across, centrePx[1] * down] as const,
      diameterPx: diameterPx * across,
    };
    return { ...image, circle };
  };
  const frame = { ...source, ...images, widthPx, heightPx };
  return { ...frame, left: scaled(frame.left), right: scaled(frame.right) };
}

function sha256(parts: readonly (string | Uint8Array)[]): string {
  const hash = createHash('sha256');
  for (const part of parts) hash.update(createHash('sha256').update(part).digest());
  return hash.digest('hex');
}
