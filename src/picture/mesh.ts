import type { CircularMask } from '../rig/coverage.js';
import type { StereoRig } from '../rig/stereoRig.js';
import { bendsOf, levelBends } from './bends.js';
import { type Crowding, crowdingOf } from './cellRecords.js';
import { angleFromMiddle } from './mask.js';
import type { EyeRays } from './rays.js';
import { rowBends } from './rowBends.js';
import type { EyePicture } from './stereoFrame.js';
import { viewSpeeds } from './viewSpeeds.js';

/** What a cell of the mesh shows. */
export const CELL = {
  /** Nothing that the lens saw or the mask leaves. */
  black: 0,
  /** Seen everywhere; the place of every point by two parabolas. */
  seen: 1,
  /** The same, but the lens's or the picture's edge goes through it. */
  edge: 2,
  /** Next to a pole, or where the map bends too much: each point by its own ray. */
  traced: 3,
} as const;

/**
 * Where a corrected view finds its points in the source: cells in which the place is a polynomial of
 * second degree across and down through nine exact points.
 */
export interface Mesh {
  /** How many cells. */
  readonly count: number;
  /**
   * {@link CELL_LENGTH} numbers for each: left, top, width and height in the view, then nine factors
   * for the place across, nine for down, of 1, U, U², V, VU, VU², V², V²U, V²U² with U and V counted
   * from the cell's middle; pixels.
   */
  readonly cells: Float64Array;
  /** One of {@link CELL} for each. */
  readonly kinds: Uint8Array;
}

/** Numbers of a cell. */
export const CELL_LENGTH = 22;

/** What a mesh is drawn for. */
export interface MeshTask {
  readonly rays: EyeRays;
  readonly target: EyePicture;
  readonly source: EyePicture;
  /** The rig, where its shutter rolls. */
  readonly rig?: StereoRig | undefined;
  readonly mask?: CircularMask | undefined;
  /** Largest distance from the exact place, pixels of the source; see {@link TOLERANCE_PX}. */
  readonly tolerancePx?: number;
}

/** How far a place may stray from its exact ray, pixels: half of what we promise. */
export const TOLERANCE_PX = 0.01;
/**
 * Where a filter is widened its width comes from the mesh's slope, which strays by at most h² |f‴| / 12
 * of a parabola's: pixels per pixel (our judgement: a hundredth of a width changes no code of 8 bits).
 */
const SLOPE_TOLERANCE = 0.01;
const SLOPE_OF_STRAY = (72 * Math.sqrt(3)) / 12;
/** Cells start this large, pixels. */
export const LARGEST_CELL = 64;
/** Cells through which an edge goes are no larger: each of their pixels is looked at. */
const LARGEST_EDGE_CELL = 16;
/** Below this area nine nodes cost more than a ray for each sample. */
const SMALLEST_AREA = 4;
/** A parabola through three points h/2 apart strays by at most h³ |f‴| / (72 √3) (Lagrange's remainder). */
const STRAY = 1 / (72 * Math.sqrt(3));
/** A jump of the slope between them, times h: largest of the remainder's kernel, rounded up. */
const STRAY_AT_KINK = 0.1;
/** Three even points enlarge an error of theirs by at most 5/4 (their Lebesgue constant). */
const ENLARGED = 1.25;
/** Places further out than this are none; it keeps fixed-point numbers whole. */
const FURTHEST_PX = 2 ** 18;

/**
 * Draws a function that makes meshes for one pair of pictures.
 *
 * The bound: along each row of a cell the parabola strays by at most h³ max|f‴| / (72 √3), along each
 * column likewise, and the first by at most the second's error times 5/4. The third derivatives are
 * bounded over the whole cell from the projections' own formulas ({@link viewSpeeds}, {@link bendsOf}),
 * whatever the rotation; a cell is halved until the bound holds.
 *
 * @see Davis, "Interpolation and Approximation", 1975, section 3.1 for the remainder
 */
export function createMesher(target: EyePicture, source: EyePicture) {
  const speedsOf = viewSpeeds(target);
  const bends = bendsOf(source);
  const crowding = crowdingOf(source);
  const speeds = new Float64Array(6);
  const [view, seen, at] = [new Float64Array(3), new Float64Array(3), new Float64Array(2)];
  const [across, down] = [new Float64Array(2), new Float64Array(2)];
  const nodes = new Float64Array(18);
  const level = new Float64Array(4);
  let cells = new Float64Array(CELL_LENGTH * 4096);
  let kinds = new Uint8Array(4096);
  let rowsOf: ReturnType<typeof rowBends> | undefined;

  /** Cells that begin in rows `from` to `to` of the view; both multiples of the largest cell, or the end. */
  return (task: Omit<MeshTask, 'target' | 'source'>, from: number, to: number): Mesh => {
    const { rays, mask, rig, tolerancePx = TOLERANCE_PX } = task;
    if (rig) rowsOf ??= rowBends(rig);
    const rows = rays.rows && rowsOf?.(rays.rows);
    const bothLevel =
      rays.level !== undefined &&
      source.image.projection === 'half-equirect' &&
      target.image.projection === 'half-equirect';
    const sharper = bothLevel ? levelBends(rays.level) : undefined;
    const [perTurn, perTilt] = [source.widthPx / Math.PI, source.heightPx / Math.PI];
    let count = 0;
    const stack: number[] = [];

    const add = (kind: number, x: number, y: number, w: number, h: number) => {
      if (count === kinds.length) {
        cells = grown(cells, new Float64Array(2 * cells.length));
        kinds = grown(kinds, new Uint8Array(2 * kinds.length));
      }
      const c = CELL_LENGTH * count;
      cells[c] = x;
      cells[c + 1] = y;
      cells[c + 2] = w;
      cells[c + 3] = h;
      kinds[count] = kind;
      if (kind === CELL.seen || kind === CELL.edge) factors(nodes, w, h, cells, c + 4);
      count++;
    };
    const split = (x: number, y: number, w: number, h: number, columns: boolean) => {
      if ((columns && w > 1) || h === 1) {
        const half = w >> 1;
        stack.push(x + half, y, w - half, h, x, y, half, h);
      } else {
        const half = h >> 1;
        stack.push(x, y + half, w, h - half, x, y, w, half);
      }
    };

    const settle = (x: number, y: number, w: number, h: number) => {
      if (rays.blank(x, y, w, h)) return add(CELL.black, x, y, w, h);
      const smallest = w * h <= SMALLEST_AREA;
      const notYet = (columns: boolean) =>
        smallest ? add(CELL.traced, x, y, w, h) : split(x, y, w, h, columns);
      if (!rays.look(x + w / 2, y + h / 2, view)) return notYet(w >= h);
      speedsOf(x, y, w, h, speeds);
      const reach = (speeds[0]! * w + speeds[3]! * h) / 2;
      if (!(reach < Math.PI / 2)) return notYet(w >= h);
      if (mask && angleFromMiddle(mask, view) - reach > mask.opaqueFrom) {
        return add(CELL.black, x, y, w, h);
      }
      rays.turn(view, seen);
      rows?.enlarge(speeds, 0);
      rows?.enlarge(speeds, 3);
      const angle = rows ? (speeds[0]! * w + speeds[3]! * h) / 2 : reach;
      const off = Math.atan2(Math.sqrt(seen[0]! ** 2 + seen[1]! ** 2), -seen[2]!);
      if (off - angle > rays.reach) return add(CELL.black, x, y, w, h);
      let edge = off + angle >= rays.reach;
      if (edge && (w > LARGEST_EDGE_CELL || h > LARGEST_EDGE_CELL))
        return split(x, y, w, h, w >= h);

      bends.third(seen, angle, speeds[0]!, speeds[1]!, speeds[2]!, across);
      bends.third(seen, angle, speeds[3]!, speeds[4]!, speeds[5]!, down);
      if (sharper) {
        sharper(Math.max(0, Math.sqrt(seen[0]! ** 2 + seen[2]! ** 2) - angle), level);
        const cubed = (Math.PI / target.widthPx) ** 3;
        across[0] = Math.min(across[0]!, perTurn * cubed * level[0]!);
        across[1] = Math.min(across[1]!, perTilt * cubed * level[1]!);
        down[0] = Math.min(down[0]!, perTurn * speeds[5]! * level[2]!);
        down[1] = Math.min(down[1]!, perTilt * speeds[5]! * level[3]!);
      }
      let strayAcross = STRAY * w ** 3 * Math.hypot(across[0]!, across[1]!);
      let strayDown = ENLARGED * STRAY * h ** 3 * Math.hypot(down[0]!, down[1]!);
      if (rows) {
        const [perColumn, perLine] = [rows.rowsPerPixel(speeds[0]!), rows.rowsPerPixel(speeds[3]!)];
        const jumps = rows.jumps(seen, (perColumn * w + perLine * h) / 2);
        const kink = STRAY_AT_KINK * jumps * bends.speed(seen, angle) * Math.SQRT2;
        strayAcross += kink * perColumn * w;
        strayDown += ENLARGED * kink * perLine * h;
      }
      // Samples lie in the middle of a pixel or on its edge: in a cell one pixel high all are in rows of
      // nodes, and so with columns.
      if (w === 1) strayAcross = 0;
      if (h === 1) strayDown = 0;
      const stray = strayAcross + strayDown;
      const columns = strayAcross === strayDown ? w >= h : !(strayAcross < strayDown);
      if (!(stray <= tolerancePx)) return notYet(columns);

      for (let j = 0, n = 0; j < 3; j++) {
        for (let i = 0; i < 3; i++, n++) {
          if (!rays.look(x + (i * w) / 2, y + (j * h) / 2, view)) return notYet(columns);
          rays.turn(view, seen);
          rays.place(seen, at);
          if (!(Math.abs(at[0]!) < FURTHEST_PX && Math.abs(at[1]!) < FURTHEST_PX)) {
            return notYet(columns);
          }
          nodes[n] = at[0]!;
          nodes[9 + n] = at[1]!;
        }
      }
      // Across the seam behind a half-equirect's back the nodes would lie on both sides of it.
      if (!edge && !inside(nodes, source)) {
        edge = true;
        if (w > LARGEST_EDGE_CELL || h > LARGEST_EDGE_CELL) return split(x, y, w, h, w >= h);
      }
      const [tilt, lean] = [strayAcross / w, strayDown / h];
      if (
        SLOPE_OF_STRAY * (tilt + lean) > SLOPE_TOLERANCE &&
        !smallest &&
        shrinks(nodes, w, h, crowding)
      ) {
        return split(x, y, w, h, tilt === lean ? w >= h : tilt > lean);
      }
      add(edge ? CELL.edge : CELL.seen, x, y, w, h);
    };

    for (let y = from; y < to; y += LARGEST_CELL) {
      for (let x = 0; x < target.widthPx; x += LARGEST_CELL) {
        stack.push(
          x,
          y,
          Math.min(LARGEST_CELL, target.widthPx - x),
          Math.min(LARGEST_CELL, to - y),
        );
        while (stack.length > 0) {
          const h = stack.pop()!;
          const w = stack.pop()!;
          const top = stack.pop()!;
          settle(stack.pop()!, top, w, h);
        }
      }
    }
    return { count, cells, kinds };
  };
}

function grown<T extends Float64Array | Uint8Array>(old: T, larger: T): T {
  larger.set(old);
  return larger;
}

/** Factors of the polynomials through nine nodes; rows of nodes from the top. */
function factors(nodes: Float64Array, w: number, h: number, out: Float64Array, o: number): void {
  for (let axis = 0; axis < 2; axis++) {
    for (let j = 0; j < 3; j++) {
      const n = 9 * axis + 3 * j;
      const [before, middle, behind] = [nodes[n]!, nodes[n + 1]!, nodes[n + 2]!];
      ROW[3 * j] = middle;
      ROW[3 * j + 1] = (behind - before) / w;
      ROW[3 * j + 2] = (2 * (behind - 2 * middle + before)) / (w * w);
    }
    for (let i = 0; i < 3; i++) {
      const [above, middle, below] = [ROW[i]!, ROW[3 + i]!, ROW[6 + i]!];
      out[o + 9 * axis + i] = middle;
      out[o + 9 * axis + 3 + i] = (below - above) / h;
      out[o + 9 * axis + 6 + i] = (2 * (below - 2 * middle + above)) / (h * h);
    }
  }
}

const ROW = new Float64Array(9);

/**
 * Whether the polynomials stay inside the picture: they lie within the hull of their nine control
 * points, which are the nodes but for the middle ones, twice as far from the mean of their neighbours.
 */
function inside(nodes: Float64Array, { widthPx, heightPx }: EyePicture): boolean {
  for (let axis = 0; axis < 2; axis++) {
    const most = axis === 0 ? widthPx : heightPx;
    for (let j = 0; j < 3; j++) {
      for (let i = 0; i < 3; i++) {
        const value = controlPoint(nodes, 9 * axis, i, j);
        if (!(value > HAIR_PX && value < most - HAIR_PX)) return false;
      }
    }
  }
  return true;
}

/** More than a place strays. */
const HAIR_PX = 0.02;

/** Control points of Bernstein's form: b₁ = 2 f₁ − (f₀ + f₂)/2, along rows and columns. */
function controlPoint(nodes: Float64Array, n: number, i: number, j: number): number {
  const along = (row: number) => {
    const k = n + 3 * row;
    return i === 1 ? 2 * nodes[k + 1]! - (nodes[k]! + nodes[k + 2]!) / 2 : nodes[k + i]!;
  };
  return j === 1 ? 2 * along(1) - (along(0) + along(2)) / 2 : along(j);
}

/** Whether the nodes lie so far apart that a filter may be widened between them. */
function shrinks(nodes: Float64Array, w: number, h: number, crowding: Crowding): boolean {
  let widest = 0;
  for (let k = 9; k < 18; k++) widest = Math.max(widest, crowding(nodes[k]!, SLOPES));
  for (let axis = 0; axis < 2; axis++) {
    let [across, down] = [0, 0];
    for (let k = 0; k < 3; k++) {
      const [row, column] = [9 * axis + 3 * k, 9 * axis + k];
      for (let s = 0; s < 2; s++) {
        across = Math.max(across, Math.abs(nodes[row + s + 1]! - nodes[row + s]!) / (w / 2));
        down = Math.max(
          down,
          Math.abs(nodes[column + 3 * s + 3]! - nodes[column + 3 * s]!) / (h / 2),
        );
      }
    }
    const scale = Math.hypot(across, down) * (axis === 0 ? widest : 1);
    if (scale > SHRINKING) return true;
  }
  return false;
}

const SLOPES = new Float64Array(3);

/** A little below the scale from which a filter widens. */
const SHRINKING = 1.2;
