import type { Plane } from './pixelFormat.js';
import { circleOf, type EyePicture, type EyeRectangle } from './stereoFrame.js';

/** Samples of one plane. */
export type Samples = Uint8Array | Uint16Array;

/**
 * One eye's part of a plane with a black margin around it, so that no filter asks where the picture
 * ends and none reaches into the other eye.
 */
export interface SourcePlane {
  /** Rows from the top, the margin's among them. */
  readonly samples: Samples;
  /** Samples from one row to the next, margins included. */
  readonly stride: number;
  /** Rows, margins included. */
  readonly rows: number;
  /** Samples of an eye's row, and rows of an eye. */
  readonly width: number;
  readonly height: number;
  readonly black: number;
}

/** Wider than the widest filter of an unshrunk picture, which reads six samples. */
export const MARGIN = 8;

/** Where an eye's part of a plane lies: the column and row of its first sample, and how many. */
export interface PlanePart {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

/** The part of a plane that an eye's rectangle holds. */
export function partOf({ step }: Plane, { x, y, widthPx, heightPx }: EyeRectangle): PlanePart {
  return { x: x / step[0], y: y / step[1], width: widthPx / step[0], height: heightPx / step[1] };
}

/** How many samples an eye's part takes with its margin. */
export function paddedLength({ width, height }: Pick<PlanePart, 'width' | 'height'>): number {
  return (width + 2 * MARGIN) * (height + 2 * MARGIN);
}

/**
 * Copies an eye's part out of a frame's plane: black around it and outside a fisheye's circle.
 *
 * @param out - at least {@link paddedLength} samples
 * @param samples - the whole plane
 */
export function loadPlane(
  out: Samples,
  samples: Samples,
  plane: Plane,
  part: PlanePart,
  eye: EyePicture,
): SourcePlane {
  const { width, height } = part;
  const { black } = plane;
  const stride = width + 2 * MARGIN;
  out.fill(black, 0, MARGIN * stride);
  for (let row = 0; row < height; row++) {
    const [from, to] = lit(row, plane, width, eye);
    const start = (MARGIN + row) * stride + MARGIN;
    const first = (part.y + row) * plane.width + part.x;
    out.fill(black, start - MARGIN, start + from);
    if (to > from) out.set(samples.subarray(first + from, first + to), start + from);
    out.fill(black, start + Math.max(from, to), start + width + MARGIN);
  }
  out.fill(black, (MARGIN + height) * stride, (height + 2 * MARGIN) * stride);
  return { samples: out, stride, rows: height + 2 * MARGIN, width, height, black };
}

/** The samples of a row whose middles lie inside the circle: the first, and the one behind the last. */
function lit(
  row: number,
  { step, first }: Plane,
  width: number,
  eye: EyePicture,
): [number, number] {
  if (eye.image.projection !== 'fisheye') return [0, width];
  const { centrePx, diameterPx } = circleOf(eye);
  const down = first[1] + row * step[1] - centrePx[1];
  const square = (diameterPx / 2) ** 2 - down * down;
  if (square < 0) return [0, 0];
  const half = Math.sqrt(square);
  const from = Math.ceil((centrePx[0] - half - first[0]) / step[0]);
  const to = Math.floor((centrePx[0] + half - first[0]) / step[0]) + 1;
  return [Math.min(Math.max(from, 0), width), Math.min(Math.max(to, 0), width)];
}

/**
 * The value of a plane at a place: the weighted mean of the samples around it.
 *
 * @param x - samples from the eye's left edge; the middle of the first lies at ½
 * @param y - samples from the eye's upper edge
 * @param wide - how much wider the filter is across, 1 and more
 * @param high - how much wider it is down
 * @returns a code, not rounded
 */
export function filteredAt(
  { samples, stride, width, height, black }: SourcePlane,
  filter: { readonly radius: number; readonly weight: (distance: number) => number },
  x: number,
  y: number,
  wide: number,
  high: number,
): number {
  const { radius, weight } = filter;
  const left = Math.ceil(x - 0.5 - radius * wide);
  const right = Math.floor(x - 0.5 + radius * wide);
  const top = Math.ceil(y - 0.5 - radius * high);
  const bottom = Math.floor(y - 0.5 + radius * high);
  let sum = 0;
  let across = 0;
  let down = 0;
  for (let i = left; i <= right; i++) {
    const w = weight((i + 0.5 - x) / wide);
    across += w;
    WEIGHTS[i - left] = w;
  }
  const [from, to] = [Math.max(left, 0), Math.min(right, width - 1)];
  for (let j = top; j <= bottom; j++) {
    const w = weight((j + 0.5 - y) / high);
    down += w;
    if (j < 0 || j >= height) continue;
    const start = (MARGIN + j) * stride + MARGIN;
    let line = 0;
    // Counted from black, samples outside the picture add nothing.
    for (let i = from; i <= to; i++) line += WEIGHTS[i - left]! * (samples[start + i]! - black);
    sum += w * line;
  }
  return black + sum / (across * down);
}

/** Weights of a row; at a pole a filter may reach over the whole width of the largest frame. */
const WEIGHTS = new Float64Array(2 ** 19);
