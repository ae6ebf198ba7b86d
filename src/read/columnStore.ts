import { TwinkeelError } from '../error.js';
import type { ColumnGroups } from './columnGroups.js';
import { KeptCells } from './keptCells.js';
import type { RowsAtHand } from './plainRows.js';
import { NO_FORM, textOfForm } from './scanNumber.js';
import { badCell, columnName, type Table } from './table.js';

/** No cell of a block has told the form of a column yet. */
const UNKNOWN_FORM = -3;
/** The cells of a column differ in form: each has its own byte. */
const FORMS_DIFFER = -2;

/** Rows of a table, column by column. */
export interface RowBlock {
  readonly firstRow: number;
  readonly capacity: number;
  /** Those of each group of columns, row by row. */
  readonly values: Float64Array[];
  /** How the cells of each column are written, while all are written alike. */
  readonly formOfAll: Int32Array;
  /** How each cell is written, for columns where that differs. */
  readonly forms: (Uint8Array | undefined)[];
}

/**
 * The cells of a table as columns of doubles, in blocks of rows, and what it takes to say every
 * cell as text again: how numbers are written (one byte per cell at most, and none in the common
 * column whose cells all have as many decimals) and the text of the cells that no number gives back.
 */
export class ColumnStore {
  private readonly blocks: RowBlock[] = [];
  /** Groups in one piece, where they were asked for. */
  private readonly wholes: Float64Array[] = [];
  private readonly kept: (KeptCells | undefined)[];
  /** The first row of each column that holds no finite number, or -1. */
  private readonly firstBad: Int32Array;
  private readonly runRows: number[] = [];
  private readonly runLines: number[] = [];

  private readonly groups: ColumnGroups;
  private readonly columnCount: number;

  constructor(groups: ColumnGroups) {
    const columnCount = groups.reduce((sum, { length }) => sum + length, 0);
    this.groups = groups;
    this.columnCount = columnCount;
    this.kept = new Array(columnCount).fill(undefined);
    this.firstBad = new Int32Array(columnCount).fill(-1);
  }

  /** Room for further rows. Memory that no row reaches is asked for, but never touched. */
  addBlock(firstRow: number, capacity: number): RowBlock {
    const { columnCount } = this;
    const block: RowBlock = {
      firstRow,
      capacity,
      values: this.groups.map(({ length }) => new Float64Array(capacity * length)),
      formOfAll: new Int32Array(columnCount).fill(UNKNOWN_FORM),
      forms: new Array(columnCount).fill(undefined),
    };
    this.blocks.push(block);
    return block;
  }

  /** Adds rows to a block that has room for them. A form of -1 says that the text is kept. */
  addRows(block: RowBlock, firstRow: number, count: number, rows: RowsAtHand): void {
    const { values } = rows;
    const index = firstRow - block.firstRow;
    const mostRows = values.length / this.columnCount;
    let start = 0;
    this.groups.forEach(({ length }, g) => {
      block.values[g]!.set(values.subarray(start, start + count * length), index * length);
      start += mostRows * length;
    });
    if (rows.unusual || block.formOfAll.includes(UNKNOWN_FORM)) {
      this.addForms(block, index, count, rows);
      rows.usualForms.set(block.formOfAll);
    }
    rows.unusual = false;
  }

  /** Notes how the cells of further rows are written. */
  private addForms(block: RowBlock, index: number, count: number, { forms }: RowsAtHand): void {
    const { columnCount } = this;
    const cells = count * columnCount;
    for (let column = 0; column < columnCount; column++) {
      let formOfAll = block.formOfAll[column];
      let own = block.forms[column];
      for (let k = index, cell = column; cell < cells; k++, cell += columnCount) {
        const form = forms[cell]!;
        if (own) own[k] = form;
        else if (form !== formOfAll && form !== NO_FORM) {
          this.noteForm(block, column, k, form);
          formOfAll = block.formOfAll[column];
          own = block.forms[column];
        }
      }
    }
  }

  /** Notes that a cell is written in another form than those above it. */
  private noteForm(block: RowBlock, column: number, index: number, form: number): void {
    const { formOfAll, forms } = block;
    let own = forms[column];
    if (own === undefined) {
      if (formOfAll[column] === UNKNOWN_FORM) {
        formOfAll[column] = form;
        return;
      }
      own = new Uint8Array(block.capacity).fill(formOfAll[column]!, 0, index);
      forms[column] = own;
      formOfAll[column] = FORMS_DIFFER;
    }
    own[index] = form;
  }

  /** Keeps the text of a cell whose number does not give it back. */
  keep(row: number, column: number, bytes: Uint8Array, start: number, stop: number): void {
    let kept = this.kept[column];
    if (kept === undefined) {
      kept = new KeptCells();
      this.kept[column] = kept;
    }
    kept.add(row, bytes, start, stop);
  }

  /** Notes that a cell is no finite number. */
  noteBad(row: number, column: number): void {
    if (this.firstBad[column]! < 0) this.firstBad[column] = row;
  }

  /** Notes that lines no longer follow one another as the rows before have it. */
  noteLine(row: number, line: number): void {
    this.runRows.push(row);
    this.runLines.push(line);
  }

  /**
   * The table of all rows.
   *
   * @param every - lines from one row to the next
   */
  table(
    header: readonly string[] | undefined,
    rowCount: number,
    every: number,
    decimalMark: string,
  ): Table {
    const columns: (Float64Array | undefined)[] = new Array(this.columnCount).fill(undefined);
    const lineOf = (row: number) => this.lineOf(row, every);
    const valuesOf = (column: number) => {
      columns[column] ??= this.columnOf(column, rowCount);
      return columns[column];
    };
    const requireNumbers = (column: number) => {
      const bad = this.firstBad[column]!;
      if (bad < 0) return;
      const kept = this.kept[column]!;
      throw this.kept.some((cells) => cells?.isQuoted(bad))
        ? quotedCells(lineOf(bad))
        : badCell(lineOf(bad), columnName(header, column), kept.textOf(kept.find(bad)));
    };
    return {
      header,
      rowCount,
      columnCount: this.columnCount,
      lineOf,
      numbers: (column) => {
        requireNumbers(column);
        return valuesOf(column);
      },
      sideBySide: (wanted) => {
        const g = this.groups.findIndex((group) => `${group}` === `${wanted}`);
        if (g < 0) return undefined;
        wanted.forEach(requireNumbers);
        return this.wholeGroup(g, rowCount);
      },
      texts: (column) => this.textsOf(column, valuesOf(column), decimalMark),
    };
  }

  /** One column by itself. */
  private columnOf(column: number, rowCount: number): Float64Array {
    const g = this.groups.findIndex((group) => group.includes(column));
    const width = this.groups[g]!.length;
    const whole = this.wholeGroup(g, rowCount);
    if (width === 1) return whole;
    const out = new Float64Array(rowCount);
    for (let row = 0, i = this.groups[g]!.indexOf(column); row < rowCount; row++, i += width) {
      out[row] = whole[i]!;
    }
    return out;
  }

  /** A group in one piece; its parts in the blocks are given up. */
  private wholeGroup(g: number, rowCount: number): Float64Array {
    const width = this.groups[g]!.length;
    this.wholes[g] ??= this.joined(g, width, rowCount);
    return this.wholes[g];
  }

  private joined(g: number, width: number, rowCount: number): Float64Array {
    const [only, ...more] = this.blocks;
    if (more.length === 0) return only!.values[g]!.subarray(0, rowCount * width);
    const whole = new Float64Array(rowCount * width);
    for (const { firstRow, values } of this.blocks) {
      whole.set(values[g]!.subarray(0, (rowCount - firstRow) * width), firstRow * width);
      values[g] = NOTHING;
    }
    return whole;
  }

  private textsOf(column: number, values: Float64Array, decimalMark: string): string[] {
    const kept = this.kept[column];
    const texts: string[] = [];
    let next = 0;
    let nextKept = kept ? kept.rowOf(0) : -1;
    for (const { firstRow, capacity, formOfAll, forms } of this.blocks) {
      const end = Math.min(firstRow + capacity, values.length);
      for (let row = firstRow; row < end; row++) {
        if (row === nextKept) {
          texts.push(kept!.textOf(next++));
          nextKept = next < kept!.count ? kept!.rowOf(next) : -1;
        } else {
          const form = forms[column]?.[row - firstRow] ?? formOfAll[column]!;
          const text = textOfForm(values[row]!, form);
          texts.push(decimalMark === '.' ? text : text.replace('.', decimalMark));
        }
      }
    }
    return texts;
  }

  private lineOf(row: number, every: number): number {
    const { runRows, runLines } = this;
    let low = 0;
    let high = runRows.length;
    while (low < high) {
      const middle = (low + high) >>> 1;
      if (runRows[middle]! <= row) low = middle + 1;
      else high = middle;
    }
    return runLines[low - 1]! + (row - runRows[low - 1]!) * every;
  }
}

const NOTHING = new Float64Array(0);

/** The error for cells in quotes, which may hold separators and line ends. */
export function quotedCells(line: number): TwinkeelError {
  return new TwinkeelError('read/quoted', {
    line,
    found: 'quoted cells',
    expected: 'plain numbers in the browser-safe reader',
    remedy: 'read the file through twinkeel/node, or export it without quotes',
  });
}
