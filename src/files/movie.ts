import { statSync } from 'node:fs';
import { TwinkeelError } from '../error.js';
import type { FrameRate } from '../track/frameRate.js';
import { type FfmpegPrograms, finished, literal, programFailed, start } from './ffmpegPrograms.js';
import { regularSize } from './readFile.js';

/** What ffprobe tells of a movie: its first picture stream, and what goes with it. */
export interface Movie {
  /** Where it lies. */
  readonly path: string;
  /** Bytes, and time of the last change, ms: whether it is still the same later on. */
  readonly stamp: { readonly sizeBytes: number; readonly changedMs: number };
  /** Number of the picture stream in the file. */
  readonly stream: number;
  /** Pixels of a whole frame. */
  readonly widthPx: number;
  /** Rows of a whole frame. */
  readonly heightPx: number;
  /** As ffmpeg calls it: yuv420p10le. */
  readonly pixelFormat: string;
  /** `tv` (limited), `pc` (full), or undefined where nothing is said; so are the next four. */
  readonly range?: string;
  readonly primaries?: string;
  readonly transfer?: string;
  readonly matrix?: string;
  readonly siting?: string;
  /** `progressive`, or how its fields lie. */
  readonly fieldOrder?: string;
  /** A turn or flip that players apply, in words; undefined where there is none. */
  readonly turn?: string;
  /** Rate that the file states, exact; a mean where it is variable. */
  readonly rate?: FrameRate;
  /** Seconds per tick of the stamps, as a fraction. */
  readonly tick: FrameRate;
  /** When each frame is shown, ticks, increasing; length n. */
  readonly stamps: Float64Array;
  /** The moment that players show first, s. */
  readonly startS: number;
  /** Time code of the first frame, and the rate in which it counts where the file says so. */
  readonly timecode?: { readonly text: string; readonly rate?: FrameRate };
  /** How many streams of sound there are. */
  readonly soundCount: number;
  /** Words about the whole movie: title and so on. */
  readonly tags: Readonly<Record<string, string>>;
  /** Words about the picture stream. */
  readonly streamTags: Readonly<Record<string, string>>;
}

/** What ffprobe prints of a stream, as far as it is used. */
interface Stream {
  readonly index: number;
  readonly codec_type?: string;
  readonly width?: number;
  readonly height?: number;
  readonly pix_fmt?: string;
  readonly color_range?: string;
  readonly color_primaries?: string;
  readonly color_transfer?: string;
  readonly color_space?: string;
  readonly chroma_location?: string;
  readonly field_order?: string;
  readonly avg_frame_rate?: string;
  readonly r_frame_rate?: string;
  readonly time_base?: string;
  readonly nb_frames?: string;
  readonly duration?: string;
  readonly disposition?: Readonly<Record<string, number>>;
  readonly tags?: Readonly<Record<string, string>>;
  readonly side_data_list?: readonly {
    readonly displaymatrix?: string;
    readonly rotation?: number;
  }[];
}

/**
 * Looks at a movie without decoding it: streams, words, and the time stamp of every frame.
 *
 * Cost: one reading of the whole file, as fast as the disk is.
 *
 * @throws TwinkeelError `movie/unreadable` when it holds no picture that can be told, `file/missing`
 */
export async function probeMovie(
  path: string,
  programs: FfmpegPrograms,
  signal?: AbortSignal,
): Promise<Movie> {
  const sizeBytes = regularSize(path);
  if (sizeBytes === undefined) {
    throw unreadable(path, 'a pipe or a device', 'save what it gives to a file first');
  }
  const changedMs = statSync(path).mtimeMs;
  const { streams, format } = await describe(path, programs, signal);
  const picture = pictureOf(streams);
  const tick = fraction(picture?.time_base);
  if (!(picture?.width && picture.height && picture.pix_fmt && tick)) {
    throw unreadable(path, 'no picture stream that ffprobe knows', 'name a movie');
  }
  const rate = fraction(picture.avg_frame_rate) ?? fraction(picture.r_frame_rate);
  const turn = turnOf(picture);
  const timecode = timecodeOf(picture, streams, format.tags);
  const said = (word: string | undefined) =>
    word === undefined || word === 'unknown' || word === 'unspecified' ? undefined : word;
  const colour = {
    range: said(picture.color_range),
    primaries: said(picture.color_primaries),
    transfer: said(picture.color_transfer),
    matrix: said(picture.color_space),
    siting: said(picture.chroma_location),
    fieldOrder: said(picture.field_order),
  };
  return {
    path,
    stamp: { sizeBytes, changedMs },
    stream: picture.index,
    widthPx: picture.width,
    heightPx: picture.height,
    pixelFormat: picture.pix_fmt,
    ...(Object.fromEntries(
      Object.entries(colour).filter(([, word]) => word !== undefined),
    ) as Partial<Record<keyof typeof colour, string>>),
    ...(turn !== undefined && { turn }),
    ...(rate && { rate }),
    tick,
    stamps: await stampsOf(path, picture.index, programs, signal),
    startS: Number(format.start_time ?? 0) || 0,
    ...(timecode && { timecode }),
    soundCount: streams.filter(({ codec_type }) => codec_type === 'audio').length,
    tags: format.tags ?? {},
    streamTags: picture.tags ?? {},
  };
}

/** What the head of a movie says, whether or not its frames bear it out. */
export interface MovieGlance {
  /** Pixels of a whole frame. */
  readonly widthPx: number;
  /** Rows of a whole frame. */
  readonly heightPx: number;
  /** Rate that the file states, exact; a mean where it is variable. */
  readonly rate?: FrameRate;
  /** How many frames there are. */
  readonly frameCount?: number;
  /** Whether the frames were counted by whoever wrote the file; else length times rate. */
  readonly counted: boolean;
  /** s. */
  readonly durationS?: number;
  /** When it was begun by the camera's clock, s from 1970. */
  readonly clockS?: number;
  /** As in {@link Movie}. */
  readonly timecode?: Movie['timecode'];
}

/**
 * Looks at the head of a movie only: as quick for a hundred gigabytes as for one.
 *
 * @param ffprobe - name or path of the program
 * @throws TwinkeelError `movie/unreadable` when it holds no picture that can be told; an error of the
 *   system (ENOENT) where there is no such program
 */
export async function glanceAtMovie(path: string, ffprobe: string): Promise<MovieGlance> {
  const { streams, format } = await describe(path, { ffprobe }, undefined);
  const picture = pictureOf(streams);
  if (!(picture?.width && picture.height)) {
    throw unreadable(path, 'no picture stream that ffprobe knows', 'name a movie');
  }
  const rate = fraction(picture.avg_frame_rate) ?? fraction(picture.r_frame_rate);
  const durationS = Number(picture.duration ?? format.duration) || undefined;
  const count = Number(picture.nb_frames) || undefined;
  const frameCount =
    count ?? (durationS && rate && Math.round((durationS * rate.numerator) / rate.denominator));
  const clockS = Date.parse(format.tags?.creation_time ?? '') / 1000;
  const timecode = timecodeOf(picture, streams, format.tags);
  return {
    widthPx: picture.width,
    heightPx: picture.height,
    ...(rate && { rate }),
    ...(frameCount && { frameCount }),
    counted: count !== undefined,
    ...(durationS !== undefined && { durationS }),
    // Some cameras write the beginning of time where they do not know it.
    ...(clockS > 0 && { clockS }),
    ...(timecode && { timecode }),
  };
}

/** The first picture stream that is no cover. */
function pictureOf(streams: readonly Stream[]): Stream | undefined {
  return streams.find(
    ({ codec_type, disposition }) => codec_type === 'video' && !disposition?.attached_pic,
  );
}

interface Description {
  readonly streams: readonly Stream[];
  readonly format: {
    readonly start_time?: string;
    readonly duration?: string;
    readonly tags?: Readonly<Record<string, string>>;
  };
}

async function describe(
  path: string,
  { ffprobe }: Pick<FfmpegPrograms, 'ffprobe'>,
  signal: AbortSignal | undefined,
): Promise<Description> {
  const options = ['-v', 'level+error', '-show_streams', '-show_format', '-of', 'json'];
  const running = start(ffprobe, [...options, literal(path)], { ...(signal && { signal }) });
  const { code, stdout } = await finished(running);
  signal?.throwIfAborted();
  if (code !== 0) {
    throw unreadable(
      path,
      `a file that ffprobe cannot read (${running.sayings.gist})`,
      'name a movie that ffmpeg plays',
    );
  }
  const { streams = [], format = {} } = JSON.parse(stdout) as Partial<Description>;
  return { streams, format };
}

/** The stamps of a stream's frames in the order in which they are shown. */
async function stampsOf(
  path: string,
  stream: number,
  { ffprobe }: FfmpegPrograms,
  signal: AbortSignal | undefined,
): Promise<Float64Array> {
  const options = ['-v', 'level+error', '-select_streams', String(stream)];
  const show = ['-show_entries', 'packet=pts,flags', '-of', 'csv=p=0'];
  const running = start(ffprobe, [...options, ...show, literal(path)], {
    ...(signal && { signal }),
  });
  const { code, stdout } = await finished(running);
  signal?.throwIfAborted();
  if (code !== 0) throw programFailed('reading the time stamps', running, { file: path });
  const stamps: number[] = [];
  for (const line of stdout.split('\n')) {
    // A packet marked D is never shown: it stands before an edit's first frame.
    const [, stamp, flags] = /^(-?\d+|N\/A),([A-Z_]+)/.exec(line) ?? [];
    if (stamp === undefined || flags!.includes('D')) continue;
    if (stamp === 'N/A') {
      throw unreadable(
        path,
        'frames without time stamps',
        'let ffmpeg write them into a container that has them, such as .mkv, and steady that',
      );
    }
    stamps.push(Number(stamp));
  }
  const sorted = Float64Array.from(stamps).sort();
  const twice = sorted.findIndex((stamp, k) => k > 0 && stamp === sorted[k - 1]);
  if (sorted.length === 0) throw unreadable(path, 'a picture stream without frames', 'check it');
  if (twice > 0) {
    throw new TwinkeelError('movie/unreadable', {
      file: path,
      frame: twice,
      found: 'the time stamp of the frame before',
      expected: 'stamps that increase from frame to frame',
      remedy: 'let ffmpeg write the movie anew, and steady that',
    });
  }
  return sorted;
}

/** A turn or flip beside the picture, in words. */
function turnOf({ side_data_list = [], tags = {} }: Stream): string | undefined {
  for (const { displaymatrix, rotation } of side_data_list) {
    if (displaymatrix === undefined && rotation === undefined) continue;
    const rows = (displaymatrix ?? '').match(/-?\d+(?=\s|$)/g)?.map(Number) ?? [];
    const [a, b, , c, d] = rows;
    const upright = rows.length < 9 ? !rotation : b === 0 && c === 0 && a! > 0 && d! > 0;
    if (!upright) return rotation ? `a turn by ${rotation}°` : 'a flip';
  }
  return Number(tags.rotate ?? 0) % 360 === 0 ? undefined : `a turn by ${tags.rotate}°`;
}

/** The time code of the first frame: of the picture, its own track, or the whole movie. */
function timecodeOf(
  picture: Stream,
  streams: readonly Stream[],
  tags: Readonly<Record<string, string>> = {},
): Movie['timecode'] {
  const track = streams.find(({ codec_type, tags }) => codec_type === 'data' && codeIn(tags));
  const text = codeIn(track?.tags) ?? codeIn(picture.tags) ?? codeIn(tags);
  if (text === undefined) return undefined;
  const rate = fraction(track?.avg_frame_rate);
  return { text, ...(rate && { rate }) };
}

/** Some containers write the name in capitals. */
function codeIn(tags: Readonly<Record<string, string>> = {}): string | undefined {
  return tags.timecode ?? tags.TIMECODE;
}

/** A fraction such as 60000/1001; undefined for 0/0. */
function fraction(words: string | undefined): FrameRate | undefined {
  const [, numerator, denominator] = /^(\d+)[/:](\d+)$/.exec(words ?? '')?.map(Number) ?? [];
  return numerator && denominator ? { numerator, denominator } : undefined;
}

function unreadable(file: string, found: string, remedy: string): TwinkeelError {
  return new TwinkeelError('movie/unreadable', { file, found, expected: 'a movie', remedy });
}
