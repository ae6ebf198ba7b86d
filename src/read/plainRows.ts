import { isSpace, NEWLINE, RETURN, SPACE } from './layout.js';
import { MINUS, POWERS_OF_TEN, ZERO } from './scanNumber.js';

const SIGNS = Float64Array.of(1, -1);

/** Rows of a table that are being read: row by row, before they become columns. */
export interface RowsAtHand {
  readonly columnCount: number;
  readonly values: Float64Array;
  /** How each cell is written; see `scanNumber`. */
  readonly forms: Int16Array;
  /** How many cells are read, whole rows and part of one. */
  cells: number;
}

/** What plain cells are told apart by. */
export interface PlainLayout {
  readonly separator: number;
  readonly decimal: number;
  /** The first byte of comments, or -1. */
  readonly commentByte: number;
}

/**
 * Reads the cells that tables are mostly made of: up to nine digits on each side of the point. It
 * starts at any cell and goes on from row to row up to the first cell of another kind, the first
 * line that may be no row or has another count of cells, or the `mostCells`-th cell at hand.
 *
 * @param to - behind a line end
 * @returns where the cell of another kind starts, or where the next line does
 */
export function scanPlainRows(
  bytes: Uint8Array,
  from: number,
  to: number,
  layout: PlainLayout,
  rows: RowsAtHand,
  mostCells: number,
): number {
  const { separator, decimal, commentByte } = layout;
  const { columnCount, values, forms } = rows;
  let cell = rows.cells;
  let rowEnd = cell - (cell % columnCount) + columnCount;
  let i = from;
  let start = from;
  for (;;) {
    start = i;
    let byte = bytes[i]!;
    while (byte === SPACE) byte = bytes[++i]!;
    // 1 for a minus, else 0, without a branch: the signs of a gyro at rest are a coin toss.
    const minus = ((byte ^ MINUS) - 1) >>> 31;
    i += minus;
    byte = bytes[i]!;
    const leading = byte;
    const wholeFrom = i;
    // Whole numbers of 32 bits are what the compiler adds fastest. More than nine digits may not
    // fit; such cells are of another kind.
    let whole = 0;
    while (byte >= 48 && byte <= 57) {
      whole = (Math.imul(whole, 10) + (byte - 48)) | 0;
      byte = bytes[++i]!;
    }
    const wholeDigits = i - wholeFrom;
    if (wholeDigits === 0 || wholeDigits > 9 || (leading === ZERO && wholeDigits > 1)) break;
    let value = whole;
    let decimals = 0;
    if (byte === decimal) {
      const partFrom = ++i;
      let part = 0;
      byte = bytes[i]!;
      while (byte >= 48 && byte <= 57) {
        part = (Math.imul(part, 10) + (byte - 48)) | 0;
        byte = bytes[++i]!;
      }
      decimals = i - partFrom;
      // Up to 15 digits are exact in a double, and so is the power of ten: one rounding.
      if (decimals === 0 || decimals > 9 || wholeDigits + decimals > 15) break;
      const scale = POWERS_OF_TEN[decimals]!;
      value = (whole * scale + part) / scale;
    }
    if (byte === RETURN && bytes[i + 1] === NEWLINE) byte = bytes[++i]!;
    if (byte === separator) {
      if (separator === SPACE) {
        i = afterBlanks(bytes, i);
        if (bytes[i] === NEWLINE) byte = NEWLINE;
        else i--;
      }
    } else if (byte !== NEWLINE) break;
    const last = cell + 1 === rowEnd;
    // A row too long or too short is for others to refuse.
    if (last !== (byte === NEWLINE)) break;
    values[cell] = value * SIGNS[minus]!;
    forms[cell] = decimals;
    cell++;
    i++;
    if (last) {
      rowEnd += columnCount;
      if (i === to || bytes[i]! <= SPACE || bytes[i] === commentByte || cell >= mostCells) {
        rows.cells = cell;
        return i;
      }
    }
  }
  rows.cells = cell;
  return start;
}

/** Where blanks inside a line end. */
export function afterBlanks(bytes: Uint8Array, from: number): number {
  let i = from;
  while (isSpace(bytes[i]!)) i++;
  return i;
}
