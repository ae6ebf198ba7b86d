import { isSpace, NEWLINE, RETURN, SPACE } from './layout.js';
import { MINUS, POWERS_OF_TEN, ZERO } from './scanNumber.js';

const SIGNS = Float64Array.of(1, -1);

/** Rows of a table that are being read, before they become columns. */
export interface RowsAtHand {
  readonly columnCount: number;
  /** Columns one behind the other; those that are kept side by side are so here. */
  readonly values: Float64Array;
  /** Which of the values is that of a cell, by the order of reading: row by row. */
  readonly slots: Int32Array;
  /** How each cell is written, in the order of reading; see `scanNumber`. */
  readonly forms: Int16Array;
  /** The form that each column has had so far. */
  readonly usualForms: Int16Array;
  /** Whether any of the forms may be another than the usual one of its column. */
  unusual: boolean;
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
  const { columnCount, values, slots, forms, usualForms } = rows;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  // Eight bytes may be read at once up to here.
  const eightUpTo = bytes.length - 8;
  let cell = rows.cells;
  let rowEnd = cell - (cell % columnCount) + columnCount;
  let unusual = 0;
  let i = from;
  let start = from;
  for (;;) {
    start = i;
    let byte = bytes[i]!;
    while (byte === SPACE) byte = bytes[++i]!;
    // 1 for a minus, else 0, without a branch: the signs of a gyro at rest are a coin toss.
    const minus = ((byte ^ MINUS) - 1) >>> 31;
    i += minus;
    // Whole numbers of 32 bits are what the compiler adds fastest. More than nine digits may not
    // fit; such cells are of another kind.
    let whole = (bytes[i]! - ZERO) | 0;
    if (whole >>> 0 > 9) break;
    byte = bytes[++i]!;
    let wholeDigits = 1;
    if (byte !== decimal) {
      const zero = whole === 0;
      const wholeFrom = i;
      let digit = (byte - ZERO) | 0;
      while (digit >>> 0 <= 9) {
        whole = (Math.imul(whole, 10) + digit) | 0;
        byte = bytes[++i]!;
        digit = (byte - ZERO) | 0;
      }
      wholeDigits += i - wholeFrom;
      if (wholeDigits > 9 || (zero && wholeDigits > 1)) break;
    }
    let value = whole;
    let decimals = 0;
    if (byte === decimal) {
      const partFrom = ++i;
      let part = 0;
      if (i <= eightUpTo) {
        let four = fourDigits(view.getInt32(i, true));
        if (four >= 0) {
          part = four;
          i += 4;
          four = fourDigits(view.getInt32(i, true));
          if (four >= 0) {
            part = (Math.imul(part, 10000) + four) | 0;
            i += 4;
          }
        }
      }
      byte = bytes[i]!;
      let digit = (byte - ZERO) | 0;
      while (digit >>> 0 <= 9) {
        part = (Math.imul(part, 10) + digit) | 0;
        byte = bytes[++i]!;
        digit = (byte - ZERO) | 0;
      }
      decimals = (i - partFrom) | 0;
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
    values[slots[cell]!] = value * SIGNS[minus]!;
    forms[cell] = decimals;
    unusual |= decimals ^ usualForms[cell - rowEnd + columnCount]!;
    cell++;
    i++;
    if (last) {
      rowEnd += columnCount;
      if (i === to || bytes[i]! <= SPACE || bytes[i] === commentByte || cell >= mostCells) {
        start = i;
        break;
      }
    }
  }
  rows.cells = cell;
  if (unusual !== 0) rows.unusual = true;
  return start;
}

/** The number that four bytes write as digits, the first in the lowest byte; negative for others. */
function fourDigits(bytes: number): number {
  const digits = (bytes - 0x30303030) | 0;
  // A byte below "0" leaves its highest bit set, one above "9" does so when 0x76 is added.
  if (((digits | (digits + 0x76767676)) & 0x80808080) !== 0) return -1;
  const pairs = (Math.imul(digits, 10) + (digits >>> 8)) | 0;
  return Math.imul(pairs & 255, 100) + ((pairs >>> 16) & 255);
}

/** Where blanks inside a line end. */
export function afterBlanks(bytes: Uint8Array, from: number): number {
  let i = from;
  while (isSpace(bytes[i]!)) i++;
  return i;
}
