import { join } from 'node:path';
import {
  decodeFrames,
  type EncodeOptions,
  type FrameEncoder,
  openEncoder,
} from '../files/ffmpegPipes.js';
import type { FfmpegPrograms } from '../files/ffmpegPrograms.js';
import type { Movie } from '../files/movie.js';
import type { SegmentFolder } from './segmentFolder.js';

/** Makes corrected frames, several at a time. */
export interface FrameWork {
  /** Bytes of a frame of the movie. */
  readonly sourceBytes: number;
  /** How many frames may be under way at the same time. */
  readonly depth: number;
  /** A frame of the movie, to be filled by the decoder. */
  readonly newSource: () => Uint8Array;
  /**
   * Makes one frame; the source may be filled anew afterwards, the frame that comes back is good until
   * `depth` calls later.
   */
  readonly resample: (correction: number, source: Uint8Array) => Promise<Uint8Array>;
  readonly close: () => Promise<void>;
}

/** What is made of which frames. */
export interface SegmentJob {
  readonly movie: Movie;
  readonly programs: FfmpegPrograms;
  readonly folder: SegmentFolder;
  readonly work: FrameWork;
  /** Index of the movie's first frame to be made. */
  readonly from: number;
  /** For every frame the index of its correction. */
  readonly corrections: Int32Array;
  /** For every frame the stamp in the new movie, ticks from the first. */
  readonly stamps: readonly number[];
  readonly segmentFrames: number;
  /** How the encoder is called, but for what is of one segment only. */
  readonly encoding: Omit<EncodeOptions, 'stamps' | 'path' | 'signal'>;
  readonly signal?: AbortSignal;
  /** Told after every frame that is new. */
  readonly onFrame?: () => void;
  /** Told of damaged pictures. */
  readonly onComplaint?: (words: string) => void;
}

/** Frames of a segment: from, and up to but without the other. */
export function segmentRange(
  { stamps, segmentFrames }: Pick<SegmentJob, 'stamps' | 'segmentFrames'>,
  segment: number,
): [from: number, to: number] {
  const from = segment * segmentFrames;
  return [from, Math.min(stamps.length, from + segmentFrames)];
}

/**
 * Makes every segment that is not whole yet, one after the other, each decoded, resampled and encoded
 * at the same time. Each starts at a frame that it finds by its stamp, so that a run that goes on
 * makes the same bytes as one that was never stopped.
 */
export async function renderSegments(job: SegmentJob): Promise<void> {
  const count = Math.ceil(job.stamps.length / job.segmentFrames);
  for (let segment = 0; segment < count; segment++) {
    if (job.folder.has(segment)) continue;
    let end = segment + 1;
    while (end < count && !job.folder.has(end)) end++;
    // Neighbours share a decoder: seeking costs up to a group of pictures.
    await renderStretch(job, segment, end);
    segment = end;
  }
}

/** Segments `first` to `end` − 1, none of which is there. */
async function renderStretch(job: SegmentJob, first: number, end: number): Promise<void> {
  const { movie, programs, work, signal } = job;
  const from = segmentRange(job, first)[0];
  const to = segmentRange(job, end - 1)[1];
  // The next one is filled when at most `depth` − 1 are under way.
  const ring = Array.from({ length: work.depth }, work.newSource);
  let filled = 0;
  const frames = decodeFrames(movie, programs, {
    from: job.from + from,
    count: to - from,
    frameBytes: work.sourceBytes,
    nextBuffer: () => ring[filled++ % ring.length]!,
    ...(job.onComplaint && { onComplaint: job.onComplaint }),
    ...(signal && { signal }),
  });
  const writer = segmentWriter(job, first);
  const underWay: Promise<void>[] = [];
  // Frames are made in any order and written in their own, while the next ones are decoded.
  let written = Promise.resolve();
  try {
    let frame = from;
    for await (const source of frames) {
      const made = work.resample(job.corrections[frame++]!, source);
      const before = written;
      written = Promise.all([made, before]).then(([picture]) => writer.write(picture));
      // A failure is met when its turn comes.
      written.catch(() => undefined);
      underWay.push(written);
      if (underWay.length >= work.depth) await underWay.shift();
    }
    await written;
  } catch (error) {
    await writer.abandon();
    await Promise.allSettled(underWay);
    throw error;
  }
}

/** Writes frames in their order, a new encoder for each segment. */
function segmentWriter(job: SegmentJob, first: number) {
  let segment = first;
  let encoder: FrameEncoder | undefined;
  let written = 0;
  const open = () => {
    const [from, to] = segmentRange(job, segment);
    const start = job.stamps[from]!;
    return openEncoder(job.programs, {
      ...job.encoding,
      stamps: job.stamps.slice(from, to).map((stamp) => stamp - start),
      path: join(job.folder.path, job.folder.unfinished(segment)),
      ...(job.signal && { signal: job.signal }),
    });
  };
  return {
    write: async (frame: Uint8Array) => {
      job.signal?.throwIfAborted();
      encoder ??= open();
      await encoder.write(frame);
      job.onFrame?.();
      written++;
      const [from, to] = segmentRange(job, segment);
      if (written < to - from) return;
      await encoder.finish();
      job.folder.keep(segment);
      encoder = undefined;
      written = 0;
      segment++;
    },
    abandon: async () => {
      await encoder?.abandon();
    },
  };
}
