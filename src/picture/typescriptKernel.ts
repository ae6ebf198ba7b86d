import { RECORD_LENGTH } from './cellRecords.js';
import { type KernelNeeds, type PlaneKernel, RECORDS_AT_ONCE } from './planeKernel.js';
import { resampleCells } from './resampleCells.js';
import { resampleWideCells } from './resampleWideCells.js';
import type { Samples } from './sourcePlane.js';
import { distanceTable, tapTables } from './tapTables.js';

/** The kernel without WebAssembly. */
export function typescriptKernel(needs: KernelNeeds): PlaneKernel {
  const { format, filter, sourceLength, outLength } = needs;
  const tables = tapTables(filter);
  const weights = distanceTable(filter);
  const { bits } = format;
  const empty = (length: number): Samples =>
    format.bytesPerSample === 1 ? new Uint8Array(length) : new Uint16Array(length);
  const records = new Float64Array(RECORDS_AT_ONCE * RECORD_LENGTH);
  const [source, out] = [empty(sourceLength), empty(outLength)];
  return {
    kind: 'typescript',
    records,
    source,
    out,
    fill: (count, shape) => resampleCells(records, count, source, out, shape, tables, bits),
    fillWide: (count, shape) =>
      resampleWideCells(records, count, source, out, shape, weights, filter.radius, bits),
  };
}
