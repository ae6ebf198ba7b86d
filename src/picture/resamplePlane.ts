import {
  type CellSamples,
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
import { filteredAt, type SourcePlane } from './sourcePlane.js';

/** One eye's part of one plane. */
export interface PlaneTask {
  readonly mesh: Mesh;
  readonly rays: EyeRays;
  readonly filter: FilterKernel;
  readonly kernel: PlaneKernel;
  readonly source: SourcePlane;
  /** The plane that is made, and the size of the eye's part. */
  readonly plane: Plane;
  readonly width: number;
  readonly height: number;
  /** Largest code. */
  readonly most: number;
}

/** Nearer to an edge than this a sample asks its own ray whether the lens saw it, pixels. */
const DOUBTFUL_PX = 0.02;

const [AT, BEFORE, BEHIND] = [new Float64Array(2), new Float64Array(2), new Float64Array(2)];

/** Makes an eye's part of a plane in the kernel's `out`: all samples of the mesh's cells. */
export function resamplePlane(task: PlaneTask): void {
  const { mesh, kernel, plane, width, height, source, most } = task;
  const { cells, kinds, count } = mesh;
  const { records, out } = kernel;
  const shape = { stride: source.stride, rows: source.rows, outStride: width, step: plane.step };
  const here: CellSamples = { left: 0, right: 0, top: 0, bottom: 0 };
  const byHand: number[] = [];
  const edges: number[] = [];
  let waiting = 0;
  for (let n = 0, c = 0; n < count; n++, c += CELL_LENGTH) {
    samplesOf(cells, c, plane, width, height, here);
    if (here.left >= here.right || here.top >= here.bottom) continue;
    const kind = kinds[n]!;
    if (kind === CELL.black) {
      for (let j = here.top; j < here.bottom; j++) {
        out.fill(plane.black, j * width + here.left, j * width + here.right);
      }
      continue;
    }
    if (kind === CELL.traced) {
      byHand.push(n);
      continue;
    }
    const o = waiting * RECORD_LENGTH;
    writeRecord(cells, c, here, plane, records, o);
    if (largestScale(records, o, cells, c, plane) > WIDEN_FROM) {
      byHand.push(n);
      continue;
    }
    if (kind === CELL.edge) edges.push(n);
    if (++waiting < RECORDS_AT_ONCE) continue;
    kernel.fill(waiting, shape);
    waiting = 0;
  }
  if (waiting > 0) kernel.fill(waiting, shape);

  const [stepX, stepY] = plane.step;
  for (const n of edges) {
    eachSample(n, (x, y, u, v, to) => {
      placeInCell(cells, n * CELL_LENGTH, u, v, AT);
      if (!seenAt(task.rays, x, y)) out[to] = plane.black;
    });
  }
  for (const n of byHand) {
    const c = n * CELL_LENGTH;
    const traced = kinds[n] === CELL.traced;
    eachSample(n, (x, y, u, v, to) => {
      let seen: boolean;
      if (traced) seen = trace(task.rays, x, y, AT);
      else {
        placeInCell(cells, c, u, v, AT);
        seen = kinds[n] === CELL.seen || seenAt(task.rays, x, y);
      }
      out[to] = seen ? coded(filtered(c, traced, x, y, u, v)) : plane.black;
    });
  }

  function eachSample(
    n: number,
    visit: (x: number, y: number, u: number, v: number, to: number) => void,
  ): void {
    const c = n * CELL_LENGTH;
    samplesOf(cells, c, plane, width, height, here);
    const [middleX, middleY] = [cells[c]! + cells[c + 2]! / 2, cells[c + 1]! + cells[c + 3]! / 2];
    for (let j = here.top; j < here.bottom; j++) {
      const y = plane.first[1] + j * stepY;
      for (let i = here.left; i < here.right; i++) {
        const x = plane.first[0] + i * stepX;
        visit(x, y, x - middleX, y - middleY, j * width + i);
      }
    }
  }

  function coded(value: number): number {
    return Math.min(Math.max(Math.round(value), 0), most);
  }

  /** The value at AT, the filter as wide as a sample of the view is in the source. */
  function filtered(
    c: number,
    traced: boolean,
    x: number,
    y: number,
    u: number,
    v: number,
  ): number {
    const across = (AT[0]! - plane.first[0]) / stepX + 0.5;
    const down = (AT[1]! - plane.first[1]) / stepY + 0.5;
    let [wide, high] = [0, 0];
    for (let axis = 0; axis < 2; axis++) {
      const [du, dv] = axis === 0 ? [stepX / 2, 0] : [0, stepY / 2];
      if (traced) {
        trace(task.rays, x - du, y - dv, BEFORE);
        trace(task.rays, x + du, y + dv, BEHIND);
      } else {
        placeInCell(cells, c, u - du, v - dv, BEFORE);
        placeInCell(cells, c, u + du, v + dv, BEHIND);
      }
      wide += ((BEHIND[0]! - BEFORE[0]!) / stepX) ** 2;
      high += ((BEHIND[1]! - BEFORE[1]!) / stepY) ** 2;
    }
    return filteredAt(
      source,
      task.filter,
      across,
      down,
      widening(Math.sqrt(wide)),
      widening(Math.sqrt(high)),
    );
  }
}

/** Whether the lens saw the point of the view that the mesh finds at AT. */
function seenAt(rays: EyeRays, x: number, y: number): boolean {
  const margin = rays.margin(AT);
  return Math.abs(margin) > DOUBTFUL_PX ? margin > 0 : trace(rays, x, y, BEFORE);
}
