import type { TwinkeelError } from '../error.js';
import type { CellScanner, KeepCell } from './cellScanner.js';
import type { ColumnGroups } from './columnGroups.js';
import { ColumnStore, quotedCells, type RowBlock } from './columnStore.js';
import { createCellScanner } from './createCellScanner.js';
import {
  binaryData,
  cellNumber,
  type DetectedLayout,
  isSpace,
  NEWLINE,
  QUOTE,
  SPACE,
  splitCells,
} from './layout.js';
import { afterBlanks, type PlainLayout } from './plainRows.js';
import { COMMA, NO_FORM, POINT, scanNumber } from './scanNumber.js';
import { badRowLength, type Table } from './table.js';
import { decodeText } from './text.js';

/** How many bytes tell how long the lines are. */
const LINE_SAMPLE = 2 ** 18;
/** Rows of a block when nothing foretells how many will come. */
const SMALL_BLOCK = 1024;
/** And its cells, where a row has very many. */
const SMALL_CELLS = 2 ** 20;
/** Stands for a separator that no byte equals. */
const NO_BYTE = -1;

/** Reads the rows of a plain table, line after line, into columns. */
export class RowScanner {
  /** Whether a row has quotes: its cells may hold separators. */
  hasQuotes = false;
  rowCount = 0;

  private readonly store: ColumnStore;
  private block: RowBlock | undefined;
  private readonly cells: CellScanner;
  /** How many cells may be at hand before they become columns. */
  private mostCells = 0;
  /** 1 for columns whose cells were not plain in one of the rows at hand. */
  private readonly others: Uint8Array;
  private readonly plain: PlainLayout;
  /** The line of the first row at hand. */
  private line = 0;
  /** The line of the next row, if nothing stands between. */
  private lineAhead = 0;
  /** The form of the last cell that {@link scanNumber} read. */
  private readonly cellForm = new Int32Array(1);

  private readonly layout: DetectedLayout;
  private readonly columnCount: number;
  private readonly every: number;
  private readonly expectedBytes: number;

  /**
   * @param every - keep every k-th row: then a scan ends with one row
   * @param groups - which columns are kept side by side
   * @param expectedBytes - how long the whole is, or 0
   * @param mostBytes - how much of it may come at once
   */
  constructor(
    layout: DetectedLayout,
    groups: ColumnGroups,
    every: number,
    expectedBytes: number,
    mostBytes: number,
  ) {
    this.layout = layout;
    this.every = every;
    this.expectedBytes = expectedBytes;
    const { separator, decimal, commentByte } = layout;
    this.plain = {
      separator: isPartOfNumber(separator) ? NO_BYTE : separator,
      decimal,
      commentByte,
    };
    this.cells = createCellScanner(this.plain, groups, expectedBytes, mostBytes);
    this.columnCount = this.cells.rows.columnCount;
    this.others = new Uint8Array(this.columnCount);
    this.store = new ColumnStore(groups);
  }

  /** Memory from which bytes are read without being copied first, where there is such. */
  get room(): Uint8Array | undefined {
    return this.cells.room;
  }

  /** Says that bytes come which were not there before. */
  forgetBytes(): void {
    this.cells.forget();
  }

  /** The table of all rows. */
  table(header: readonly string[] | undefined): Table {
    const mark = this.layout.decimal === COMMA ? ',' : '.';
    return this.store.table(header, this.rowCount, this.every, mark);
  }

  /**
   * Reads rows from `from` on, one at least, up to a line that may be something else: bytes[from,
   * to) ends with a line end, and `line` counts the first line. Most cells are read by the
   * {@link CellScanner}, every other by {@link scanOthers}.
   *
   * @returns where that line starts
   */
  scan(bytes: Uint8Array, from: number, to: number, line: number): number {
    const { cells, columnCount, every, plain } = this;
    const { rows } = cells;
    const { commentByte } = plain;
    const blanks = plain.separator === SPACE;
    this.makeRoom(bytes, from, to);
    if (line !== this.lineAhead) this.store.noteLine(this.rowCount, line);
    this.line = line;
    const keep: KeepCell = (cell, start, stop) => {
      const row = this.rowCount + Math.floor(cell / columnCount);
      this.store.keep(row, cell % columnCount, bytes, start, stop);
    };
    let i = from;
    do {
      const before = rows.cells;
      const column = before % columnCount;
      if (column === 0) {
        if (before >= this.mostCells) {
          this.flush();
          this.makeRoom(bytes, i, to);
          continue;
        }
        if (blanks) i = afterBlanks(bytes, i);
      }
      if (this.others[column] === 0) {
        i = cells.scan(bytes, i, to, this.mostCells, keep);
      }
      if (rows.cells === before || rows.cells % columnCount > 0) i = this.scanOthers(bytes, i);
    } while (
      rows.cells % columnCount > 0 ||
      (every === 1 && i < to && bytes[i]! > SPACE && bytes[i] !== commentByte)
    );
    this.flush();
    this.lineAhead = this.line - 1 + every;
    return i;
  }

  /** Makes columns of the rows at hand. */
  private flush(): void {
    const { rows } = this.cells;
    const count = rows.cells / this.columnCount;
    this.store.addRows(this.block!, this.rowCount, count, rows);
    this.rowCount += count;
    this.line += count;
    rows.cells = 0;
    this.others.fill(0);
  }

  /** Room for the next rows, and how many may come before the next {@link flush}. */
  private makeRoom(bytes: Uint8Array, from: number, to: number): void {
    const { columnCount, rowCount } = this;
    if (!this.block || rowCount === this.block.firstRow + this.block.capacity) {
      this.block = this.store.addBlock(rowCount, this.rowsToCome(bytes, from, to));
    }
    const left = this.block.firstRow + this.block.capacity - rowCount;
    const most = Math.min(left * columnCount, this.cells.rows.values.length);
    this.mostCells = this.every === 1 ? most : columnCount;
  }

  /** How many rows may be to come, judging by the lines at hand. */
  private rowsToCome(bytes: Uint8Array, from: number, to: number): number {
    const { columnCount, rowCount, expectedBytes } = this;
    if (rowCount > 0 || expectedBytes === 0) {
      return Math.max(Math.ceil(Math.min(SMALL_BLOCK, SMALL_CELLS / columnCount)), rowCount);
    }
    const end = Math.min(to, from + LINE_SAMPLE);
    let lines = 0;
    let i = from;
    for (; i < end; i = bytes.indexOf(NEWLINE, i) + 1) lines++;
    // A tenth more, as lines grow shorter or longer; a second block takes what lies beyond.
    const likely = (1.1 * expectedBytes * lines) / (i - from) / this.every;
    // A cell takes a byte at least: a header of many columns asks for no more memory than that.
    return Math.ceil(Math.min(likely, expectedBytes / columnCount)) + 1;
  }

  /**
   * Reads the cell at `from`, which is not plain, and those behind it that were not so either in a
   * row shortly before.
   *
   * @returns where the next cell or line starts
   */
  private scanOthers(bytes: Uint8Array, from: number): number {
    const { columnCount, others } = this;
    const { rows } = this.cells;
    const { separator } = this.layout;
    const rowsAtHand = Math.floor(rows.cells / columnCount);
    const line = this.line + rowsAtHand;
    let column = rows.cells % columnCount;
    let i = from;
    let ends = false;
    do {
      i = this.scanCell(bytes, i, this.rowCount + rowsAtHand, column, line);
      others[column++] = 1;
      ends = bytes[i++] === NEWLINE;
      if (!ends && separator === SPACE) {
        i = afterBlanks(bytes, i);
        ends = bytes[i] === NEWLINE;
        if (ends) i++;
      }
      if (ends !== (column === columnCount)) throw this.wrongLength(bytes, i - 1, line);
    } while (!ends && others[column] === 1);
    return i;
  }

  /** The error for the row around a byte, which has too few or too many cells. */
  private wrongLength(bytes: Uint8Array, at: number, line: number): TwinkeelError {
    const start = at === 0 ? 0 : bytes.lastIndexOf(NEWLINE, at - 1) + 1;
    const row = bytes.subarray(start, bytes.indexOf(NEWLINE, at));
    if (!row.includes(QUOTE)) {
      return badRowLength(line, splitCells(row, this.layout).length, this.columnCount);
    }
    this.hasQuotes = true;
    return quotedCells(line);
  }

  /**
   * Reads any cell into the rows at hand; keeps its text where value and form do not give it back.
   *
   * @returns where the cell stops: at a separator or at the line end
   */
  private scanCell(
    bytes: Uint8Array,
    start: number,
    row: number,
    column: number,
    line: number,
  ): number {
    const { store } = this;
    const { rows } = this.cells;
    const { separator, decimal } = this.layout;
    let stop = start;
    if (separator === SPACE) while (bytes[stop] !== NEWLINE && !isSpace(bytes[stop]!)) stop++;
    else while (bytes[stop] !== NEWLINE && bytes[stop] !== separator) stop++;
    let from = start;
    let to = stop;
    while (from < to && isSpace(bytes[from]!)) from++;
    while (to > from && isSpace(bytes[to - 1]!)) to--;
    const form = this.cellForm;
    let value = scanNumber(bytes, from, to, decimal, form);
    if (form[0] === NO_FORM) {
      if (Number.isNaN(value)) value = this.oddNumber(bytes, from, to, line);
      if (!Number.isFinite(value)) store.noteBad(row, column);
      store.keep(row, column, bytes, from, to);
    }
    rows.values[rows.slots[rows.cells]!] = value;
    rows.forms[rows.cells++] = form[0]!;
    rows.unusual = true;
    return stop;
  }

  /**
   * The number in a cell that {@link scanNumber} does not know: between blanks of other alphabets, or
   * with a point where others have a comma.
   */
  private oddNumber(bytes: Uint8Array, from: number, to: number, line: number): number {
    let plain = true;
    for (let i = from; i < to; i++) {
      const byte = bytes[i]!;
      if (byte === 0) throw binaryData(line);
      if (byte === QUOTE) this.hasQuotes = true;
      if (byte > 127) plain = false;
    }
    if (!plain) return cellNumber(decodeText(bytes.subarray(from, to)).trim(), this.layout);
    if (this.layout.decimal !== COMMA) return Number.NaN;
    const value = scanNumber(bytes, from, to, POINT, this.cellForm);
    this.cellForm[0] = NO_FORM;
    return value;
  }
}

/** Whether a separator could be taken for a part of a number before cells are told apart. */
function isPartOfNumber(byte: number): boolean {
  return /[0-9.eE+-]/.test(String.fromCharCode(byte));
}
