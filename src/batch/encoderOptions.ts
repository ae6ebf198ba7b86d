import { extname } from 'node:path';
import { TwinkeelError } from '../error.js';

/** Options for ffmpeg, by the run they belong to. */
export interface EncoderOptions {
  /** For the encoder of each segment. */
  readonly picture: readonly string[];
  /** For the run that joins the segments and adds the sound. */
  readonly join: readonly string[];
}

/** Containers that hold time stamps exactly enough, by the ending of the name. */
const ENDINGS = ['.mkv', '.mov', '.mp4'];

/** Made by us: another value would move, drop or convert frames behind our back. */
const OURS = [
  ...['i', 'map', 'y', 'n', 'f', 'vf', 'lavfi', 'filter', 'filter_complex', 'filter_script', 'r'],
  ...[
    's',
    'ss',
    'sseof',
    't',
    'to',
    'fs',
    'frames',
    'vframes',
    'fps_mode',
    'vsync',
    'enc_time_base',
  ],
  ...['copyts', 'itsoffset', 'itsscale', 'vn', 'an', 'dn', 'sn', 'shortest', 'pass', 'passlogfile'],
  ...[
    'video_track_timescale',
    'video_size',
    'pixel_format',
    'framerate',
    'stream_loop',
    'bsf',
    'tee',
  ],
];

/** For the finished file, beside everything with the stream specifier `a`. */
const JOIN = [
  'acodec',
  'ab',
  'aq',
  'ar',
  'ac',
  'af',
  'movflags',
  'metadata',
  'disposition',
  'brand',
];

/** Whether an option concerns the sound or the finished file. */
function joins([name, ...specifiers]: readonly string[]): boolean {
  return JOIN.includes(name!) || specifiers.includes('a');
}

/**
 * Sorts the options that a person passes on to ffmpeg: those of the sound and of the finished file
 * go to the last run, all others to the picture's encoder.
 *
 * @param words - as they stand behind `--`: names and values in turn
 * @throws TwinkeelError `argument/invalid` for a word that is no pair of name and value, or an
 *   option that would move or drop frames
 */
export function sortEncoderOptions(words: readonly string[]): EncoderOptions {
  const picture: string[] = [];
  const join: string[] = [];
  for (let k = 0; k < words.length; k += 2) {
    const [name, value] = [words[k]!, words[k + 1]];
    const option = /^-([A-Za-z]\S*)$/.exec(name)?.[1];
    if (option === undefined || value === undefined || /^-[A-Za-z]/.test(value)) {
      throw refused(
        option === undefined ? `"${name}"` : `-${option} without a value`,
        'options of ffmpeg, each with its value',
        'write them in pairs, such as -c:v prores_ks -profile:v 3; ffmpeg takes 1 for yes',
      );
    }
    const parts = option.split(':');
    if (OURS.includes(parts[0]!) && !joins(parts)) {
      throw refused(
        `-${option}`,
        'options of the encoder',
        'which frames, at what time and what size is said before --; leave it out',
      );
    }
    (joins(parts) ? join : picture).push(name, value);
  }
  return { picture, join };
}

/**
 * The options of the picture where none are passed on: FFV1, which loses nothing, is open (RFC 9043)
 * and guards each slice by a checksum; for a look, small H.264.
 */
export function defaultPicture(out: string, look: boolean, widthPx: number): readonly string[] {
  if (look) return ['-c:v', 'libx264', '-preset', 'veryfast', '-crf', '20', '-pix_fmt', 'yuv420p'];
  if (extname(out).toLowerCase() === '.mp4') {
    throw refused(
      `${out} and no encoder`,
      'an encoder that .mp4 holds',
      'end the name in .mkv for a file without loss, or name the encoder: -- -c:v libx264 -crf 14',
    );
  }
  const slices = widthPx >= LEAST_FOR_SLICES ? '16' : '4';
  return ['-c:v', 'ffv1', '-level', '3', '-g', '1', '-slices', slices, '-slicecrc', '1'];
}

/** Below this a slice would hold hardly a tile (our judgement). */
const LEAST_FOR_SLICES = 1024;

/** Refuses a name whose container could not hold the time stamps. */
export function requireEnding(out: string): void {
  if (ENDINGS.includes(extname(out).toLowerCase())) return;
  throw refused(
    `the name ${out}`,
    `a movie's name ending in ${ENDINGS.join(', ')}`,
    'choose one of these; .mkv holds everything',
  );
}

function refused(found: string, expected: string, remedy: string): TwinkeelError {
  return new TwinkeelError('argument/invalid', { found, expected, remedy });
}
