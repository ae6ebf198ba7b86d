import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, renameSync, statSync } from 'node:fs';
import { dirname, extname, join } from 'node:path';
import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import { type FfmpegPrograms, findFfmpeg } from '../files/ffmpegPrograms.js';
import { type Movie, probeMovie } from '../files/movie.js';
import { toJson } from '../handoff/json.js';
import type { ResamplingFilter } from '../picture/filters.js';
import { frameBytes } from '../picture/pixelFormat.js';
import type { ResamplingOptions } from '../picture/resampler.js';
import type { StereoFrame } from '../picture/stereoFrame.js';
import type { FrameRate } from '../track/frameRate.js';
import { defaultPicture, requireEnding, sortEncoderOptions } from './encoderOptions.js';
import type { FrameSpan } from './frameSpan.js';
import { defaultJobs, openFrameWork } from './frameWork.js';
import { joinMovie } from './joinMovie.js';
import { type FrameMatch, matchFrames } from './matchFrames.js';
import { formatOf, type PictureOptions, sourceFrame } from './movieFit.js';
import { timecodeAt } from './movieTimecode.js';
import { rehearseMovie } from './rehearseMovie.js';
import { release } from './release.js';
import { renderSegments, type SegmentJob, segmentRange } from './resampleSegments.js';
import { spareInputs } from './resultPlaces.js';
import { movieFingerprint, openSegmentFolder, type SegmentFolder } from './segmentFolder.js';

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

/** A movie that was made. */
export interface ResampledMovie {
  /** Where it lies. */
  readonly path: string;
  /** How many frames it has. */
  readonly frameCount: number;
  /** How many of them were there from an earlier run. */
  readonly resumedFrames: number;
  /** Pixels of its frame. */
  readonly size: readonly [widthPx: number, heightPx: number];
  /** What the container could not hold, and what else is to know, a sentence each. */
  readonly notes: readonly string[];
  /** SHA-256 of everything that its bytes follow from. */
  readonly fingerprint: string;
}

const SEGMENT_FRAMES = 600;

/**
 * Makes a steadied movie out of a movie and its corrections, with one resampling: the user's own ffmpeg
 * decodes and encodes. Everything is checked before the first frame; the new movie appears whole or not
 * at all; a call that was stopped, by whatever, goes on where it was.
 *
 * @param options - the movie, its corrections, the new movie, and how
 * @returns what was made
 * @throws TwinkeelError `movie/ffmpeg`, `movie/unreadable`, `movie/unfit`, `file/exists`,
 *   `file/unwritable`, `argument/invalid`; the signal's reason when it was aborted
 * @example
 * const job = { movie: `${folder}/walk.mov`, result, out: `${folder}/walk.steady.moon` };
 * const refused = await resampleMovie(job).catch((error: Error) => error);
 * (refused as Error).message.includes('ending in .mkv, .mov, .mp4'); // true
 */
export async function resampleMovie(options: ResampleMovieOptions): Promise<ResampledMovie> {
  const plan = await planMovie(options);
  const { out, signal } = options;
  makeFolder(dirname(out));
  const folder = openSegmentFolder(out, plan.fingerprint);
  try {
    const resumedFrames = wholeFrames(folder, plan);
    if (resumedFrames === 0) await rehearseMovie(plan, folder.path, signal);
    const complaints = await renderAll(options, plan, folder, resumedFrames);
    const notes = await joinMovie({
      ...plan,
      folder,
      bounds: boundsOf(plan),
      ...(signal && { signal }),
    });
    requireUnchanged(plan.movie);
    if (options.force !== true) requireNew(out);
    moveInto(join(folder.path, folder.joined), out);
    folder.remove();
    const { widthPx, heightPx } = plan.target;
    return {
      path: out,
      frameCount: plan.stamps.length,
      resumedFrames,
      size: [widthPx, heightPx],
      notes: [...startedAnew(folder), ...complaints, ...notes],
      fingerprint: plan.fingerprint,
    };
  } finally {
    folder.tidy();
  }
}

/** Everything that is known before the first frame. */
export interface MoviePlan {
  readonly movie: Movie;
  readonly programs: FfmpegPrograms;
  readonly resampling: ResamplingOptions;
  readonly target: StereoFrame;
  readonly match: FrameMatch;
  readonly stamps: readonly number[];
  readonly end: number;
  readonly tick: FrameRate;
  readonly rate: FrameRate;
  readonly startS: number;
  readonly sound?: { readonly fromS: number; readonly lengthS: number };
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

type Timing = Pick<MoviePlan, 'stamps' | 'end' | 'tick' | 'rate' | 'startS' | 'sound'>;

/** When each frame of the new movie is shown, in ticks that its container can count. */
function timingOf(
  movie: Movie,
  result: CorrectionResult,
  { from, corrections, constant, stepS }: FrameMatch,
  out: string,
): Timing {
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

function boundsOf(plan: MoviePlan): number[] {
  const count = Math.ceil(plan.stamps.length / plan.segmentFrames);
  const starts = Array.from({ length: count }, (_, k) => plan.stamps[segmentRange(plan, k)[0]]!);
  return [...starts, plan.end];
}

function wholeFrames(folder: SegmentFolder, plan: MoviePlan): number {
  let frames = 0;
  const count = Math.ceil(plan.stamps.length / plan.segmentFrames);
  for (let segment = 0; segment < count; segment++) {
    const [from, to] = segmentRange(plan, segment);
    if (folder.has(segment)) frames += to - from;
  }
  return frames;
}

async function renderAll(
  options: ResampleMovieOptions,
  plan: MoviePlan,
  folder: SegmentFolder,
  resumed: number,
): Promise<string[]> {
  const total = plan.stamps.length;
  const complaints: string[] = [];
  if (resumed === total) return complaints;
  const { signal, onProgress } = options;
  const { format, source } = plan.resampling;
  const sourceBytes = frameBytes(format, source.widthPx, source.heightPx);
  const jobs = options.jobs ?? defaultJobs(sourceBytes, plan.targetBytes);
  const work = openFrameWork(options.result, plan.resampling, jobs);
  const begun = performance.now();
  let made = 0;
  try {
    await renderSegments({
      movie: plan.movie,
      programs: plan.programs,
      folder,
      work,
      from: plan.match.from,
      corrections: plan.match.corrections,
      stamps: plan.stamps,
      segmentFrames: plan.segmentFrames,
      encoding: plan.encoding,
      ...(signal && { signal }),
      onComplaint: (words) =>
        complaints.push(`ffmpeg complained while decoding (${words}): look at the pictures there`),
      onFrame: () => {
        made++;
        const framesPerSecond = made / Math.max(1e-3, (performance.now() - begun) / 1000);
        const done = resumed + made;
        onProgress?.({
          done,
          total,
          framesPerSecond,
          secondsLeft: (total - done) / framesPerSecond,
        });
      },
    });
    return complaints;
  } finally {
    await work.close();
  }
}

function startedAnew({ found }: SegmentFolder): string[] {
  return found === 'other'
    ? [
        'what an earlier run left was of another movie, other corrections or options: all was made anew',
      ]
    : [];
}

function requireUnchanged({ path, stamp }: Movie): void {
  const { size, mtimeMs } = statSync(path);
  if (size === stamp.sizeBytes && mtimeMs === stamp.changedMs) return;
  throw new TwinkeelError('movie/unreadable', {
    file: path,
    found: 'a movie that changed while it was read',
    expected: 'one that stays as it is',
    remedy: 'wait until it is copied whole, and run again',
  });
}

function requireNew(out: string): void {
  if (!existsSync(out)) return;
  throw new TwinkeelError('file/exists', {
    file: out,
    found: 'a file of this name',
    expected: 'a new name',
    remedy: 'choose another name or pass --force to replace it',
  });
}

function makeFolder(folder: string): void {
  try {
    mkdirSync(folder, { recursive: true });
  } catch (error) {
    throw unwritable(folder, error);
  }
}

function moveInto(from: string, to: string): void {
  try {
    renameSync(from, to);
  } catch (error) {
    throw unwritable(to, error);
  }
}

function unwritable(file: string, error: unknown): TwinkeelError {
  return new TwinkeelError('file/unwritable', {
    file,
    found: `a place that cannot be written (${(error as NodeJS.ErrnoException).code ?? error})`,
    expected: 'a writable folder with room',
    remedy: 'choose another place',
  });
}

function sha256(parts: readonly (string | Uint8Array)[]): string {
  const hash = createHash('sha256');
  for (const part of parts) hash.update(createHash('sha256').update(part).digest());
  return hash.digest('hex');
}
