import { errorInFile, TwinkeelError } from '../error.js';
import type { Mapping } from '../read/mapping.js';
import { parseMapping } from '../read/mapping.js';
import { motionLogFromTable } from '../read/readMotionLog.js';
import { tableFromInput, trackFromTable } from '../read/readTrack.js';
import { mappedKind, recogniseHeader, unknownLayout } from '../read/recognise.js';
import type { Table } from '../read/table.js';
import { decodeText } from '../read/text.js';
import type { FrameRate } from '../track/frameRate.js';
import type { MotionLog } from '../track/motionLog.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { readBytes } from './readFile.js';

/** How to read a file. */
export interface ReadFileOptions {
  readonly mapping?: string | Mapping;
  readonly frameRate?: FrameRate;
}

/** What a file turned out to hold. */
export type Recording =
  | { readonly kind: 'track'; readonly track: OrientationTrack }
  | { readonly kind: 'log'; readonly log: MotionLog };

/**
 * Reads a file that holds either an orientation track or a motion log, as its mapping or its
 * header says.
 *
 * @throws TwinkeelError naming file, row and column
 */
export async function openRecording(
  path: string,
  options: ReadFileOptions = {},
): Promise<Recording> {
  return inFile(path, async () => {
    const mapping =
      typeof options.mapping === 'string' ? parseMapping(options.mapping) : options.mapping;
    const table = await openTable(path, mapping);
    const effective = mapping ?? recogniseHeader(table.header);
    if (!effective) throw unknownLayout(table);
    if (!mapping && path.endsWith('.corrections.csv')) throw holdsCorrections();
    return mappedKind(effective) === 'log'
      ? { kind: 'log', log: motionLogFromTable(table, mapping) }
      : { kind: 'track', track: trackFromTable(table, mapping, options.frameRate) };
  });
}

/** Corrections look like a track, row by row; only the name of the file tells them apart. */
function holdsCorrections(): TwinkeelError {
  return new TwinkeelError('read/unknown-layout', {
    found: 'a file of corrections',
    expected: 'an orientation track or a motion log',
    remedy: 'pass corrections with --earlier, or rename the file if it really is a track',
  });
}

/** Reads an orientation track; also tables with quoted cells, which the browser entry refuses. */
export async function readTrackFile(
  path: string,
  options: ReadFileOptions = {},
): Promise<OrientationTrack> {
  return inFile(path, async () => {
    const mapping =
      typeof options.mapping === 'string' ? parseMapping(options.mapping) : options.mapping;
    return trackFromTable(await openTable(path, mapping), mapping, options.frameRate);
  });
}

/** Reads a motion log; also tables with quoted cells. */
export async function readMotionLogFile(
  path: string,
  options: Pick<ReadFileOptions, 'mapping'> = {},
): Promise<MotionLog> {
  return inFile(path, async () => {
    const mapping =
      typeof options.mapping === 'string' ? parseMapping(options.mapping) : options.mapping;
    return motionLogFromTable(await openTable(path, mapping), mapping);
  });
}

/** The table in a file; quoted cells go through fast-csv, which is only loaded then. */
export async function openTable(path: string, mapping?: Mapping): Promise<Table> {
  const bytes = readBytes(path);
  const json = /^\s*[[{]/.test(decodeText(bytes.subarray(0, 64)).replace(/^\uFEFF/, ''));
  if (!json && bytes.includes(34)) {
    const { readQuotedTable } = await import('./quotedTable.js');
    return readQuotedTable(bytes, mapping?.layout);
  }
  return tableFromInput(bytes, mapping);
}

async function inFile<T>(path: string, read: () => Promise<T>): Promise<T> {
  try {
    return await read();
  } catch (error) {
    throw errorInFile(error, path);
  }
}
