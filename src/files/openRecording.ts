import { errorInFile, TwinkeelError } from '../error.js';
import type { ColumnsTogether } from '../read/columnGroups.js';
import { isJson } from '../read/jsonTable.js';
import type { Mapping } from '../read/mapping.js';
import {
  accelerometerLogFromTable,
  mappingOfLog,
  motionLogFromTable,
} from '../read/readMotionLog.js';
import {
  type ReadTrackOptions,
  readTrack,
  resolveMapping,
  tableFromInput,
  trackFromTable,
} from '../read/readTrack.js';
import { mappedKind, recogniseHeader, unknownLayout } from '../read/recognise.js';
import { TableScanner } from '../read/scanTable.js';
import type { Table } from '../read/table.js';
import { decodeText } from '../read/text.js';
import { vectorColumns } from '../read/vectorColumns.js';
import type { AccelerometerLog, MotionLog } from '../track/motionLog.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { readAsText, readBytes, readChunks, regularSize, tooLarge } from './readFile.js';

/** How to read a file. */
export type ReadFileOptions = ReadTrackOptions;

/** What a file turned out to hold. */
export type FileRecording =
  | {
      /** Orientations, or frames with orientations. */
      readonly kind: 'track';
      /** Camera→world. */
      readonly track: OrientationTrack;
    }
  | {
      /** Angular rates, with or without an accelerometer. */
      readonly kind: 'log';
      /** In camera axes. */
      readonly log: MotionLog;
    };

/**
 * Reads a file that holds either an orientation track or a motion log, as its mapping or its
 * header says.
 *
 * @param path - of the file
 * @param options - how it is to be understood
 * @throws TwinkeelError naming file, row and column
 * @example
 * writeFiles([{ path: `${folder}/aisle.csv`, content: csv }]);
 * const recording = await openRecording(`${folder}/aisle.csv`);
 * recording.kind; // 'track'
 */
export async function openRecording(
  path: string,
  options: ReadFileOptions = {},
): Promise<FileRecording> {
  return inFile(path, async () => {
    if (options.format === 'opentrackio') {
      return { kind: 'track', track: readTrack(readBytes(path), options) };
    }
    const mapping = resolveMapping(options.mapping, options.format);
    const table = await openVectors(path, mapping);
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

/**
 * Reads an orientation track; also tables with quoted cells, which the browser entry refuses.
 *
 * @param path - of the file
 * @param options - how it is to be understood, as for {@link readTrack}
 * @throws TwinkeelError naming file, row and column
 * @example
 * writeFiles([{ path: `${folder}/aisle.csv`, content: csv }]);
 * const track = await readTrackFile(`${folder}/aisle.csv`);
 * track.times.length; // 721
 */
export async function readTrackFile(
  path: string,
  options: ReadFileOptions = {},
): Promise<OrientationTrack> {
  return inFile(path, async () => {
    if (options.format === 'opentrackio') return readTrack(readBytes(path), options);
    const mapping = resolveMapping(options.mapping, options.format);
    return trackFromTable(await openVectors(path, mapping), mapping, options.frameRate);
  });
}

/**
 * Reads a motion log; also tables with quoted cells.
 *
 * @param path - of the file
 * @param options - how it is to be understood, as for `readMotionLog`
 * @throws TwinkeelError naming file, row and column
 * @example
 * const content = 'time_s,gx,gy,gz\n0,0,0.1,0\n0.01,0,0.1,0\n';
 * writeFiles([{ path: `${folder}/gyro.csv`, content }]);
 * const log = await readMotionLogFile(`${folder}/gyro.csv`);
 * log.rate; // [0, 0.1, 0, 0, 0.1, 0] rad/s
 */
export async function readMotionLogFile(
  path: string,
  options: Pick<ReadFileOptions, 'mapping' | 'format'> = {},
): Promise<MotionLog> {
  return inFile(path, async () => {
    const mapping = mappingOfLog(options);
    return motionLogFromTable(await openVectors(path, mapping), mapping);
  });
}

/**
 * Reads the log of an accelerometer alone; also tables with quoted cells.
 *
 * @param path - of the file
 * @param options - how it is to be understood, as for `readAccelerometerLog`
 * @throws TwinkeelError naming file, row and column
 * @example
 * const content = 'time_s,ax,ay,az\n0,0,9.81,0\n0.01,0,9.81,0\n';
 * writeFiles([{ path: `${folder}/accel.csv`, content }]);
 * const still = await readAccelerometerLogFile(`${folder}/accel.csv`);
 * still.acceleration; // [0, 9.81, 0, 0, 9.81, 0] m/s²
 */
export async function readAccelerometerLogFile(
  path: string,
  options: Pick<ReadFileOptions, 'mapping' | 'format'> = {},
): Promise<AccelerometerLog> {
  return inFile(path, async () => {
    const mapping = mappingOfLog(options);
    return accelerometerLogFromTable(await openVectors(path, mapping), mapping);
  });
}

/**
 * The table in a file. Plain tables are read piece by piece; quoted cells go through fast-csv,
 * which is only loaded then and, like JSON, needs the whole file at once.
 *
 * @param together - which columns will be wanted side by side
 */
export async function openTable(
  path: string,
  mapping?: Mapping,
  together?: ColumnsTogether,
): Promise<Table> {
  const size = regularSize(path);
  const whole = size === undefined ? readBytes(path) : undefined;
  const scanner = new TableScanner(mapping?.layout, whole?.length ?? size, together);
  let json: boolean | undefined;
  try {
    for (const chunk of whole ? [whole] : readChunks(path, () => scanner.room)) {
      json ??= isJson(decodeText(chunk.subarray(0, 64)).replace(/^\uFEFF/, ''));
      if (json) break;
      scanner.push(chunk);
      if (scanner.hasQuotes) break;
    }
    if (json) return tableFromInput(whole ?? readAsText(path, 'JSON'), mapping);
    if (!scanner.hasQuotes) {
      const table = scanner.finish();
      if (!scanner.hasQuotes) return table;
    }
  } catch (error) {
    // Memory that cannot be had; nothing else in reading a table can be out of range.
    if (error instanceof RangeError) throw tooLarge(path, 'a table that does not fit into memory');
    // Between quotes a row may be right that looks wrong to the scanner.
    if (!scanner.hasQuotes) throw error;
  }
  const { readQuotedTable } = await import('./quotedTable.js');
  return readQuotedTable(whole ?? readAsText(path, 'quoted cells'), mapping?.layout);
}

/** The table in a file of which vectors or quaternions are wanted. */
function openVectors(path: string, mapping: Mapping | undefined): Promise<Table> {
  return openTable(path, mapping, vectorColumns(mapping));
}

async function inFile<T>(path: string, read: () => Promise<T>): Promise<T> {
  try {
    return await read();
  } catch (error) {
    throw errorInFile(error, path);
  }
}
