import { type CellScanner, typescriptScanner } from './cellScanner.js';
import type { ColumnGroups } from './columnGroups.js';
import type { PlainLayout } from './plainRows.js';
import { wasmScanner } from './wasm/wasmScanner.js';

/** Below this, bytes, a text is read before WebAssembly has started (measured: 0.5 ms). */
const WORTH_STARTING = 2 ** 17;

/**
 * The faster scanner that runs here.
 *
 * @param expectedBytes - how long the whole text is, or 0
 * @param mostBytes - how much of it may come at once
 */
export function createCellScanner(
  layout: PlainLayout,
  groups: ColumnGroups,
  expectedBytes: number,
  mostBytes: number,
): CellScanner {
  const wasm = expectedBytes < WORTH_STARTING ? undefined : wasmScanner(layout, groups, mostBytes);
  return wasm ?? typescriptScanner(layout, groups);
}
