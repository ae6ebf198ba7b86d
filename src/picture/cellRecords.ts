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
 * @returns the value there and its first two derivatives
 */
export type Crowding = (down: number) => readonly [number, number, number];

/** The crowding of a source. */
export function crowdingOf({ image, heightPx }: EyePicture): Crowding {
  if (image.projection === 'fisheye') return () => [1, 0, 0];
  const perRow = Math.PI / heightPx;
  return (down) => {
    const latitude = Math.PI / 2 - down * perRow;
    const cosine = Math.cos(latitude);
    return [cosine, perRow * Math.sin(latitude), -perRow * perRow * cosine];
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
  const [value, slope, bend] = crowding(cells[c + 13]!);
  records[o + 24] = records[o + 7]!;
  records[o + 25] = value;
  records[o + 26] = slope * downStep;
  records[o + 27] = (bend * downStep * downStep) / 2;
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
  let [largest, away] = [0, 0];
  for (let axis = 1; axis >= 0; axis--) {
    const f = (k: number) => Math.abs(records[o + 6 + 2 * k + axis]!);
    const across = f(1) + 2 * u * f(2) + v * (f(4) + 2 * u * f(5)) + v * v * (f(7) + 2 * u * f(8));
    const down = f(3) + u * f(4) + u * u * f(5) + 2 * v * (f(6) + u * f(7) + u * u * f(8));
    let scale = Math.hypot(step[0] * across, step[1] * down);
    if (axis === 1) away = u * across + v * down;
    else {
      const [value, slope, bend] = [25, 26, 27].map((k) => Math.abs(records[o + k]!));
      scale *= Math.min(1, value! + away * (slope! + away * bend!));
    }
    largest = Math.max(largest, scale);
  }
  return largest;
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
