import { closeSync, openSync, readSync } from 'node:fs';
import { isTwinkeelError, type TwinkeelError } from '../error.js';
import { cleanUp } from '../files/cleanUp.js';
import { openTable } from '../files/openRecording.js';
import { findColumn } from '../read/columns.js';
import type { Mapping } from '../read/mapping.js';
import { motionLogFromTable } from '../read/readMotionLog.js';
import { trackFromTable } from '../read/readTrack.js';
import { mappedKind, recogniseHeader } from '../read/recognise.js';
import type { Table } from '../read/table.js';
import { decodeText } from '../read/text.js';
import type { FrameRate } from '../track/frameRate.js';

/** What a file turned out to hold, as far as a shoot's manifest wants to know. */
export type Recognised =
  | (Recording & { readonly kind: 'track' | 'log' })
  | { readonly kind: 'movie' }
  /** Neither; `why` where somebody may have meant it to be one. */
  | { readonly kind: 'other'; readonly why?: string };

/** What a track or a log says of itself. */
export interface Recording {
  /** The mapping that it is read with; none where its header says everything. */
  readonly mapping?: string;
  /** From the first to the last row, s; missing where only a rate makes times of its rows. */
  readonly durationS?: number;
  /** Time of the first row in the file's own time base, s. */
  readonly startS?: number;
  /** Rows, or frames from the first to the last. */
  readonly count?: number;
  /** Exact rate of its frames, where it says it. */
  readonly rate?: FrameRate;
  /** Time code of the first row. */
  readonly timecode?: string;
  /** Why it cannot be corrected as it is. */
  readonly problem?: string;
}

/** A mapping that may apply to a file, and where it stands. */
export interface NamedMapping {
  readonly path: string;
  readonly mapping: Mapping;
}

/**
 * Tells what a file holds by what stands in it: movies by their first bytes, tracks and logs as
 * `correct` would read them.
 *
 * @param mappings - that may apply, the most probable first; the first that reads the whole file is taken
 */
export async function recogniseFile(
  path: string,
  mappings: readonly NamedMapping[],
): Promise<Recognised> {
  const head = firstBytes(path);
  if (isMovieHead(head)) return { kind: 'movie' };
  const text = decodeText(head);
  // A page, or what twinkeel itself wrote.
  if (/^\s*<|"format"\s*:\s*"twinkeel-/.test(text)) return { kind: 'other' };
  let first: TwinkeelError | undefined;
  let doubtful: Recognised | undefined;
  for (const each of [undefined, ...mappings]) {
    try {
      const found = await readWith(path, each);
      if (found.kind !== 'other' && found.problem === undefined) return found;
      if (found.kind !== 'other') doubtful ??= found;
      else if (found.why !== undefined) return found;
    } catch (error) {
      if (!isTwinkeelError(error)) throw error;
      if (error.code === 'read/binary') return { kind: 'other' };
      first ??= error;
    }
  }
  if (doubtful) return doubtful;
  const tried = mappings.length === 0 ? 'no mapping of a folder above it' : 'none of its mappings';
  return {
    kind: 'other',
    why: first ? gist(first) : `its columns are not ours, and ${tried} fits`,
  };
}

/** Reads a file with a mapping or by its header; `other` where neither says what the rows are. */
async function readWith(
  path: string,
  named: NamedMapping | undefined,
): Promise<Exclude<Recognised, { kind: 'movie' }>> {
  const table = await openTable(path, named?.mapping);
  const mapping = named?.mapping ?? recogniseHeader(table.header);
  if (!mapping) return { kind: 'other' };
  const kind = mappedKind(mapping);
  if (!kind) {
    const why =
      'an accelerometer alone; name it as "accel" or "logAccel" beside its gyroscope’s log';
    return { kind: 'other', why };
  }
  const with_ = named ? { mapping: named.path } : {};
  try {
    const facts =
      kind === 'track' ? factsOfTrack(table, named?.mapping) : factsOfLog(table, named?.mapping);
    return { kind, ...with_, ...facts };
  } catch (error) {
    if (!isTwinkeelError(error) || DOES_NOT_APPLY.includes(error.code)) throw error;
    return { kind, ...with_, problem: gist(error) };
  }
}

/** Errors that say that a mapping is of another file. */
const DOES_NOT_APPLY = ['mapping/column', 'mapping/missing', 'mapping/axes'];

function factsOfTrack(table: Table, mapping: Mapping | undefined): Recording {
  const time = mapping?.time;
  // Rows without any time are frames: of which rate the movie may say.
  if (mapping && !time) {
    trackFromTable(table, mapping, { numerator: 25, denominator: 1 });
    return { count: table.rowCount };
  }
  const track = trackFromTable(table, mapping);
  const { times, frames, frameRate, startNs } = track;
  const last = times.length - 1;
  return {
    durationS: times[last]!,
    count: frames ? frames[last]! - frames[0]! + 1 : times.length,
    ...(frameRate && { rate: frameRate }),
    ...(startNs !== undefined && { startS: Number(startNs) / 1e9 }),
    ...(time?.kind === 'timecode' && {
      timecode: table.texts(findColumn(table, time.column))[0]!,
    }),
  };
}

function factsOfLog(table: Table, mapping: Mapping | undefined): Recording {
  const { times, startNs } = motionLogFromTable(table, mapping);
  return {
    durationS: times[times.length - 1]!,
    count: times.length,
    ...(startNs !== undefined && { startS: Number(startNs) / 1e9 }),
  };
}

/** What was found and expected, without the file and the remedy: a note holds one line. */
function gist({ place, found, expected }: TwinkeelError): string {
  const row = place.line === undefined ? '' : `row ${place.line}: `;
  return `${row}found ${found.split('\n')[0]!.slice(0, 120)}, expected ${expected.split('\n')[0]}`;
}

const HEAD_BYTES = 4096;

function firstBytes(path: string): Uint8Array {
  const bytes = new Uint8Array(HEAD_BYTES);
  const descriptor = openSync(path, 'r');
  try {
    return bytes.subarray(0, readSync(descriptor, bytes, 0, HEAD_BYTES, 0));
  } finally {
    cleanUp(() => closeSync(descriptor));
  }
}

/**
 * Whether a file begins like a movie.
 *
 * @see ISO/IEC 14496-12 (a box's length, then its name), RFC 8794 (EBML's first four bytes), SMPTE
 *   ST 377-1 (the first bytes of an MXF partition); AVI's RIFF header from memory
 */
function isMovieHead(head: Uint8Array): boolean {
  const letters = (from: number, to: number) => String.fromCharCode(...head.subarray(from, to));
  return (
    ['ftyp', 'moov', 'mdat', 'wide', 'free', 'skip'].includes(letters(4, 8)) ||
    letters(0, 4) === '\x1aE\xdf\xa3' ||
    (letters(0, 4) === 'RIFF' && letters(8, 12) === 'AVI ') ||
    letters(0, 4) === '\x06\x0e+4'
  );
}
