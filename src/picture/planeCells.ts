import {
  type CellSamples,
  type Crowding,
  largestScale,
  RECORD_LENGTH,
  samplesOf,
  writeRecord,
} from './cellRecords.js';
import { WIDEN_FROM } from './filters.js';
import { CELL, CELL_LENGTH, type Mesh } from './mesh.js';
import type { Plane } from './pixelFormat.js';
import { widest } from './resampleWideCells.js';

/** The cells of a mesh as one plane's samples see them, by what is to be done with them. */
export interface PlaneCells {
  /** Records of the plain cells, one behind the other. */
  readonly plain: Float64Array;
  /** Records of the cells in which the filter is widened. */
  readonly wide: Float64Array;
  /** Where in the mesh the cells stand that an edge goes through. */
  readonly edges: readonly number[];
  /** Cells whose samples are traced one by one. */
  readonly traced: readonly number[];
  /** Cells that are black. */
  readonly black: readonly number[];
}

/**
 * Sorts the cells of a mesh. Both planes of colour, and both eyes where their meshes are one, share it.
 *
 * @param width - samples in a row of an eye's part
 * @param height - its rows
 */
export function planeCells(
  { cells, kinds, count }: Mesh,
  plane: Plane,
  width: number,
  height: number,
  crowding: Crowding,
  bits: number,
): PlaneCells {
  const here: CellSamples = { left: 0, right: 0, top: 0, bottom: 0 };
  const most = widest(bits);
  // Plain cells from the front, wide ones from the back.
  const records = new Float64Array(count * RECORD_LENGTH);
  let [front, back] = [0, records.length - RECORD_LENGTH];
  const [edges, traced, black]: [number[], number[], number[]] = [[], [], []];
  for (let n = 0, c = 0; n < count; n++, c += CELL_LENGTH) {
    samplesOf(cells, c, plane, width, height, here);
    if (here.left >= here.right || here.top >= here.bottom) continue;
    const kind = kinds[n]!;
    if (kind === CELL.black) black.push(c);
    if (kind === CELL.traced) traced.push(c);
    if (kind === CELL.black || kind === CELL.traced) continue;
    writeRecord(cells, c, here, plane, crowding, records, front);
    const scale = largestScale(records, front, cells, c, plane);
    if (scale > most) {
      traced.push(c);
      continue;
    }
    if (kind === CELL.edge) edges.push(c);
    if (scale <= WIDEN_FROM) front += RECORD_LENGTH;
    else {
      records.copyWithin(back, front, front + RECORD_LENGTH);
      back -= RECORD_LENGTH;
    }
  }
  return {
    plain: records.subarray(0, front),
    wide: records.subarray(back + RECORD_LENGTH),
    edges,
    traced,
    black,
  };
}
