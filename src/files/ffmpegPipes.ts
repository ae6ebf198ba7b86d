import { TwinkeelError } from '../error.js';
import type { FrameRate } from '../track/frameRate.js';
import { formatFrameRate } from '../track/frameRate.js';
import {
  type FfmpegPrograms,
  literal,
  programFailed,
  type Running,
  type Sayings,
  start,
} from './ffmpegPrograms.js';
import type { Movie } from './movie.js';
import { stampExpression } from './stampExpression.js';

/** Some frames of a movie in their order, raw. */
export interface FrameRun {
  /** Index of the first frame, from 0. */
  readonly from: number;
  /** How many. */
  readonly count: number;
  /** Bytes of a raw frame. */
  readonly frameBytes: number;
  /** Where the next frame shall lie; it may be one that the caller is done with. */
  readonly nextBuffer: () => Uint8Array;
  /** Told what the decoder complained of although it went on: damaged pictures. */
  readonly onComplaint?: (words: string) => void;
  readonly signal?: AbortSignal;
}

/**
 * Decodes frames of a movie, each with the stamp that it must have: nothing is guessed from its
 * place in the stream. Turned pictures are not turned back, no frame is doubled or dropped, and no
 * pixel is converted.
 *
 * The decoder waits while the caller is busy.
 *
 * @throws TwinkeelError `movie/ffmpeg`, or `movie/unreadable` when a frame is missing or has another
 *   stamp than the file's index says
 */
export async function* decodeFrames(
  movie: Movie,
  programs: FfmpegPrograms,
  run: FrameRun,
): AsyncGenerator<Uint8Array, void> {
  // Where a seek fails (transport streams, damaged indexes), the way from the start is certain.
  for (const sought of run.from > 0 ? [true, false] : [false]) {
    const decoder = startDecoder(movie, programs, run, sought);
    try {
      if (yield* framesOf(decoder, movie, run, sought)) return;
    } finally {
      decoder.running.child.kill('SIGKILL');
      await decoder.running.ended.catch(() => undefined);
    }
  }
}

interface Decoder {
  readonly running: Running;
  readonly stamps: Stamps;
}

function startDecoder(
  movie: Movie,
  { ffmpeg }: FfmpegPrograms,
  { from, count, signal }: FrameRun,
  sought: boolean,
): Decoder {
  const { stamps, tick } = movie;
  const seconds = tick.numerator / tick.denominator;
  // Half a frame early; ffmpeg counts from the moment that players show first.
  const before = ((stamps[from]! + (stamps[from - 1] ?? 0)) / 2) * seconds - movie.startS;
  const filters = [
    `settb=${tick.numerator}/${tick.denominator}`,
    `trim=start_pts=${stamps[from]}`,
    // A frame's stamp is printed only beside a word about it.
    'metadata=mode=add:key=twinkeel:value=1',
    'metadata=mode=print',
  ];
  const options = [
    ...['-hide_banner', '-nostats', '-nostdin', '-v', 'level+info'],
    ...['-noautorotate', '-copyts', ...(sought ? ['-ss', Math.max(0, before).toFixed(6)] : [])],
    ...['-i', literal(movie.path), '-map', `0:${movie.stream}`, '-vf', filters.join(',')],
    ...['-frames:v', String(count), '-fps_mode', 'passthrough'],
    ...['-f', 'rawvideo', '-pix_fmt', movie.pixelFormat, 'pipe:1'],
  ];
  const running = start(ffmpeg, options, { ...(signal && { signal }) });
  return { running, stamps: new Stamps(running.sayings) };
}

/**
 * Cuts the decoder's bytes into frames and holds each frame's stamp against the file's index.
 *
 * @returns whether all went well; false when a seek led to another frame
 */
async function* framesOf(
  { running, stamps }: Decoder,
  movie: Movie,
  { from, count, frameBytes, nextBuffer, onComplaint, signal }: FrameRun,
  sought: boolean,
): AsyncGenerator<Uint8Array, boolean> {
  let frame = from;
  let buffer = nextBuffer();
  let filled = 0;
  for await (const piece of running.child.stdout! as AsyncIterable<Uint8Array>) {
    let taken = 0;
    while (taken < piece.length && frame < from + count) {
      const share = Math.min(piece.length - taken, frameBytes - filled);
      buffer.set(piece.subarray(taken, taken + share), filled);
      taken += share;
      filled += share;
      if (filled < frameBytes) continue;
      const stamp = await stamps.next();
      if (stamp !== movie.stamps[frame]) {
        if (sought && frame === from) return false;
        throw misplaced(movie, frame, stamp);
      }
      yield buffer;
      frame++;
      filled = 0;
      if (frame < from + count) buffer = nextBuffer();
    }
  }
  const code = await running.ended;
  signal?.throwIfAborted();
  if (code !== 0) throw programFailed('decoding', running, { file: movie.path });
  if (frame === from + count) {
    if (running.sayings.complained) onComplaint?.(running.sayings.gist);
    return true;
  }
  if (sought && frame === from) return false;
  throw new TwinkeelError('movie/unreadable', {
    file: movie.path,
    frame,
    found: `no more pictures (${running.sayings.gist})`,
    expected: `the ${movie.stamps.length} frames that the file's index names`,
    remedy: 'the file is damaged there: copy it anew from the card, or leave that part out',
  });
}

function misplaced(movie: Movie, frame: number, stamp: number | undefined): TwinkeelError {
  return new TwinkeelError('movie/unreadable', {
    file: movie.path,
    frame,
    found: stamp === undefined ? 'a picture without time stamp' : `a picture stamped ${stamp}`,
    expected: `${movie.stamps[frame]}, as the file's index says`,
    remedy:
      'a picture is missing or damaged there: copy the file anew from the card, or leave that part out',
  });
}

/** The stamps of decoded frames, which come on another pipe than the pictures. */
class Stamps {
  readonly #come: number[] = [];
  #waiting: ((stamp: number | undefined) => void) | undefined;
  #over = false;

  constructor(sayings: Sayings) {
    sayings.onLine = (line) => {
      const stamp = /\] frame:\d+ +pts:(-?\d+)/.exec(line)?.[1];
      if (stamp === undefined) return;
      this.#come.push(Number(stamp));
      this.#serve();
    };
    sayings.onEnd = () => {
      this.#over = true;
      this.#serve();
    };
  }

  /** The next one; undefined when no more will come. */
  next(): Promise<number | undefined> {
    return new Promise((done) => {
      this.#waiting = done;
      this.#serve();
    });
  }

  #serve(): void {
    if (!this.#waiting || (this.#come.length === 0 && !this.#over)) return;
    const waiting = this.#waiting;
    this.#waiting = undefined;
    waiting(this.#come.shift());
  }
}

/** What an encoder is fed with, and what it makes of it. */
export interface EncodeOptions {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly pixelFormat: string;
  /** Nominal rate, for encoders that budget bits by it. */
  readonly rate: FrameRate;
  /** Seconds per tick. */
  readonly tick: FrameRate;
  /** The stamp of every frame that will come, ticks from the first. */
  readonly stamps: readonly number[];
  /** Range and colour of the source, which raw pictures cannot carry. */
  readonly colour: Pick<Movie, 'range' | 'primaries' | 'transfer' | 'matrix' | 'siting'>;
  /** Options of the encoder. */
  readonly options: readonly string[];
  readonly path: string;
  readonly signal?: AbortSignal;
}

/** An encoder at work. */
export interface FrameEncoder {
  /** Feeds a frame; resolves when its bytes have been taken and may be used again. */
  readonly write: (frame: Uint8Array) => Promise<void>;
  /** Ends the file; resolves when it is whole. */
  readonly finish: () => Promise<void>;
  /** Gives up. */
  readonly abandon: () => Promise<void>;
}

/**
 * Starts an encoder that writes raw frames into a file, each with its own stamp, variable rates
 * included.
 *
 * @throws TwinkeelError `movie/ffmpeg` from `write` or `finish`
 */
export function openEncoder(programs: FfmpegPrograms, options: EncodeOptions): FrameEncoder {
  const running = start(programs.ffmpeg, encoderOptions(options), {
    fed: true,
    ...(options.signal && { signal: options.signal }),
  });
  const { child, ended } = running;
  // An encoder that has gone is told by its exit; the broken pipe itself says nothing.
  child.stdin!.on('error', () => undefined);
  const failure = () => programFailed('encoding', running, { remedy: ENCODING_REMEDY });
  const gone = ended.then(() => {
    options.signal?.throwIfAborted();
    throw failure();
  });
  gone.catch(() => undefined);
  return {
    write: (frame) =>
      Promise.race([
        gone,
        new Promise<void>((done) => {
          child.stdin!.write(frame, (error) => {
            // The reason comes with the encoder's end.
            if (!error) done();
          });
        }),
      ]),
    finish: async () => {
      child.stdin!.end();
      const code = await ended;
      options.signal?.throwIfAborted();
      if (code !== 0) throw failure();
    },
    abandon: async () => {
      child.kill('SIGKILL');
      await ended.catch(() => undefined);
    },
  };
}

const ENCODING_REMEDY =
  'correct the options after --, choose another ending, or make room on the disk';

/** Mov files count in ticks that they are told; others have their own. */
export function timescale(path: string, { numerator, denominator }: FrameRate): string[] {
  return /\.(mov|mp4)$/i.test(path)
    ? ['-video_track_timescale', String(denominator / numerator)]
    : [];
}

function encoderOptions(to: EncodeOptions): string[] {
  const { range, primaries, transfer, matrix, siting } = to.colour;
  const given = { range, color_primaries: primaries, color_trc: transfer, colorspace: matrix };
  const params = Object.entries(given).filter(([, word]) => word !== undefined);
  const tick = `${to.tick.numerator}/${to.tick.denominator}`;
  const filters = [
    `settb=${tick}`,
    `setpts='${stampExpression(to.stamps)}'`,
    ...(params.length > 0
      ? [`setparams=${params.map(([key, word]) => `${key}=${word}`).join(':')}`]
      : []),
  ];
  const tags = {
    color_range: range,
    color_primaries: primaries,
    color_trc: transfer,
    colorspace: matrix,
    chroma_sample_location: siting,
  };
  return [
    ...['-hide_banner', '-nostats', '-y', '-v', 'level+warning'],
    ...['-f', 'rawvideo', '-pixel_format', to.pixelFormat],
    ...['-video_size', `${to.widthPx}x${to.heightPx}`, '-framerate', formatFrameRate(to.rate)],
    ...['-i', 'pipe:0', '-vf', filters.join(',')],
    ...Object.entries(tags).flatMap(([key, word]) => (word ? [`-${key}`, word] : [])),
    ...timescale(to.path, to.tick),
    ...['-enc_time_base', tick, '-fps_mode', 'passthrough', ...to.options],
    ...['-fflags', '+bitexact', '-an', literal(to.path)],
  ];
}
