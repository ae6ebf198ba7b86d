import {
  type CellSamples,
  type Crowding,
  placeInCell,
  RECORD_LENGTH,
  samplesOf,
} from './cellRecords.js';
import { type FilterKernel, widening } from './filters.js';
import type { Mesh } from './mesh.js';
import type { Plane } from './pixelFormat.js';
import type { PlaneCells } from './planeCells.js';
import type { PlaneKernel } from './planeKernel.js';
import { type EyeRays, trace } from './rays.js';
import { filteredAt, type SourcePlane } from './sourcePlane.js';

/** One eye's part of one plane. */
export interface PlaneTask {
  readonly mesh: Mesh;
  /** The mesh's cells, sorted for this plane. */
  readonly sorted: PlaneCells;
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
  const { kernel, plane, width, height, source, mesh, sorted } = task;
  const { stride, rows } = source;
  const shape = { stride, rows, outStride: width, step: plane.step, black: plane.black };
  for (const c of sorted.black) {
    samplesOf(mesh.cells, c, plane, width, height, HERE);
    for (let j = HERE.top; j < HERE.bottom; j++) {
      kernel.out.fill(plane.black, j * width + HERE.left, j * width + HERE.right);
    }
  }
  inPortions(kernel, sorted.plain, (count) => kernel.fill(count, shape));
  inPortions(kernel, sorted.wide, (count) => kernel.fillWide(count, shape));
  for (const c of sorted.edges) blackenUnseen(task, c);
  for (const c of sorted.traced) traceSamples(task, c);
}

/** Hands records to a kernel, as many at once as it has room for. */
function inPortions(
  { records }: PlaneKernel,
  all: Float64Array,
  fill: (count: number) => void,
): void {
  for (let from = 0; from < all.length; from += records.length) {
    const some = all.subarray(from, from + records.length);
    records.set(some);
    fill(some.length / RECORD_LENGTH);
  }
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
