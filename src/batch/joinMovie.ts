import { writeFileSync } from 'node:fs';
import { extname, join } from 'node:path';
import { TwinkeelError } from '../error.js';
import { timescale } from '../files/ffmpegPipes.js';
import {
  type FfmpegPrograms,
  finished,
  literal,
  programFailed,
  start,
} from '../files/ffmpegPrograms.js';
import { type Movie, probeMovie } from '../files/movie.js';
import type { FrameRate } from '../track/frameRate.js';
import type { CutTimecode } from './movieTimecode.js';
import type { SegmentFolder } from './segmentFolder.js';

/** Segments that become one movie, with the sound and the words of the source. */
export interface JoinJob {
  readonly movie: Movie;
  readonly programs: FfmpegPrograms;
  readonly folder: SegmentFolder;
  /** First frame of each segment and the end of the last one, by the stamps, ticks. */
  readonly bounds: readonly number[];
  /** Stamps of all frames, ticks from the first. */
  readonly stamps: readonly number[];
  /** Seconds per tick. */
  readonly tick: FrameRate;
  /** When the first frame is shown, s; above 0 where the sound begins before the picture. */
  readonly startS: number;
  /** What is taken of the sound, s of the source; undefined for all of it. */
  readonly sound?: { readonly fromS: number; readonly lengthS: number };
  readonly timecode: CutTimecode;
  readonly options: readonly string[];
  readonly signal?: AbortSignal;
}

/**
 * Joins the segments into one movie, copying every stream, and looks at what came out: every frame at
 * its time, or it is refused.
 *
 * @returns what the container could not hold, in words
 * @throws TwinkeelError `movie/ffmpeg`
 */
export async function joinMovie(job: JoinJob): Promise<string[]> {
  const { folder, programs, signal } = job;
  writeFileSync(join(folder.path, 'list.ffconcat'), listOf(job));
  const running = start(programs.ffmpeg, joinOptions(job), {
    cwd: folder.path,
    ...(signal && { signal }),
  });
  const { code } = await finished(running);
  signal?.throwIfAborted();
  if (code !== 0) {
    throw programFailed('joining picture and sound', running, {
      remedy:
        'choose an ending that holds the sound (.mkv), or encode it anew: -- -c:a aac; whole segments are kept',
    });
  }
  const made = await probeMovie(join(folder.path, folder.joined), programs, signal);
  requireStamps(job, made);
  return losses(job, made);
}

/** Lengths are differences of rounded places, so that their roundings never add up. */
function listOf({ folder, bounds, tick }: JoinJob): string {
  const micros = (place: number) => Math.round((1e6 * place * tick.numerator) / tick.denominator);
  const entries = bounds.slice(1).map((end, k) => {
    const length = (micros(end) - micros(bounds[k]!)) / 1e6;
    return `file '${folder.nameOf(k)}'\nduration ${length.toFixed(6)}\n`;
  });
  return `ffconcat version 1.0\n${entries.join('')}`;
}

function joinOptions(job: JoinJob): string[] {
  const { movie, folder, tick, startS, sound, timecode } = job;
  const cut = sound ? ['-ss', sound.fromS.toFixed(6), '-t', sound.lengthS.toFixed(6)] : [];
  const code = timecode && 'text' in timecode ? timecode.text : '';
  return [
    ...['-hide_banner', '-nostats', '-nostdin', '-y', '-v', 'level+warning'],
    ...(startS > 0 ? ['-itsoffset', startS.toFixed(6)] : []),
    ...['-f', 'concat', '-i', 'list.ffconcat', ...cut, '-i', literal(movie.path)],
    // Packets of sound that begin before the cut would push the pictures back.
    ...['-map', '0:v:0', '-map', '1:a?', '-c', 'copy', '-copypriorss', '0'],
    ...['-map_metadata', '1', '-map_metadata:s:v:0', `1:s:${movie.stream}`, '-map_chapters', '1'],
    ...blanked(movie),
    ...(movie.timecode ? ['-metadata:s:v:0', `timecode=${code}`] : []),
    ...(movie.tags.timecode ? ['-metadata', `timecode=${code}`] : []),
    ...(movie.tags.TIMECODE ? ['-metadata', `TIMECODE=${code}`] : []),
    ...timescale(folder.joined, tick),
    ...joinFlags(job),
    ...['-fflags', '+bitexact', literal(join(folder.path, folder.joined))],
  ];
}

/** Words about the old file or its encoding, which would be untrue of the new one. */
const UNTRUE =
  /^(?:encoder|rotate|major_brand|minor_version|compatible_brands|duration|bps|number_of_\w+|_statistics_\w+|vendor_id)(?:-\w+)?$/i;

function blanked({ tags, streamTags }: Movie): string[] {
  const blank = (specifier: string, words: Readonly<Record<string, string>>) =>
    Object.keys(words)
      .filter((key) => UNTRUE.test(key))
      .flatMap((key) => [specifier, `${key}=`]);
  return [...blank('-metadata', tags), ...blank('-metadata:s:v:0', streamTags)];
}

/** Mov files drop words with names of a maker's own unless told not to. */
function joinFlags({ movie, folder, options }: JoinJob): string[] {
  const at = options.lastIndexOf('-movflags');
  const own = at < 0 ? '' : options[at + 1]!;
  const rest = options.filter((_, k) => at < 0 || (k !== at && k !== at + 1));
  const makers = Object.keys(movie.tags).some((key) => key.includes('.'));
  const keep = makers && isMov(folder.joined) ? '+use_metadata_tags' : '';
  const flags = own === '' || own.startsWith('+') ? keep + own : own;
  return [...rest, ...(flags ? ['-movflags', flags] : [])];
}

const isMov = (name: string) => ['.mov', '.mp4'].includes(extname(name).toLowerCase());

/** Refuses a movie with a frame too many, too few, or at another time than its own. */
function requireStamps({ stamps, tick }: JoinJob, made: Movie): void {
  const seconds = tick.numerator / tick.denominator;
  const madeSeconds = made.tick.numerator / made.tick.denominator;
  const refuse = (found: string, expected: string) =>
    new TwinkeelError('movie/ffmpeg', {
      found: `${found} after joining`,
      expected,
      remedy:
        'the segments are kept; try another container (.mkv), or other options of the encoder',
    });
  if (made.stamps.length !== stamps.length) {
    throw refuse(`${made.stamps.length} frames`, `${stamps.length}`);
  }
  // Rounded to a tick when it was encoded and to one of the container's when it was joined.
  const most = seconds + madeSeconds;
  stamps.forEach((stamp, k) => {
    const at = (made.stamps[k]! - made.stamps[0]!) * madeSeconds;
    if (Math.abs(at - stamp * seconds) <= most) return;
    throw refuse(
      `frame ${k} at ${at.toFixed(6)} s from the first`,
      `${(stamp * seconds).toFixed(6)} s`,
    );
  });
}

/** What the source said and the new file does not. */
function losses({ movie, timecode }: JoinJob, made: Movie): string[] {
  const words: string[] = [];
  const keys = ['range', 'primaries', 'transfer', 'matrix', 'siting'] as const;
  const changed = keys.filter((key) => movie[key] !== undefined && movie[key] !== made[key]);
  if (changed.length > 0) {
    const names = changed.map((key) => `${key} ${movie[key]}`);
    words.push(`the container or encoder does not say of the picture: ${names.join(', ')}`);
  }
  const has = (tags: Readonly<Record<string, string>>, key: string) =>
    Object.keys(tags).some((other) => other.toLowerCase() === key.toLowerCase());
  const lost = Object.keys(movie.tags).filter(
    (key) => !UNTRUE.test(key) && !/^timecode$/i.test(key) && !has(made.tags, key),
  );
  if (lost.length > 0) words.push(`the container does not hold these words: ${lost.join(', ')}`);
  if (timecode && 'lost' in timecode) words.push(`no time code was written: ${timecode.lost}`);
  else if (timecode && made.timecode?.text !== timecode.text) {
    words.push(`the container does not hold the time code ${timecode.text}`);
  }
  if (made.soundCount < movie.soundCount) {
    words.push(`${movie.soundCount - made.soundCount} streams of sound are missing`);
  }
  return words;
}
