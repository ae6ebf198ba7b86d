import type { Plane } from './pixelFormat.js';
import { MARGIN } from './sourcePlane.js';
import type { EyePicture } from './stereoFrame.js';

/**
 * A cell of the mesh as one plane's samples see it, {@link RECORD_LENGTH} numbers: first column, first
 * row, columns and rows of samples; U and V of the first sample; then nine pairs of factors, across and
 * down, that give the place in the source's plane with its margin, samples; then the place down at the
 * cell's middle and three factors of {@link Crowding} by the distance from it.
 */
export const RECORD_LENGTH = 28;

/**
 * How wide a sample of a half-equirect is against one at its equator, the cosine of the latitude: towards
 * the poles the same picture lies on ever more samples, and those who skip some of them miss nothing. A
 * fisheye crowds nowhere.
 *
 * @param down - pixels from the upper edge of the source
 * @param out - takes its first two derivatives there, at 1 and 2
 * @returns the value
 */
export type Crowding = (down: number, out: Float64Array) => number;

/** The crowding of a source. */
export function crowdingOf({ image, heightPx }: EyePicture): Crowding {
  if (image.projection === 'fisheye') {
    return (_, out) => {
      out[1] = 0;
      out[2] = 0;
      return 1;
    };
  }
  const perRow = Math.PI / heightPx;
  return (down, out) => {
    const latitude = Math.PI / 2 - down * perRow;
    const cosine = Math.cos(latitude);
    out[1] = perRow * Math.sin(latitude);
    out[2] = -perRow * perRow * cosine;
    return cosine;
  };
}

/** The samples of a plane that lie in a cell. */
export interface CellSamples {
  /** First column of the eye's part, and the one behind the last. */
  left: number;
  right: number;
  /** First row, and the one behind the last. */
  top: number;
  bottom: number;
}

const SLOPES = new Float64Array(3);

/** Samples whose middles lie inside a cell: each belongs to one cell. */
export function samplesOf(
  cells: Float64Array,
  c: number,
  { first, step }: Plane,
  width: number,
  height: number,
  out: CellSamples,
): void {
  const [x, y, w, h] = [cells[c]!, cells[c + 1]!, cells[c + 2]!, cells[c + 3]!];
  out.left = Math.max(0, Math.ceil((x - first[0]) / step[0]));
  out.right = Math.min(width, Math.ceil((x + w - first[0]) / step[0]));
  out.top = Math.max(0, Math.ceil((y - first[1]) / step[1]));
  out.bottom = Math.min(height, Math.ceil((y + h - first[1]) / step[1]));
}

/** Writes the record of a cell at `o`. */
export function writeRecord(
  cells: Float64Array,
  c: number,
  { left, right, top, bottom }: CellSamples,
  { first, step }: Plane,
  crowding: Crowding,
  records: Float64Array,
  o: number,
): void {
  records[o] = left;
  records[o + 1] = top;
  records[o + 2] = right - left;
  records[o + 3] = bottom - top;
  records[o + 4] = first[0] + left * step[0] - (cells[c]! + cells[c + 2]! / 2);
  records[o + 5] = first[1] + top * step[1] - (cells[c + 1]! + cells[c + 3]! / 2);
  const [acrossStep, downStep] = step;
  for (let k = 0; k < 9; k++) {
    records[o + 6 + 2 * k] = cells[c + 4 + k]! / acrossStep;
    records[o + 7 + 2 * k] = cells[c + 13 + k]! / downStep;
  }
  records[o + 6]! += MARGIN - first[0] / acrossStep;
  records[o + 7]! += MARGIN - first[1] / downStep;
  records[o + 24] = records[o + 7]!;
  records[o + 25] = crowding(cells[c + 13]!, SLOPES);
  records[o + 26] = SLOPES[1]! * downStep;
  records[o + 27] = (SLOPES[2]! * downStep * downStep) / 2;
}

/**
 * The largest scale within a cell: samples of the source that one sample of the view can span, across
 * (less their crowding) or down, from the absolute values of the factors.
 */
export function largestScale(
  records: Float64Array,
  o: number,
  cells: Float64Array,
  c: number,
  { step }: Plane,
): number {
  const [u, v] = [cells[c + 2]! / 2, cells[c + 3]! / 2];
  const [x, y] = [o + 6, o + 7];
  const acrossX = slopeAcross(records, x, u, v);
  const downX = slopeDown(records, x, u, v);
  const acrossY = slopeAcross(records, y, u, v);
  const downY = slopeDown(records, y, u, v);
  const away = u * acrossY + v * downY;
  const crowding =
    Math.abs(records[o + 25]!) +
    away * (Math.abs(records[o + 26]!) + away * Math.abs(records[o + 27]!));
  const wide = (step[0] * acrossX) ** 2 + (step[1] * downX) ** 2;
  const high = (step[0] * acrossY) ** 2 + (step[1] * downY) ** 2;
  return Math.max(Math.sqrt(wide) * Math.min(1, crowding), Math.sqrt(high));
}

/** Bound of a polynomial's slope along U, from the absolute values of its factors. */
function slopeAcross(f: Float64Array, o: number, u: number, v: number): number {
  return (
    Math.abs(f[o + 2]!) +
    2 * u * Math.abs(f[o + 4]!) +
    v * (Math.abs(f[o + 8]!) + 2 * u * Math.abs(f[o + 10]!)) +
    v * v * (Math.abs(f[o + 14]!) + 2 * u * Math.abs(f[o + 16]!))
  );
}

/** The same along V. */
function slopeDown(f: Float64Array, o: number, u: number, v: number): number {
  return (
    Math.abs(f[o + 6]!) +
    u * Math.abs(f[o + 8]!) +
    u * u * Math.abs(f[o + 10]!) +
    2 * v * (Math.abs(f[o + 12]!) + u * Math.abs(f[o + 14]!) + u * u * Math.abs(f[o + 16]!))
  );
}

/** Where the mesh finds a point of the view in the source, pixels; U and V from the cell's middle. */
export function placeInCell(
  cells: Float64Array,
  c: number,
  u: number,
  v: number,
  at: Float64Array,
): void {
  for (let axis = 0; axis < 2; axis++) {
    const f = c + 4 + 9 * axis;
    const a = cells[f]! + v * (cells[f + 3]! + v * cells[f + 6]!);
    const b = cells[f + 1]! + v * (cells[f + 4]! + v * cells[f + 7]!);
    const d = cells[f + 2]! + v * (cells[f + 5]! + v * cells[f + 8]!);
    at[axis] = a + u * (b + u * d);
  }
}
