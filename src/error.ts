/** What went wrong, stable across releases; the part before the slash says where in the job. */
export type ErrorCode =
  | 'argument/invalid'
  | 'argument/shape'
  | 'argument/not-finite'
  | 'rotation/no-direction'
  | 'rotation/not-a-rotation'
  | 'track/too-short'
  | 'track/too-sparse'
  | 'track/too-long'
  | 'track/time-order'
  | 'track/contradiction'
  | 'track/gap'
  | 'track/not-finite'
  | 'track/not-unit'
  | 'track/no-time'
  | 'timecode/invalid'
  | 'read/empty'
  | 'read/binary'
  | 'read/cell'
  | 'read/row-length'
  | 'read/line-length'
  | 'read/unknown-layout'
  | 'read/quoted'
  | 'read/json'
  | 'mapping/syntax'
  | 'mapping/column'
  | 'mapping/axes'
  | 'mapping/missing'
  | 'log/too-short'
  | 'log/units'
  | 'motion/aborted'
  | 'sync/refused'
  | 'manifest/invalid'
  | 'batch/worker'
  | 'rig/invalid'
  | 'rig/alignment'
  | 'movie/unreadable'
  | 'movie/unfit'
  | 'movie/ffmpeg'
  | 'file/missing'
  | 'file/too-large'
  | 'file/exists'
  | 'file/unwritable'
  | 'file/locked';

/** Where in the input something was found. Rows and lines count from 1, frames from 0. */
export interface Place {
  /** Name of the file, where the reader knows one. */
  readonly file?: string;
  /** Row of the file, or line of a mapping; from 1. */
  readonly line?: number;
  /** Name of the column or entry; its number from 1 where it has no name. */
  readonly column?: string;
  /** Frame number, or index of the sample; from 0. */
  readonly frame?: number;
  /** Seconds from the first sample. */
  readonly timeS?: number;
}

/** The parts of an error message; {@link TwinkeelError} joins them into one sentence. */
export interface ErrorParts extends Place {
  /** What would have been right, in words. */
  readonly expected: string;
  /** What stands there instead, in words. */
  readonly found: string;
  /** What to do about it, in words. */
  readonly remedy: string;
}

/** What there is to know about a result, stable across releases. */
export type WarningCode =
  | 'track/bridged'
  | 'track/gap'
  | 'track/missing-frames'
  | 'track/other-rate'
  | 'track/renormalised'
  | 'track/stumbled'
  | 'result/renormalised'
  | 'read/offset'
  | 'read/units'
  | 'log/covered'
  | 'log/heading-drift'
  | 'log/no-accelerometer'
  | 'log/no-frame-rate'
  | 'log/offset'
  | 'log/stamps'
  | 'sync/fused'
  | 'sync/gyro-scale'
  | 'sync/half-turn'
  | 'sync/mirrored'
  | 'sync/part'
  | 'sync/smoothed-track'
  | 'motion/short'
  | 'motion/shot-unclear'
  | 'motion/markers-unused'
  | 'horizon/estimated'
  | 'horizon/not-level'
  | 'horizon/on-side'
  | 'aim/missed'
  | 'limit/active'
  | 'earlier/renumbered'
  | 'retiming/longer'
  | 'rig/mount-undecided'
  | 'rig/no-margin'
  | 'rig/upside-down'
  | 'log/clipped'
  | 'log/filled'
  | 'log/gap'
  | 'log/lost'
  | 'log/units'
  | 'log/vibration';

/** Partial trouble: the result stands, and this is what to know about it. */
export interface Warning extends Place {
  /** What it is, stable across releases, such as `track/bridged`. */
  readonly code: WarningCode;
  /** One sentence for people, with numbers and units. */
  readonly message: string;
}

/**
 * The one error of the library: where, what was found, what was expected and what to do, in one
 * sentence, with the parts kept apart for programs.
 *
 * @example
 * try {
 *   readTrack('');
 * } catch (error) {
 *   isTwinkeelError(error) && error.code; // 'read/empty'
 * }
 */
export class TwinkeelError extends Error {
  /** Always `TwinkeelError`; tells the error from others across copies of the library. */
  override readonly name = 'TwinkeelError';
  /** What went wrong, stable across releases. */
  readonly code: ErrorCode;
  /** What would have been right, in words. */
  readonly expected: string;
  /** What stands there instead, in words. */
  readonly found: string;
  /** What to do about it, in words. */
  readonly remedy: string;
  /** Where in the input; empty where no place can be named. */
  readonly place: Place;

  /** Joins the parts into one sentence; the place comes first. */
  constructor(code: ErrorCode, parts: ErrorParts) {
    const { expected, found, remedy, ...place } = parts;
    const where = describePlace(place);
    const end = remedy.includes('\n') ? '' : '.';
    super(printable(`${where}found ${cut(found)}, expected ${expected}; ${remedy}${end}`));
    this.code = code;
    this.expected = expected;
    this.found = found;
    this.remedy = remedy;
    this.place = place;
  }
}

/**
 * Whether an unknown value is a {@link TwinkeelError}, and of the given code when one is named.
 *
 * @param error - whatever was caught; also an error of another copy of the library
 * @param code - the code to ask for; any when left out
 * @example
 * isTwinkeelError(new Error('a lamp went out')); // false
 */
export function isTwinkeelError(error: unknown, code?: ErrorCode): error is TwinkeelError {
  const candidate = error as { name?: unknown; code?: unknown } | null;
  return candidate?.name === 'TwinkeelError' && (code === undefined || candidate.code === code);
}

/**
 * The same error, now saying which file it came from: readers of text do not know the name.
 * Errors of other kinds pass through unchanged.
 */
export function errorInFile(error: unknown, file: string): unknown {
  if (!isTwinkeelError(error) || error.place.file !== undefined) return error;
  const { expected, found, remedy, place } = error;
  return new TwinkeelError(error.code, { ...place, file, expected, found, remedy });
}

/**
 * A text whose control characters and direction marks are written as text: what stands in a file, or
 * is its name, must not command the terminal that shows it, nor turn a line round. Line ends stay.
 */
export function printable(text: string): string {
  return text.replace(UNPRINTABLE, (character) => {
    return `\\u${character.charCodeAt(0).toString(16).padStart(4, '0')}`;
  });
}

/** Control characters, and the marks of Unicode's bidirectional algorithm (UAX #9, table 1 and 2). */
const UNPRINTABLE =
  // biome-ignore lint/suspicious/noControlCharactersInRegex: these are what it is about
  /[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]/g;

/** What stands in a sentence may be long; a whole file is no sentence. */
const LONGEST_QUOTE = 200;

function cut(text: string): string {
  return text.length > LONGEST_QUOTE ? `${text.slice(0, LONGEST_QUOTE)}…` : text;
}

function describePlace(place: Place): string {
  const words: string[] = [];
  if (place.file !== undefined) words.push(place.file);
  if (place.line !== undefined) words.push(`row ${place.line}`);
  if (place.column !== undefined) words.push(`column ${place.column}`);
  if (place.frame !== undefined) words.push(`frame ${place.frame}`);
  if (place.timeS !== undefined) words.push(`at ${place.timeS} s`);
  return words.length === 0 ? '' : `${words.join(', ')}: `;
}
