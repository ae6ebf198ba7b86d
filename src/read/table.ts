import { TwinkeelError } from '../error.js';

/** How the rows of a text table are laid out; whatever is left out is found from the text. */
export interface TableLayout {
  /** One character, or `space` for any run of blanks. */
  readonly separator?: string;
  /** Lines that start with this are left out. */
  readonly comment?: string;
  /** Lines to leave out at the top. */
  readonly skip?: number;
  /** Keep only every k-th row. */
  readonly every?: number;
}

/** Rows and columns of a file, whatever it was written in. Rows count from 0, lines from 1. */
export interface Table {
  readonly header: readonly string[] | undefined;
  /** The row of units below the header, where the file has one. */
  readonly units?: readonly string[];
  readonly rowCount: number;
  readonly columnCount: number;
  /** The line of the file that a row came from. */
  lineOf(row: number): number;
  /**
   * The cells of a column as numbers.
   *
   * @throws TwinkeelError `read/cell` naming line and column of the first cell that is not a
   *   finite number
   */
  numbers(column: number): Float64Array;
  /**
   * Columns side by side, row by row, where the table keeps them so; nothing else may be written there.
   *
   * @throws TwinkeelError as {@link numbers}
   */
  sideBySide?(columns: readonly number[]): Float64Array | undefined;
  /** The cells of a column as trimmed text. */
  texts(column: number): string[];
}

/** The name of a column for messages: its header, or its number from 1. */
export function columnName(header: readonly string[] | undefined, column: number): string {
  return header?.[column] === undefined ? `${column + 1}` : `"${header[column]}"`;
}

/** A table whose cells are already separate: from JSON, or from a file with quoted cells. */
export function tableFromCells(
  header: readonly string[] | undefined,
  cells: readonly (readonly string[])[],
  lines: ArrayLike<number>,
  decimalComma = false,
  units?: readonly string[],
): Table {
  const columnCount = header?.length ?? cells[0]?.length ?? 0;
  const lineOf = (row: number) => lines[row]!;
  return {
    header,
    ...(units && { units }),
    rowCount: cells.length,
    columnCount,
    lineOf,
    numbers: (column) =>
      Float64Array.from(cells, (row, index) => {
        const text = row[column]!.trim();
        const value = numberFromText(decimalComma ? text.replace(',', '.') : text);
        if (!Number.isFinite(value)) {
          throw badCell(lineOf(index), columnName(header, column), text);
        }
        return value;
      }),
    texts: (column) => cells.map((row) => row[column]!.trim()),
  };
}

/** The number that a text writes in decimal notation, else NaN: no hexadecimal, no blanks. */
export function numberFromText(text: string): number {
  return /^[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?$/.test(text) ? Number(text) : Number.NaN;
}

/** The error for a cell that should hold a finite number and does not. */
export function badCell(
  line: number,
  column: string,
  text: string,
  expected = 'a finite number',
): TwinkeelError {
  return new TwinkeelError('read/cell', {
    line,
    column,
    found: text === '' ? 'an empty cell' : `"${text.length > 40 ? `${text.slice(0, 40)}…` : text}"`,
    expected,
    remedy: 'correct the cell or delete the row; missing rows are bridged',
  });
}

/** The error for a row with too few or too many cells. */
export function badRowLength(line: number, found: number, expected: number): TwinkeelError {
  return new TwinkeelError('read/row-length', {
    line,
    found: `${found} cell${found === 1 ? '' : 's'}`,
    expected: `${expected}, as in the rows before`,
    remedy:
      'correct the row or delete it (missing rows are bridged), or say how the table is laid out, such as: table: separator tab comment "%" skip 1',
  });
}

/** The error for a file without any row of data. */
export function emptyTable(found: string): TwinkeelError {
  return new TwinkeelError('read/empty', {
    found,
    expected: 'a header and rows of numbers',
    remedy: 'export the file again',
  });
}
