import { TwinkeelError } from '../error.js';
import {
  badCell,
  badRowLength,
  columnName,
  emptyTable,
  numberFromText,
  type Table,
  type TableLayout,
} from './table.js';
import { decodeText } from './text.js';

const NEWLINE = 10;
const RETURN = 13;
const SPACE = 32;
const TAB = 9;
const QUOTE = 34;
const COMMA = 44;
const SEMICOLON = 59;
const POINT = 46;
const MINUS = 45;
const PLUS = 43;
const ZERO = 48;
const HASH = 35;

/** Powers of ten that a double holds exactly. */
const EXACT_POWERS_OF_TEN = Float64Array.from({ length: 23 }, (_, k) => Number(`1e${k}`));

/** What {@link detectLayout} found out about a text. */
export interface DetectedLayout {
  readonly separator: number;
  readonly decimal: number;
  readonly comment: string | undefined;
}

/**
 * Reads a plain numeric table: one record per line, cells split by a separator, no quotes. Every
 * number is the double nearest to its decimal text.
 *
 * @param bytes - the file; UTF-8 or ASCII, with or without a byte order mark
 * @param layout - what is known about the layout; the rest is found from the first lines
 * @throws TwinkeelError `read/empty`, `read/binary`, `read/quoted` (quoted cells: use
 *   `twinkeel/node`), `read/row-length`; cells are checked when a column is asked for
 */
export function scanTable(bytes: Uint8Array, layout: TableLayout = {}): Table {
  const detected = detectLayout(bytes, layout);
  const { separator, decimal, comment } = detected;
  const every = layout.every ?? 1;
  let position = startOfLine(bytes, layout.skip ?? 0);
  let line = (layout.skip ?? 0) + 1;
  let header: string[] | undefined;
  let commented: string[] | undefined;
  let columnCount = 0;
  let rowCount = 0;
  let seen = 0;
  let values = new Float64Array(1024);
  let starts = new Float64Array(256);
  let lines = new Uint32Array(256);

  for (; position < bytes.length; line++) {
    let end = bytes.indexOf(NEWLINE, position);
    if (end < 0) end = bytes.length;
    const start = position;
    position = end + 1;
    if (isBlank(bytes, start, end)) {
      // Where only every k-th line is a row, an empty line between them counts.
      if (every > 1 && columnCount > 0 && (rowCount > 0 || header)) seen++;
      continue;
    }
    if (comment !== undefined && startsWith(bytes, start, comment)) {
      if (columnCount === 0) {
        commented = splitCells(bytes, start + comment.length, end, separator);
      }
      continue;
    }
    if (columnCount === 0) {
      const cells = splitCells(bytes, start, end, separator);
      columnCount = cells.length;
      const named = cells.some((cell) => cell !== '');
      if (named && !cells.some((cell) => looksNumeric(cell, decimal))) {
        header = cells;
        continue;
      }
      if (commented?.length === columnCount) header = commented;
    }
    if (seen++ % every !== 0) continue;
    if (rowCount === lines.length) {
      starts = grown(starts, new Float64Array(2 * rowCount));
      lines = grown(lines, new Uint32Array(2 * rowCount));
    }
    if ((rowCount + 1) * columnCount > values.length) {
      values = grown(values, new Float64Array(2 * (rowCount + 1) * columnCount));
    }
    const cells = scanRow(
      bytes,
      start,
      end,
      separator,
      decimal,
      values,
      rowCount * columnCount,
      columnCount,
    );
    if (cells !== columnCount) {
      if (bytes.subarray(start, end).includes(QUOTE)) throw quoted(line);
      throw badRowLength(line, cells, columnCount);
    }
    starts[rowCount] = start;
    lines[rowCount] = line;
    rowCount++;
  }
  if (rowCount === 0) {
    throw emptyTable(header ? 'a header and no rows' : 'no rows');
  }
  const cellText = (row: number, column: number) => {
    const start = starts[row]!;
    let end = bytes.indexOf(NEWLINE, start);
    if (end < 0) end = bytes.length;
    return splitCells(bytes, start, end, separator)[column] ?? '';
  };
  return {
    header,
    rowCount,
    columnCount,
    lineOf: (row) => lines[row]!,
    numbers: (column) => {
      const out = new Float64Array(rowCount);
      for (let row = 0; row < rowCount; row++) {
        const value = values[row * columnCount + column]!;
        if (!Number.isFinite(value)) {
          const text = cellText(row, column);
          const start = starts[row]!;
          const end = bytes.indexOf(NEWLINE, start);
          throw bytes.subarray(start, end < 0 ? bytes.length : end).includes(QUOTE)
            ? quoted(lines[row]!)
            : badCell(lines[row]!, columnName(header, column), text);
        }
        out[row] = value;
      }
      return out;
    },
    texts: (column) => Array.from({ length: rowCount }, (_, row) => cellText(row, column)),
  };
}

/**
 * Separator, decimal mark and comment sign of a text, from its first lines. A tab beats a
 * semicolon beats a comma beats blanks; a comma inside a cell is a decimal mark where the
 * separator is something else and no cell uses a point.
 *
 * @throws TwinkeelError `read/empty`, `read/binary`
 */
export function detectLayout(bytes: Uint8Array, layout: TableLayout): DetectedLayout {
  const head = bytes.subarray(0, 65536);
  if (head.includes(0)) {
    throw new TwinkeelError('read/binary', {
      found: 'binary data',
      expected: 'a text table (CSV) or JSON',
      remedy: 'export the track or log as text',
    });
  }
  if (isBlank(head, 0, head.length)) throw emptyTable('an empty file');
  const from = startOfLine(bytes, layout.skip ?? 0);
  const comment = layout.comment ?? (bytes[from] === HASH ? '#' : undefined);
  const sample = decodeText(bytes.subarray(from, from + 65536))
    .split(/\r?\n/)
    .filter((text) => text.trim() !== '' && !(comment !== undefined && text.startsWith(comment)));
  // A time code may hold a semicolon that separates nothing.
  const all = sample.join('\n').replace(/\d{2}:\d{2}:\d{2};\d{2}/g, '');
  const separator =
    layout.separator === undefined
      ? all.includes('\t')
        ? TAB
        : all.includes(';')
          ? SEMICOLON
          : all.includes(',')
            ? COMMA
            : SPACE
      : layout.separator === 'space'
        ? SPACE
        : layout.separator === 'tab'
          ? TAB
          : layout.separator.charCodeAt(0);
  const decimal = separator !== COMMA && /\d,\d/.test(all) && !/\d\.\d/.test(all) ? COMMA : POINT;
  return { separator, decimal, comment };
}

/**
 * Parses one line into `values` from `offset` on; a cell that is no decimal number becomes NaN.
 *
 * @returns the number of cells on the line, which may differ from `columnCount`
 */
function scanRow(
  bytes: Uint8Array,
  start: number,
  lineEnd: number,
  separator: number,
  decimal: number,
  values: Float64Array,
  offset: number,
  columnCount: number,
): number {
  let end = lineEnd;
  while (
    end > start &&
    isSpace(bytes[end - 1]!) &&
    (separator === SPACE || bytes[end - 1] !== separator)
  )
    end--;
  let cell = 0;
  let i = start;
  if (separator === SPACE) while (i < end && isSpace(bytes[i]!)) i++;
  for (;;) {
    let stop = i;
    if (separator === SPACE) while (stop < end && !isSpace(bytes[stop]!)) stop++;
    else while (stop < end && bytes[stop] !== separator) stop++;
    if (cell < columnCount) values[offset + cell] = scanNumber(bytes, i, stop, decimal);
    cell++;
    if (stop >= end) return cell;
    i = stop + 1;
    if (separator === SPACE) while (i < end && isSpace(bytes[i]!)) i++;
  }
}

/**
 * The number written in bytes[start, end). Up to 15 digits and a power of ten up to 22 need one
 * correctly rounded operation on exact values; everything else goes through Number().
 *
 * @see Clinger, "How to read floating point numbers accurately", PLDI 1990, the fast path
 */
function scanNumber(bytes: Uint8Array, from: number, to: number, decimal: number): number {
  let start = from;
  let end = to;
  while (start < end && isSpace(bytes[start]!)) start++;
  while (end > start && isSpace(bytes[end - 1]!)) end--;
  let i = start;
  const negative = bytes[i] === MINUS;
  if (negative || bytes[i] === PLUS) i++;
  let mantissa = 0;
  let digits = 0;
  let fraction = -1;
  for (; i < end; i++) {
    const byte = bytes[i]!;
    const digit = byte - ZERO;
    if (digit >= 0 && digit <= 9) {
      mantissa = mantissa * 10 + digit;
      if (mantissa > 0) digits++;
      if (fraction >= 0) fraction++;
    } else if (byte === decimal && fraction < 0) fraction = 0;
    else break;
  }
  if (i === end && digits <= 15 && fraction <= 22 && end > start + (negative ? 1 : 0)) {
    const anyDigit = digits > 0 || hasZeroDigit(bytes, start, end);
    if (!anyDigit) return Number.NaN;
    const value = fraction > 0 ? mantissa / EXACT_POWERS_OF_TEN[fraction]! : mantissa;
    return negative ? -value : value;
  }
  const text = decodeText(bytes.subarray(start, end));
  return numberFromText(decimal === COMMA ? text.replace(',', '.') : text);
}

function hasZeroDigit(bytes: Uint8Array, start: number, end: number): boolean {
  for (let i = start; i < end; i++) if (bytes[i] === ZERO) return true;
  return false;
}

function splitCells(bytes: Uint8Array, start: number, end: number, separator: number): string[] {
  const text = decodeText(bytes.subarray(start, end)).replace(/\r$/, '');
  const cells =
    separator === SPACE ? text.trim().split(/\s+/) : text.split(String.fromCharCode(separator));
  return cells.map((cell) => cell.trim().replace(/^"(.*)"$/, '$1'));
}

function looksNumeric(cell: string, decimal: number): boolean {
  return Number.isFinite(numberFromText(decimal === COMMA ? cell.replace(',', '.') : cell));
}

function isSpace(byte: number): boolean {
  return byte === SPACE || byte === TAB || byte === RETURN;
}

function isBlank(bytes: Uint8Array, start: number, end: number): boolean {
  for (let i = start; i < end; i++) {
    if (!isSpace(bytes[i]!) && bytes[i] !== NEWLINE) return false;
  }
  return true;
}

function startsWith(bytes: Uint8Array, start: number, text: string): boolean {
  for (let i = 0; i < text.length; i++) {
    if (bytes[start + i] !== text.charCodeAt(i)) return false;
  }
  return true;
}

/** Where the text starts after a byte order mark and `skip` lines. */
function startOfLine(bytes: Uint8Array, skip: number): number {
  let position = bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? 3 : 0;
  for (let k = 0; k < skip; k++) {
    const end = bytes.indexOf(NEWLINE, position);
    if (end < 0) return bytes.length;
    position = end + 1;
  }
  return position;
}

function grown<T extends Float64Array | Uint32Array>(from: T, into: T): T {
  into.set(from);
  return into;
}

function quoted(line: number): TwinkeelError {
  return new TwinkeelError('read/quoted', {
    line,
    found: 'quoted cells',
    expected: 'plain numbers in the browser-safe reader',
    remedy: 'read the file through twinkeel/node, or export it without quotes',
  });
}
