import { type PlainLayout, type RowsAtHand, scanPlainRows } from './plainRows.js';
import { wasmScanner } from './wasm/wasmScanner.js';

/** Rows at hand are few enough to stay in the fastest memory. */
const CELLS_AT_HAND = 4096;
/** Below this a text is read before WebAssembly has started. */
const WORTH_STARTING = 2 ** 17;

/** Takes a cell whose value and form do not give its text back, by its number among those at hand. */
export type KeepCell = (cell: number, start: number, stop: number) => void;

/** What reads most cells of a table, and where it puts them. */
export interface CellScanner {
  /** `wasm` reads more kinds of numbers, or `typescript`; the values are the same bits. */
  readonly kind: 'wasm' | 'typescript';
  readonly rows: RowsAtHand;
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

/**
 * The faster scanner that runs here.
 *
 * @param expectedBytes - how long the whole text is, or 0
 * @param mostBytes - how much of it may come at once
 */
export function createCellScanner(
  layout: PlainLayout,
  columnCount: number,
  expectedBytes: number,
  mostBytes: number,
): CellScanner {
  const mostCells = Math.max(1, Math.floor(CELLS_AT_HAND / columnCount)) * columnCount;
  const wasm =
    expectedBytes < WORTH_STARTING
      ? undefined
      : wasmScanner(layout, columnCount, mostCells, mostBytes);
  return wasm ?? typescriptScanner(layout, columnCount, mostCells);
}

/** The scanner without WebAssembly. */
export function typescriptScanner(
  layout: PlainLayout,
  columnCount: number,
  mostCells: number,
): CellScanner {
  const rows: RowsAtHand = {
    columnCount,
    values: new Float64Array(mostCells),
    forms: new Int16Array(mostCells),
    cells: 0,
  };
  return {
    kind: 'typescript',
    rows,
    forget: () => {},
    scan: (bytes, from, to, most) => scanPlainRows(bytes, from, to, layout, rows, most),
  };
}
