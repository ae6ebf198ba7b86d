import { TwinkeelError } from '../error.js';
import { ColumnStore, quotedCells, type RowBlock } from './columnStore.js';
import { cellText } from './keptCells.js';
import {
  binaryData,
  checkText,
  type DetectedLayout,
  isBlank,
  isSpace,
  layoutOfRows,
  NEWLINE,
  QUOTE,
  SAMPLE_BYTES,
  SPACE,
  startOfText,
} from './layout.js';
import { PendingBytes } from './pendingBytes.js';
import { afterBlanks, type PlainLayout, type RowsAtHand, scanPlainRows } from './plainRows.js';
import { COMMA, NO_FORM, POINT, scanNumber } from './scanNumber.js';
import { badRowLength, emptyTable, numberFromText, type Table, type TableLayout } from './table.js';
import { decodeText, encodeText } from './text.js';

/** A line must fit here; bytes without line ends are no table. */
const LONGEST_LINE = 2 ** 20;
/** How many bytes tell how long the lines are. */
const LINE_SAMPLE = 2 ** 18;

/**
 * Reads a plain numeric table: one record per line, cells split by a separator, no quotes. Every
 * number is the double nearest to its decimal text.
 *
 * @param bytes - the file; UTF-8 or ASCII, with or without a byte order mark
 * @param layout - what is known about the layout; the rest is found from the first lines
 * @throws TwinkeelError `read/empty`, `read/binary`, `read/quoted` (quoted cells: use
 *   `twinkeel/node`), `read/row-length`, `read/line-length`; cells are checked when a column is
 *   asked for
 */
export function scanTable(bytes: Uint8Array, layout: TableLayout = {}): Table {
  const scanner = new TableScanner(layout, bytes.length);
  scanner.push(bytes);
  return scanner.finish();
}

/**
 * Reads a plain numeric table that comes in pieces, cut anywhere, and keeps only its columns. What
 * it says, errors included, is what {@link scanTable} says about the whole.
 */
export class TableScanner {
  /** Whether quotes stand in the header or in a row: cells may then hold separators. */
  hasQuotes = false;

  private readonly layout: TableLayout;
  private readonly expectedBytes: number;
  private readonly every: number;
  /** What waits for its other part: the first lines, later a line without its end. */
  private pending = new PendingBytes();
  private textChecked = false;
  private skipLeft: number;

  private detected: DetectedLayout | undefined;
  private comment: Uint8Array | undefined;
  /** The first byte of comments, or -1. */
  private commentByte = -1;
  private commented: { readonly cells: string[]; readonly quoted: boolean } | undefined;

  private header: string[] | undefined;
  private columnCount = 0;
  private store: ColumnStore | undefined;
  private block: RowBlock | undefined;
  private line = 1;
  private rowCount = 0;
  private rowsSeen = 0;
  /** The line of the next row, if nothing stands between. */
  private lineAhead = 0;

  private rows: RowsAtHand | undefined;
  /** How many cells may be at hand before they become columns. */
  private mostCells = 0;
  private plain: PlainLayout | undefined;
  /** 1 for columns whose cells were not plain in one of the rows at hand. */
  private others = new Uint8Array(0);
  /** The form of the last cell that {@link scanNumber} read. */
  private readonly cellForm = new Int32Array(1);

  /**
   * @param layout - what is known about the layout
   * @param expectedBytes - how long the whole is, where known; memory is then asked for once
   */
  constructor(layout: TableLayout = {}, expectedBytes = 0) {
    this.layout = layout;
    this.expectedBytes = expectedBytes;
    this.every = layout.every ?? 1;
    this.skipLeft = layout.skip ?? 0;
  }

  /** Takes the next bytes; they may be overwritten afterwards. */
  push(chunk: Uint8Array): void {
    if (this.detected) this.scanPieces(chunk, 0);
    else this.begin(chunk, false);
  }

  /** The table, when all bytes have come. */
  finish(): Table {
    if (!this.detected) this.begin(new Uint8Array(0), true);
    const { pending } = this;
    if (pending.length > 0) {
      const last = pending.append(Uint8Array.of(NEWLINE), 0);
      this.scanLines(last, 0, last.length);
      pending.length = 0;
    }
    if (this.rowCount === 0) throw emptyTable(this.header ? 'a header and no rows' : 'no rows');
    const mark = this.detected!.decimal === COMMA ? ',' : '.';
    return this.store!.table(this.header, this.rowCount, this.every, mark);
  }

  /** Gathers the first lines, skips what is to be skipped and finds the layout. */
  private begin(chunk: Uint8Array, last: boolean): void {
    const { pending } = this;
    const held = pending.length > 0;
    const bytes = held ? pending.append(chunk, 0) : chunk;
    let from = 0;
    if (last || bytes.length >= SAMPLE_BYTES || this.textChecked) {
      if (!this.textChecked) {
        checkText(bytes);
        this.textChecked = true;
        from = startOfText(bytes);
      }
      while (this.skipLeft > 0 && from < bytes.length) {
        const end = bytes.indexOf(NEWLINE, from);
        from = end < 0 ? bytes.length : end + 1;
        if (end < 0) break;
        this.skipLeft--;
        this.line++;
      }
      if (last || (this.skipLeft === 0 && bytes.length - from >= SAMPLE_BYTES)) {
        this.detected = layoutOfRows(bytes.subarray(from), this.layout);
        const { comment } = this.detected;
        this.comment = comment === undefined ? undefined : encodeText(comment);
        this.commentByte = this.comment?.[0] ?? -1;
        const { separator, decimal } = this.detected;
        this.plain = {
          separator: isPartOfNumber(separator) ? NO_BYTE : separator,
          decimal,
          commentByte: this.commentByte,
        };
        // The bytes may be those that wait; what waits from now on stands elsewhere.
        this.pending = new PendingBytes();
        this.scanPieces(bytes, from);
        return;
      }
    }
    if (held && from === 0) return;
    pending.length = 0;
    pending.append(bytes, from);
  }

  /** Reads bytes in pieces of the length of the longest line, so that a longer one shows. */
  private scanPieces(bytes: Uint8Array, from: number): void {
    for (let start = from; start < bytes.length; start += LONGEST_LINE) {
      this.scanPiece(bytes.subarray(start, start + LONGEST_LINE));
    }
  }

  /** Reads the whole lines of a piece and lets the rest of it wait. */
  private scanPiece(piece: Uint8Array): void {
    const { pending } = this;
    let start = 0;
    if (pending.length > 0) {
      const end = piece.indexOf(NEWLINE);
      start = end < 0 ? piece.length : end + 1;
      const joined = pending.append(piece.subarray(0, start), 0);
      if (joined.length - (end < 0 ? 0 : 1) > LONGEST_LINE) throw lineTooLong(this.line);
      if (end < 0) return;
      this.scanLines(joined, 0, joined.length);
      pending.length = 0;
    }
    const end = piece.lastIndexOf(NEWLINE) + 1;
    if (end > start) {
      this.scanLines(piece, start, end);
      start = end;
    }
    if (start < piece.length) pending.append(piece, start);
  }

  /** Reads bytes[from, to), which are whole lines with their ends. */
  private scanLines(bytes: Uint8Array, from: number, to: number): void {
    let i = from;
    while (i < to) {
      const next = this.isOrdinary(bytes[i]!) ? i : this.passLine(bytes, i);
      if (next > i) {
        i = next;
        this.line++;
        continue;
      }
      i = this.scanRows(bytes, i, to);
    }
  }

  /** Whether a line that starts so is a row for sure, given that a row came before. */
  private isOrdinary(byte: number): boolean {
    return this.columnCount > 0 && this.every === 1 && byte > SPACE && byte !== this.commentByte;
  }

  /**
   * Looks at a line that may be blank, a comment, the header, or one of those left out.
   *
   * @returns where the next line starts, or `start` where the line is a row to be read
   */
  private passLine(bytes: Uint8Array, start: number): number {
    const end = bytes.indexOf(NEWLINE, start);
    const { comment, every } = this;
    if (isBlank(bytes, start, end)) {
      // Where only every k-th line is a row, an empty line between them counts.
      if (every > 1 && this.columnCount > 0 && (this.rowCount > 0 || this.header)) this.rowsSeen++;
      return end + 1;
    }
    const line = bytes.subarray(start, end);
    if (comment?.every((byte, k) => line[k] === byte)) {
      if (line.includes(0)) throw binaryData(this.line);
      if (this.columnCount === 0) {
        const cells = this.splitCells(line.subarray(comment.length));
        this.commented = { cells, quoted: line.includes(QUOTE) };
      }
      return end + 1;
    }
    if (this.columnCount === 0) {
      const cells = this.splitCells(line);
      this.columnCount = cells.length;
      if (cells.some((cell) => cell !== '') && !cells.some((cell) => this.looksNumeric(cell))) {
        if (line.includes(0)) throw binaryData(this.line);
        if (line.includes(QUOTE)) this.hasQuotes = true;
        this.header = cells;
        return end + 1;
      }
      const { commented } = this;
      if (commented?.quoted) this.hasQuotes = true;
      if (commented?.cells.length === cells.length) this.header = commented.cells;
    }
    if (this.rowsSeen++ % every === 0) return start;
    if (line.includes(0)) throw binaryData(this.line);
    if (line.includes(QUOTE)) this.hasQuotes = true;
    return end + 1;
  }

  /** What holds the columns, and what holds rows until they become columns. */
  private openStore(): ColumnStore {
    const { columnCount } = this;
    const cells = Math.max(1, Math.floor(CELLS_AT_HAND / columnCount)) * columnCount;
    const [values, forms] = [new Float64Array(cells), new Int16Array(cells)];
    this.rows = { columnCount, values, forms, cells: 0 };
    this.others = new Uint8Array(columnCount);
    return new ColumnStore(columnCount);
  }

  /** Room for as many rows as are to come, judging by the lines at hand. */
  private addBlock(bytes: Uint8Array, from: number, to: number): void {
    const { rowCount, every } = this;
    this.store ??= this.openStore();
    let rows = Math.max(SMALL_BLOCK, rowCount);
    if (rowCount === 0 && this.expectedBytes > 0) {
      const end = Math.min(to, from + LINE_SAMPLE);
      let lines = 0;
      let i = from;
      for (; i < end; i = bytes.indexOf(NEWLINE, i) + 1) lines++;
      // A tenth more, as lines grow shorter or longer; a second block takes what lies beyond.
      rows = Math.ceil((1.1 * this.expectedBytes * lines) / (i - from) / every) + 1;
    }
    this.block = this.store.addBlock(rowCount, rows);
  }

  /**
   * Reads rows from `from` on, one at least, up to a line that may be something else. Most cells are
   * read by {@link scanPlainRows}, every other by {@link scanOthers}.
   *
   * @returns where that line starts
   */
  private scanRows(bytes: Uint8Array, from: number, to: number): number {
    const { columnCount, every, rowCount, commentByte } = this;
    const plain = this.plain!;
    const blanks = plain.separator === SPACE;
    this.makeRoom(bytes, from, to);
    if (this.line !== this.lineAhead) this.store!.noteLine(rowCount, this.line);
    const rows = this.rows!;
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
        i = scanPlainRows(bytes, i, to, plain, rows, this.mostCells);
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
    const { store, rows, columnCount } = this;
    const count = rows!.cells / columnCount;
    store!.addRows(this.block!, this.rowCount, count, rows!);
    this.rowCount += count;
    this.line += count;
    rows!.cells = 0;
    this.others.fill(0);
  }

  /** Room for the next rows, and how many may come before the next {@link flush}. */
  private makeRoom(bytes: Uint8Array, from: number, to: number): void {
    const { columnCount, rowCount } = this;
    if (!this.block || rowCount === this.block.firstRow + this.block.capacity) {
      this.addBlock(bytes, from, to);
    }
    const left = this.block!.firstRow + this.block!.capacity - rowCount;
    const most = Math.min(left * columnCount, this.rows!.values.length);
    this.mostCells = this.every === 1 ? most : columnCount;
  }

  /**
   * Reads the cell at `from`, which is not plain, and those behind it that were not so either in a
   * row shortly before.
   *
   * @returns where the next cell or line starts
   */
  private scanOthers(bytes: Uint8Array, from: number): number {
    const { columnCount, others } = this;
    const { separator } = this.detected!;
    const rows = this.rows!;
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
      return badRowLength(line, this.splitCells(row).length, this.columnCount);
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
    const { separator, decimal } = this.detected!;
    const rows = this.rows!;
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
      if (!Number.isFinite(value)) this.store!.noteBad(row, column);
      this.store!.keep(row, column, bytes, from, to);
    }
    rows.values[rows.cells] = value;
    rows.forms[rows.cells++] = form[0]!;
    return stop;
  }

  /** The number in a cell that {@link scanNumber} does not know: with other blanks, a point beside commas. */
  private oddNumber(bytes: Uint8Array, from: number, to: number, line: number): number {
    let plain = true;
    for (let i = from; i < to; i++) {
      const byte = bytes[i]!;
      if (byte === 0) throw binaryData(line);
      if (byte === QUOTE) this.hasQuotes = true;
      if (byte > 127) plain = false;
    }
    if (!plain) return this.numberOf(decodeText(bytes.subarray(from, to)).trim());
    if (this.detected!.decimal !== COMMA) return Number.NaN;
    const value = scanNumber(bytes, from, to, POINT, this.cellForm);
    this.cellForm[0] = NO_FORM;
    return value;
  }

  private numberOf(text: string): number {
    return numberFromText(this.detected!.decimal === COMMA ? text.replace(',', '.') : text);
  }

  private looksNumeric(cell: string): boolean {
    return Number.isFinite(this.numberOf(cell));
  }

  private splitCells(line: Uint8Array): string[] {
    const { separator } = this.detected!;
    const text = decodeText(line).replace(/\r$/, '');
    const cells =
      separator === SPACE ? text.trim().split(/\s+/) : text.split(String.fromCharCode(separator));
    return cells.map(cellText);
  }
}

/** Rows at hand are few enough to stay in the fastest memory. */
const CELLS_AT_HAND = 4096;
/** Rows of a block when nothing foretells how many will come. */
const SMALL_BLOCK = 1024;

/** Stands for a separator that no byte equals. */
const NO_BYTE = -1;

/** Whether a separator could be taken for a part of a number before cells are told apart. */
function isPartOfNumber(byte: number): boolean {
  return /[0-9.eE+-]/.test(String.fromCharCode(byte));
}

function lineTooLong(line: number): TwinkeelError {
  return new TwinkeelError('read/line-length', {
    line,
    found: 'a line of more than 1 MiB',
    expected: 'one record per line, each below 1 MiB',
    remedy: 'export the table with a line end behind every row',
  });
}
