import { fromBase64 } from '../../base64.js';
import { startWebAssembly } from '../../webAssembly.js';
import { type CellScanner, roomAtHand, rowsAtHand } from '../cellScanner.js';
import type { ColumnGroups } from '../columnGroups.js';
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
  slots: number,
  forms: number,
  usualForms: number,
  kept: number,
  powers: number,
  counts: number,
) => number;

/** Eight bytes are read at once; what lies behind the last line end does not matter. */
const BEHIND = 16;
/** How many bytes may be put into the scanner's own memory at once. */
const ROOM = 2 ** 20;
/** Whole powers of ten, up to as many digits as are taken at once. */
const WHOLE_POWERS = Uint32Array.from({ length: 9 }, (_, k) => 10 ** k);
const POWERS = POWERS_OF_TEN.length;

/**
 * The scanner in WebAssembly.
 *
 * @param mostBytes - how many bytes may come at once
 * @returns nothing where there is no WebAssembly, or no room
 */
export function wasmScanner(
  { separator, decimal, commentByte }: PlainLayout,
  groups: ColumnGroups,
  mostBytes: number,
): CellScanner | undefined {
  const { columnCount, cells } = roomAtHand(groups);
  let end = 0;
  const place = (bytes: number) => {
    const start = end;
    end += Math.ceil(bytes / 64) * 64;
    return start;
  };
  const values = place(8 * cells);
  const slots = place(4 * cells);
  const forms = place(2 * cells);
  const usualForms = place(2 * columnCount);
  const kept = place(12 * cells);
  const powers = place(2 * 8 * POWERS + WHOLE_POWERS.byteLength);
  const counts = place(12);
  const input = place(mostBytes + BEHIND);
  const roomAt = place(ROOM + BEHIND);
  const started = startWebAssembly(fromBase64(SCANNER_BASE64), end);
  if (!started) return undefined;
  const { buffer } = started;
  const { scan } = started.exports as { readonly scan: Scan };
  new Float64Array(buffer, powers, POWERS).set(POWERS_OF_TEN);
  new Float64Array(buffer, powers + 8 * POWERS, POWERS).set(POWERS_REST);
  new Uint32Array(buffer, powers + 16 * POWERS, WHOLE_POWERS.length).set(WHOLE_POWERS);
  const held = new Uint8Array(buffer, input, mostBytes);
  const count = new Int32Array(buffer, counts, 3);
  const list = new Uint32Array(buffer, kept, 3 * cells);
  const rows = rowsAtHand(groups, {
    values: new Float64Array(buffer, values, cells),
    slots: new Int32Array(buffer, slots, cells),
    forms: new Int16Array(buffer, forms, cells),
    usualForms: new Int16Array(buffer, usualForms, columnCount),
  });
  /** Which of the bytes are held in the memory. */
  let heldFrom = 0;
  let heldTo = -1;
  return {
    kind: 'wasm',
    rows,
    room: new Uint8Array(buffer, roomAt, ROOM),
    forget: () => {
      heldTo = -1;
    },
    scan: (bytes, from, to, most, keep) => {
      let shift = bytes.byteOffset;
      if (bytes.buffer !== buffer) {
        if (to !== heldTo || from < heldFrom) {
          held.set(bytes.subarray(from, to));
          heldFrom = from;
          heldTo = to;
        }
        shift = input - heldFrom;
      }
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
        slots,
        forms,
        usualForms,
        kept,
        powers,
        counts,
      );
      rows.cells = count[0]!;
      const listed = 3 * count[1]!;
      for (let k = 0; k < listed; k += 3) {
        keep(list[k]!, list[k + 1]! - shift, list[k + 2]! - shift);
      }
      if (count[2] !== 0) rows.unusual = true;
      return next - shift;
    },
  };
}
