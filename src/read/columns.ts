import { TwinkeelError } from '../error.js';
import { type FrameRate, frameTime } from '../track/frameRate.js';
import { parseTimecode } from '../track/timecode.js';
import { columnIndex } from './columnGroups.js';
import type { ColumnReference, RowChoice, TimeSource, VectorSource } from './mapping.js';
import { badCell, columnName, numberFromText, type Table } from './table.js';

/** What the time column of a file says. */
export interface RowTimes {
  /** Seconds in the time base of the file, perhaps the table's own. */
  readonly times: Float64Array;
  readonly frames?: Int32Array;
  readonly frameRate?: FrameRate;
  /** Absolute time of the first row in whole nanoseconds. */
  readonly startNs?: bigint;
}

/**
 * The index of a column that a mapping names.
 *
 * @throws TwinkeelError `mapping/column` listing the columns that exist
 */
export function findColumn(table: Table, reference: ColumnReference): number {
  const index =
    typeof reference === 'number' ? reference - 1 : (table.header?.indexOf(reference) ?? -1);
  if (
    typeof reference === 'string' &&
    table.header?.lastIndexOf(reference) !== index &&
    index >= 0
  ) {
    throw new TwinkeelError('mapping/column', {
      found: `more than one column "${reference}"`,
      expected: 'names that differ',
      remedy: 'name the column by its number, from 1, without quotes',
    });
  }
  if (index < 0 || index >= table.columnCount) {
    throw new TwinkeelError('mapping/column', {
      found: table.header
        ? `the columns ${table.header.map((name) => `"${name}"`).join(', ')}`
        : `${table.columnCount} columns without a header`,
      expected: `the column ${typeof reference === 'number' ? reference : `"${reference}"`} that the mapping names`,
      remedy: 'correct the column in the mapping, or check that the mapping belongs to this file',
    });
  }
  return index;
}

/** A column of finite numbers that a mapping names. */
export function readNumbers(table: Table, reference: ColumnReference): Float64Array {
  return table.numbers(findColumn(table, reference));
}

/** Several columns side by side, row by row: length rows × columns, perhaps the table's own. */
export function readVectors(
  table: Table,
  references: readonly ColumnReference[],
  factor = 1,
): Float64Array {
  const width = references.length;
  const whole = table.sideBySide?.(
    references.map((reference) => columnIndex(table.header, table.columnCount, reference)),
  );
  if (whole && factor === 1) return whole;
  const out = new Float64Array(table.rowCount * width);
  if (whole) {
    for (let i = 0; i < out.length; i++) out[i] = whole[i]! * factor;
    return out;
  }
  references.forEach((reference, k) => {
    const column = readNumbers(table, reference);
    for (let row = 0, i = k; row < column.length; row++, i += width) out[i] = column[row]! * factor;
  });
  return out;
}

/**
 * The rows in which a column holds a text.
 *
 * @throws TwinkeelError `mapping/column` naming what the column holds where no row has it
 */
export function rowsWhere(table: Table, { column, text }: RowChoice): Int32Array {
  const index = findColumn(table, column);
  const texts = table.texts(index);
  const rows: number[] = [];
  texts.forEach((cell, row) => {
    if (unquoted(cell) === text) rows.push(row);
  });
  if (rows.length > 0) return Int32Array.from(rows);
  const held = [...new Set(texts.slice(0, 10000).map(unquoted))].slice(0, 8);
  throw new TwinkeelError('mapping/column', {
    column: columnName(table.header, index),
    found: held.map((cell) => `"${cell}"`).join(', '),
    expected: `rows that hold "${text}", as the mapping says`,
    remedy: 'correct the text in the mapping',
  });
}

const unquoted = (cell: string) => cell.replace(/^"(.*)"$/, '$1');

/** Three columns side by side of chosen rows; what other rows hold there may be anything. */
export function vectorsOfRows(
  table: Table,
  rows: Int32Array,
  { columns, factor }: VectorSource,
): Float64Array {
  const out = new Float64Array(3 * rows.length);
  columns.forEach((reference, axis) => {
    const column = findColumn(table, reference);
    const texts = table.texts(column);
    rows.forEach((row, k) => {
      const text = texts[row]!;
      const value = numberFromText(text);
      if (!Number.isFinite(value)) {
        throw badCell(table.lineOf(row), columnName(table.header, column), text);
      }
      out[3 * k + axis] = value * factor;
    });
  });
  return out;
}

/** The times of the rows, in seconds. Whole nanoseconds keep their last digit. */
export function readTimes(table: Table, source: TimeSource): RowTimes {
  switch (source.kind) {
    case 'stamp':
      return source.secondsPerUnit === 1e-9
        ? readNanoseconds(table, findColumn(table, source.column))
        : readStamps(table, findColumn(table, source.column), source.secondsPerUnit);
    case 'frames': {
      const frames =
        source.column === undefined
          ? Int32Array.from({ length: table.rowCount }, (_, row) => row)
          : readFrames(table, findColumn(table, source.column));
      return { ...timesOfFrames(frames, source.rate), frames };
    }
    case 'timecode': {
      const column = findColumn(table, source.column);
      const counts = table.texts(column).map((text, row) => {
        try {
          // Without the word "drop" the separator of the label says whether it drops frames.
          return parseTimecode(text, source.rate, source.dropFrame || undefined);
        } catch (error) {
          if (!(error instanceof TwinkeelError)) throw error;
          const { expected, found, remedy } = error;
          throw new TwinkeelError(error.code, {
            line: table.lineOf(row),
            column: columnName(table.header, column),
            expected,
            found,
            remedy,
          });
        }
      });
      return timesOfFrames(sinceFirst(counts, source.rate), source.rate);
    }
  }
}

/** Frame counts from the first; a clock that passes midnight goes on. */
function sinceFirst(counts: readonly number[], rate: FrameRate): Int32Array {
  const day = Math.round((86400 * rate.numerator) / rate.denominator);
  let midnights = 0;
  return Int32Array.from(counts, (count, k) => {
    if (k > 0 && count < counts[k - 1]! - day / 2) midnights++;
    return count - counts[0]! + midnights * day;
  });
}

/** Frame numbers, which must be whole. */
export function readFrames(table: Table, column: number): Int32Array {
  const values = table.numbers(column);
  const frames = new Int32Array(values.length);
  for (let row = 0; row < frames.length; row++) {
    const value = values[row]!;
    if (!Number.isInteger(value) || Math.abs(value) > LARGEST_FRAME) {
      throw new TwinkeelError('read/cell', {
        line: table.lineOf(row),
        column: columnName(table.header, column),
        found: `${value}`,
        expected: `a whole frame number up to ${LARGEST_FRAME}`,
        remedy: 'correct the cell',
      });
    }
    frames[row] = value;
  }
  return frames;
}

/** Frame numbers are kept as 32-bit integers. */
const LARGEST_FRAME = 2 ** 31 - 1;

function timesOfFrames(frames: Int32Array, rate: FrameRate): RowTimes {
  const times = new Float64Array(frames.length);
  for (let k = 0; k < times.length; k++) times[k] = frameTime(rate, frames[k]!);
  return { times, frames, frameRate: rate };
}

function readStamps(table: Table, column: number, secondsPerUnit: number): RowTimes {
  const stamps = table.numbers(column);
  const times = secondsPerUnit === 1 ? stamps : stamps.map((stamp) => stamp * secondsPerUnit);
  const startNs = Math.round(times[0]! * 1e9);
  if (!(Math.abs(startNs) < LARGEST_START_NS)) {
    const name = columnName(table.header, column);
    throw badCell(table.lineOf(0), name, table.texts(column)[0]!, 'a time below 1e10 s');
  }
  return { times, startNs: BigInt(startNs) };
}

/** Nanoseconds have up to 19 digits, here as in files of ours. */
const LARGEST_START_NS = 1e19;

function readNanoseconds(table: Table, column: number): RowTimes {
  const texts = table.texts(column);
  const stamps = texts.map((text, row) => {
    if (!/^-?\d{1,19}$/.test(text)) {
      throw badCell(
        table.lineOf(row),
        columnName(table.header, column),
        text,
        'a whole number of nanoseconds',
      );
    }
    return BigInt(text);
  });
  const startNs = stamps[0]!;
  return { times: Float64Array.from(stamps, (stamp) => Number(stamp - startNs) * 1e-9), startNs };
}
