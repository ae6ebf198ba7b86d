import { fromBase64 } from '../../base64.js';
import { startWebAssembly } from '../../webAssembly.js';
import { RECORD_LENGTH } from '../cellRecords.js';
import {
  type KernelNeeds,
  type KernelShape,
  type PlaneKernel,
  RECORDS_AT_ONCE,
} from '../planeKernel.js';
import { distanceTable, tapTables } from '../tapTables.js';
import { KERNEL_BASE64 } from './kernelBytes.js';

/** Places are bytes from the start of the memory; the last two as `assembly/kernel.ts` says. */
type Fill = (
  records: number,
  count: number,
  source: number,
  stride: number,
  rows: number,
  out: number,
  outStride: number,
  stepX: number,
  stepY: number,
  bits: number,
  tableX: number,
  tableY: number,
  radius?: number,
  black?: number,
) => void;

/**
 * The kernel in WebAssembly with vector instructions.
 *
 * @returns nothing where this machine does not know them, or has no room
 */
export function wasmKernel(needs: KernelNeeds): PlaneKernel | undefined {
  const { format, filter, sourceLength, outLength } = needs;
  const { bytesPerSample, bits } = format;
  const { taps, across, down } = tapTables(filter);
  let end = 0;
  const place = (bytes: number) => {
    const start = end;
    end += Math.ceil((bytes + 16) / 64) * 64;
    return start;
  };
  const tableX = place(across.byteLength);
  const tableY = place(down.byteLength);
  const weights = distanceTable(filter);
  const weightsAt = place(weights.byteLength);
  const scratchAt = place(4096);
  const recordsAt = place(RECORDS_AT_ONCE * RECORD_LENGTH * 8);
  const sourceAt = place(sourceLength * bytesPerSample);
  const outAt = place(outLength * bytesPerSample);
  const started = startWebAssembly(fromBase64(KERNEL_BASE64), end);
  if (!started) return undefined;
  const { buffer } = started;
  const exports = started.exports as Readonly<Record<string, Fill>>;
  new Int16Array(buffer, tableX, across.length).set(across);
  new Int16Array(buffer, tableY, down.length).set(down);
  new Int16Array(buffer, weightsAt, weights.length).set(weights);
  const samples = (start: number, length: number) =>
    bytesPerSample === 1
      ? new Uint8Array(buffer, start, length)
      : new Uint16Array(buffer, start, length);
  const fill = exports[`fill${taps}x${8 * bytesPerSample}`]!;
  const fillWide = exports[`fillWide${8 * bytesPerSample}`]!;
  const call =
    (of: Fill, first: number, second: number) =>
    (count: number, { stride, rows, outStride, step, black }: KernelShape) =>
      of(
        recordsAt,
        count,
        sourceAt,
        stride,
        rows,
        outAt,
        outStride,
        step[0],
        step[1],
        bits,
        first,
        second,
        filter.radius,
        black,
      );
  return {
    kind: 'wasm',
    records: new Float64Array(buffer, recordsAt, RECORDS_AT_ONCE * RECORD_LENGTH),
    source: samples(sourceAt, sourceLength),
    out: samples(outAt, outLength),
    fill: call(fill, tableX, tableY),
    fillWide: call(fillWide, weightsAt, scratchAt),
  };
}
