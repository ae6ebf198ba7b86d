import { statSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { TwinkeelError } from '../error.js';
import type { Movie } from '../files/movie.js';
import { frameBytes } from '../picture/pixelFormat.js';
import { defaultJobs, openFrameWork } from './frameWork.js';
import { joinMovie } from './joinMovie.js';
import { makeFolder, moveInto, requireNew } from './moviePlaces.js';
import { type MoviePlan, planMovie, type ResampleMovieOptions } from './planMovie.js';
import { rehearseMovie } from './rehearseMovie.js';
import { renderSegments, segmentRange } from './resampleSegments.js';
import { openSegmentFolder, type SegmentFolder } from './segmentFolder.js';

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
  const work = await openFrameWork(options.result, plan.resampling, jobs);
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
