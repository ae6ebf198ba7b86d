import { fromBase64 } from '../../base64.js';
import { startWebAssembly } from '../../webAssembly.js';
import type { CellScanner } from '../cellScanner.js';
import type { PlainLayout } from '../plainRows.js';
import { POWERS_OF_TEN, POWERS_REST } from '../scanNumber.js';
import { SCANNER_BASE64 } from './scannerBytes.js';

/** As `assembly/scanner.ts` has it; places are bytes from the start of the memory. */
type Scan = (
  from: number,
  to: number,
  separator: number,
  decimal: number,
  comment: number,
  columnCount: number,
  count: number,
  most: number,
  values: number,
  forms: number,
  kept: number,
  powers: number,
  counts: number,
) => number;

/** Eight bytes are read at once, and what lies behind the last line end is no matter. */
const BEHIND = 16;
/** Whole powers of ten, up to as many digits as are taken at once. */
const WHOLE_POWERS = Uint32Array.from({ length: 9 }, (_, k) => 10 ** k);

/**
 * The scanner in WebAssembly.
 *
 * @param mostCells - how many cells may be at hand
 * @param mostBytes - how many bytes may come at once
 * @returns nothing where there is no WebAssembly, or no room
 */
export function wasmScanner(
  { separator, decimal, commentByte }: PlainLayout,
  columnCount: number,
  mostCells: number,
  mostBytes: number,
): CellScanner | undefined {
  let end = 0;
  const place = (bytes: number) => {
    const start = end;
    end += Math.ceil(bytes / 64) * 64;
    return start;
  };
  const values = place(8 * mostCells);
  const forms = place(2 * mostCells);
  const kept = place(12 * mostCells);
  const powers = place(
    POWERS_OF_TEN.byteLength + POWERS_REST.byteLength + WHOLE_POWERS.byteLength,
  );
  const counts = place(8);
  const input = place(mostBytes + BEHIND);
  const started = startWebAssembly(fromBase64(SCANNER_BASE64), end);
  if (!started) return undefined;
  const { buffer } = started;
  const { scan } = started.exports as { readonly scan: Scan };
  const tables = new Float64Array(buffer, powers, 2 * POWERS_OF_TEN.length);
  tables.set(POWERS_OF_TEN);
  tables.set(POWERS_REST, POWERS_OF_TEN.length);
  new Uint32Array(buffer, powers + tables.byteLength, WHOLE_POWERS.length).set(WHOLE_POWERS);
  const memory = new Uint8Array(buffer);
  const countsView = new Int32Array(buffer, counts, 2);
  const keptView = new Uint32Array(buffer, kept, 3 * mostCells);
  const rows = {
    columnCount,
    values: new Float64Array(buffer, values, mostCells),
    forms: new Int16Array(buffer, forms, mostCells),
    cells: 0,
  };
  /** Where the bytes that lie in the memory stand outside of it. */
  let heldFrom = 0;
  let heldTo = -1;
  return {
    kind: 'wasm',
    rows,
    forget: () => {
      heldTo = -1;
    },
    scan: (bytes, from, to, most, keep) => {
      if (to !== heldTo || from < heldFrom) {
        memory.set(bytes.subarray(from, to), input);
        heldFrom = from;
        heldTo = to;
      }
      const shift = input - heldFrom;
      const next = scan(
        from + shift,
        to + shift,
        separator,
        decimal,
        commentByte,
        columnCount,
        rows.cells,
        most,
        values,
        forms,
        kept,
        powers,
        counts,
      );
      rows.cells = countsView[0]!;
      const listed = 3 * countsView[1]!;
      for (let k = 0; k < listed; k += 3) {
        keep(keptView[k]!, keptView[k + 1]! - shift, keptView[k + 2]! - shift);
      }
      return next - shift;
    },
  };
}
