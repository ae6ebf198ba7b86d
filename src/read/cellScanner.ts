import { type ColumnGroups, cellSlots } from './columnGroups.js';
import { type PlainLayout, type RowsAtHand, scanPlainRows } from './plainRows.js';
import { NO_FORM } from './scanNumber.js';

/** Rows at hand are few enough to stay in the fastest memory. */
const CELLS_AT_HAND = 4096;

/** Takes a cell whose value and form do not give its text back, by its number among those at hand. */
export type KeepCell = (cell: number, start: number, stop: number) => void;

/** What reads most cells of a table, and where it puts them. */
export interface CellScanner {
  /** `wasm` reads more kinds of numbers, `typescript` runs everywhere; the values are the same bits. */
  readonly kind: 'wasm' | 'typescript';
  readonly rows: RowsAtHand;
  /** Memory from which bytes are read without being copied first. */
  readonly room?: Uint8Array;
  /** Says that the bytes of the next call may be others, though they stand in the same place. */
  readonly forget: () => void;
  /**
   * Reads cells as {@link scanPlainRows} does.
   *
   * @param keep - called for each cell that is read whose text would be lost
   */
  readonly scan: (
    bytes: Uint8Array,
    from: number,
    to: number,
    mostCells: number,
    keep: KeepCell,
  ) => number;
}

/** The scanner without WebAssembly. */
export function typescriptScanner(layout: PlainLayout, groups: ColumnGroups): CellScanner {
  const { columnCount, cells } = roomAtHand(groups);
  const rows = rowsAtHand(groups, {
    values: new Float64Array(cells),
    slots: new Int32Array(cells),
    forms: new Int16Array(cells),
    usualForms: new Int16Array(columnCount),
  });
  return {
    kind: 'typescript',
    rows,
    forget: () => {},
    scan: (bytes, from, to, most) => scanPlainRows(bytes, from, to, layout, rows, most),
  };
}

/** How many cells may be at hand, whole rows, and one row at least. */
export function roomAtHand(groups: ColumnGroups): { columnCount: number; cells: number } {
  const columnCount = groups.reduce((sum, { length }) => sum + length, 0);
  return { columnCount, cells: Math.max(1, Math.floor(CELLS_AT_HAND / columnCount)) * columnCount };
}

/** No rows yet, in the memory given. */
export function rowsAtHand(
  groups: ColumnGroups,
  memory: Pick<RowsAtHand, 'values' | 'slots' | 'forms' | 'usualForms'>,
): RowsAtHand {
  const columnCount = memory.usualForms.length;
  memory.slots.set(cellSlots(groups, columnCount, memory.slots.length / columnCount));
  memory.usualForms.fill(NO_FORM);
  return { columnCount, ...memory, unusual: false, cells: 0 };
}
