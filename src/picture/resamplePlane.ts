import {
  type CellSamples,
  type Crowding,
  largestScale,
  placeInCell,
  RECORD_LENGTH,
  samplesOf,
  writeRecord,
} from './cellRecords.js';
import { type FilterKernel, WIDEN_FROM, widening } from './filters.js';
import { CELL, CELL_LENGTH, type Mesh } from './mesh.js';
import type { Plane } from './pixelFormat.js';
import { type PlaneKernel, RECORDS_AT_ONCE } from './planeKernel.js';
import { type EyeRays, trace } from './rays.js';
import { widest } from './resampleWideCells.js';
import { filteredAt, type SourcePlane } from './sourcePlane.js';

/** One eye's part of one plane. */
export interface PlaneTask {
  readonly mesh: Mesh;
  readonly rays: EyeRays;
  readonly filter: FilterKernel;
  readonly kernel: PlaneKernel;
  readonly source: SourcePlane;
  readonly crowding: Crowding;
  /** The plane that is made, and the size of the eye's part. */
  readonly plane: Plane;
  readonly width: number;
  readonly height: number;
  /** Bits of a sample. */
  readonly bits: number;
}

/** Nearer to an edge than this a sample asks its own ray whether the lens saw it, pixels. */
const DOUBTFUL_PX = 0.02;

const [AT, BEFORE, BEHIND] = [new Float64Array(2), new Float64Array(2), new Float64Array(2)];
const SLOPES = new Float64Array(3);
const HERE: CellSamples = { left: 0, right: 0, top: 0, bottom: 0 };

/** Makes an eye's part of a plane in the kernel's `out`: all samples of the mesh's cells. */
export function resamplePlane(task: PlaneTask): void {
  const { mesh, kernel, plane, width, height, source, crowding } = task;
  const { cells, kinds, count } = mesh;
  const { records, out } = kernel;
  const { stride, rows } = source;
  const shape = { stride, rows, outStride: width, step: plane.step, black: plane.black };
  const most = widest(task.bits);
  const [wide, edges, byHand]: [number[], number[], number[]] = [[], [], []];
  let waiting = 0;
  for (let n = 0, c = 0; n < count; n++, c += CELL_LENGTH) {
    samplesOf(cells, c, plane, width, height, HERE);
    if (HERE.left >= HERE.right || HERE.top >= HERE.bottom) continue;
    const kind = kinds[n]!;
    if (kind === CELL.black) {
      for (let j = HERE.top; j < HERE.bottom; j++) {
        out.fill(plane.black, j * width + HERE.left, j * width + HERE.right);
      }
      continue;
    }
    const o = waiting * RECORD_LENGTH;
    if (kind !== CELL.traced) writeRecord(cells, c, HERE, plane, crowding, records, o);
    const scale =
      kind === CELL.traced ? Number.POSITIVE_INFINITY : largestScale(records, o, cells, c, plane);
    if (scale > most) byHand.push(c);
    else if (kind === CELL.edge) edges.push(c);
    if (scale > most) continue;
    if (scale > WIDEN_FROM) wide.push(c);
    else if (++waiting === RECORDS_AT_ONCE) {
      kernel.fill(waiting, shape);
      waiting = 0;
    }
  }
  if (waiting > 0) kernel.fill(waiting, shape);
  for (let first = 0; first < wide.length; first += RECORDS_AT_ONCE) {
    const some = wide.slice(first, first + RECORDS_AT_ONCE);
    some.forEach((c, n) => {
      samplesOf(cells, c, plane, width, height, HERE);
      writeRecord(cells, c, HERE, plane, crowding, records, n * RECORD_LENGTH);
    });
    kernel.fillWide(some.length, shape);
  }
  for (const c of edges) blackenUnseen(task, c);
  for (const c of byHand) traceSamples(task, c);
}

/** Makes the samples of an edge's cell black that the lens did not see. */
function blackenUnseen({ mesh, rays, kernel, plane, width, height }: PlaneTask, c: number): void {
  const { cells } = mesh;
  const { step, first, black } = plane;
  const { out } = kernel;
  samplesOf(cells, c, plane, width, height, HERE);
  const middleX = cells[c]! + cells[c + 2]! / 2;
  const middleY = cells[c + 1]! + cells[c + 3]! / 2;
  for (let j = HERE.top; j < HERE.bottom; j++) {
    const y = first[1] + j * step[1];
    for (let i = HERE.left; i < HERE.right; i++) {
      const x = first[0] + i * step[0];
      placeInCell(cells, c, x - middleX, y - middleY, AT);
      const margin = rays.margin(AT);
      if (margin > DOUBTFUL_PX) continue;
      if (margin < -DOUBTFUL_PX || !trace(rays, x, y, AT)) out[j * width + i] = black;
    }
  }
}

/** Makes the samples of a cell by a ray for each. */
function traceSamples(task: PlaneTask, c: number): void {
  const { mesh, kernel, plane, width, height, rays } = task;
  const most = 2 ** task.bits - 1;
  samplesOf(mesh.cells, c, plane, width, height, HERE);
  for (let j = HERE.top; j < HERE.bottom; j++) {
    const y = plane.first[1] + j * plane.step[1];
    for (let i = HERE.left; i < HERE.right; i++) {
      const x = plane.first[0] + i * plane.step[0];
      const value = trace(rays, x, y, AT) ? tracedValue(task, x, y) : plane.black;
      kernel.out[j * width + i] = Math.min(Math.max(Math.round(value), 0), most);
    }
  }
}

/** The value at AT, the filter as wide as a sample of the view is in the source. */
function tracedValue(
  { rays, source, plane, filter, crowding }: PlaneTask,
  x: number,
  y: number,
): number {
  const [stepX, stepY] = plane.step;
  trace(rays, x - stepX / 2, y, BEFORE);
  trace(rays, x + stepX / 2, y, BEHIND);
  let wide = ((BEHIND[0]! - BEFORE[0]!) / stepX) ** 2;
  let high = ((BEHIND[1]! - BEFORE[1]!) / stepY) ** 2;
  trace(rays, x, y - stepY / 2, BEFORE);
  trace(rays, x, y + stepY / 2, BEHIND);
  wide += ((BEHIND[0]! - BEFORE[0]!) / stepX) ** 2;
  high += ((BEHIND[1]! - BEFORE[1]!) / stepY) ** 2;
  return filteredAt(
    source,
    filter,
    (AT[0]! - plane.first[0]) / stepX + 0.5,
    (AT[1]! - plane.first[1]) / stepY + 0.5,
    widening(Math.sqrt(wide) * crowding(AT[1]!, SLOPES)),
    widening(Math.sqrt(high)),
  );
}
