import { TwinkeelError } from '../error.js';
import { type ColumnsTogether, eachAlone } from './columnGroups.js';
import {
  binaryData,
  cellNumber,
  checkText,
  type DetectedLayout,
  isBlank,
  layoutOfRows,
  NEWLINE,
  QUOTE,
  SAMPLE_BYTES,
  SPACE,
  splitCells,
  startOfText,
} from './layout.js';
import { PendingBytes } from './pendingBytes.js';
import { RowScanner } from './rowScanner.js';
import { emptyTable, type Table, type TableLayout } from './table.js';
import { isUnitRow } from './unitRow.js';

/** A line must fit here; bytes without line ends are no table. */
const LONGEST_LINE = 2 ** 20;
/**
 * Reads a plain numeric table: one record per line, cells split by a separator, no quotes. Every
 * number is the double nearest to its decimal text.
 *
 * @param bytes - the file; UTF-8 or ASCII, with or without a byte order mark
 * @param layout - what is known about the layout; the rest is found from the first lines
 * @param together - which columns will be wanted side by side
 * @throws TwinkeelError `read/empty`, `read/binary`, `read/quoted` (quoted cells: use
 *   `twinkeel/node`), `read/row-length`, `read/line-length`; cells are checked when a column is
 *   asked for
 */
export function scanTable(
  bytes: Uint8Array,
  layout: TableLayout = {},
  together: ColumnsTogether = eachAlone,
): Table {
  const scanner = new TableScanner(layout, bytes.length, together);
  scanner.push(bytes);
  return scanner.finish();
}

/**
 * Reads a plain numeric table that comes in pieces, cut anywhere, and keeps only its columns. What
 * it says, errors included, is what {@link scanTable} says about the whole.
 */
export class TableScanner {
  private readonly layout: TableLayout;
  private readonly expectedBytes: number;
  private readonly together: ColumnsTogether;
  private readonly every: number;
  /** What waits for its other part: the first lines, later a line without its end. */
  private pending = new PendingBytes();
  private textChecked = false;
  private skipLeft: number;

  private detected: DetectedLayout | undefined;
  private commented: { readonly cells: string[]; readonly quoted: boolean } | undefined;
  private header: string[] | undefined;
  /** Whether the next line stands right below a header: it may hold the units. */
  private belowHeader = false;
  private units: string[] | undefined;
  private quotesSeen = false;
  private rows: RowScanner | undefined;
  private line = 1;
  private rowsSeen = 0;

  /**
   * @param layout - what is known about the layout
   * @param expectedBytes - how long the whole is, where known; memory is then asked for once
   * @param together - which columns will be wanted side by side
   */
  constructor(layout: TableLayout = {}, expectedBytes = 0, together = eachAlone) {
    this.together = together;
    this.layout = layout;
    this.expectedBytes = expectedBytes;
    this.every = layout.every ?? 1;
    this.skipLeft = layout.skip ?? 0;
  }

  /** Whether quotes stand in the header or in a row: cells may then hold separators. */
  get hasQuotes(): boolean {
    return this.quotesSeen || this.rows?.hasQuotes === true;
  }

  /** Where the next bytes had best be put before they are pushed; undefined where it does not matter. */
  get room(): Uint8Array | undefined {
    return this.rows?.room;
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
    const { header, rows } = this;
    if (!rows || rows.rowCount === 0) throw emptyTable(header ? 'a header and no rows' : 'no rows');
    const table = rows.table(header);
    return this.units ? { ...table, units: this.units } : table;
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
    const { every } = this;
    const { commentByte } = this.detected!;
    this.rows?.forgetBytes();
    let i = from;
    while (i < to) {
      const byte = bytes[i]!;
      const ordinary =
        this.rows && every === 1 && byte > SPACE && byte !== commentByte && !this.belowHeader;
      const next = ordinary ? i : this.passLine(bytes, i);
      if (next > i) {
        i = next;
        this.line++;
      } else {
        const rows = this.rows!;
        const before = rows.rowCount;
        i = rows.scan(bytes, i, to, this.line);
        this.line += rows.rowCount - before;
      }
    }
  }

  /**
   * Looks at a line that may be blank, a comment, the header, or one of those left out.
   *
   * @returns where the next line starts, or `start` where the line is a row to be read
   */
  private passLine(bytes: Uint8Array, start: number): number {
    const end = bytes.indexOf(NEWLINE, start);
    const { every } = this;
    const { comment } = this.detected!;
    if (isBlank(bytes, start, end)) {
      // Where only every k-th line is a row, an empty line between them counts.
      if (every > 1 && this.rows && (this.rows.rowCount > 0 || this.header)) this.rowsSeen++;
      return end + 1;
    }
    const line = bytes.subarray(start, end);
    if (comment?.every((byte, k) => line[k] === byte)) {
      if (line.includes(0)) throw binaryData(this.line);
      if (!this.rows) {
        const cells = splitCells(line.subarray(comment.length), this.detected!);
        this.commented = { cells, quoted: line.includes(QUOTE) };
      }
      return end + 1;
    }
    if (!this.rows && this.takeHeader(line)) {
      this.belowHeader = true;
      return end + 1;
    }
    if (this.belowHeader) {
      this.belowHeader = false;
      const cells = splitCells(line, this.detected!);
      if (cells.length === this.header?.length && isUnitRow(cells)) {
        if (line.includes(QUOTE)) this.quotesSeen = true;
        this.units = cells;
        return end + 1;
      }
    }
    if (this.rowsSeen++ % every === 0) return start;
    if (line.includes(0)) throw binaryData(this.line);
    if (line.includes(QUOTE)) this.quotesSeen = true;
    return end + 1;
  }

  /** Takes the first line that is neither blank nor a comment; says whether it is a header. */
  private takeHeader(line: Uint8Array): boolean {
    const layout = this.detected!;
    const cells = splitCells(line, layout);
    const isNumeric = (cell: string) => Number.isFinite(cellNumber(cell, layout));
    const isHeader = cells.some((cell) => cell !== '') && !cells.some(isNumeric);
    const { commented } = this;
    if (isHeader) {
      if (line.includes(0)) throw binaryData(this.line);
      this.quotesSeen = line.includes(QUOTE);
      this.header = cells;
    } else {
      this.quotesSeen = commented?.quoted === true;
      if (commented?.cells.length === cells.length) this.header = commented.cells;
    }
    this.rows = new RowScanner(
      layout,
      this.together(this.header, cells.length),
      this.every,
      this.expectedBytes,
      LONGEST_LINE + 1,
    );
    return isHeader;
  }
}

function lineTooLong(line: number): TwinkeelError {
  return new TwinkeelError('read/line-length', {
    line,
    found: 'a line of more than 1 MiB',
    expected: 'one record per line, each below 1 MiB',
    remedy: 'export the table with a line end behind every row',
  });
}
