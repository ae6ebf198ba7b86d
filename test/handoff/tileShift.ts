import type { Patch, Point } from './room.js';

/**
 * How far a picture lies from an ideal one, tile by tile, by the method of Lucas and Kanade in its
 * inverse form (Baker and Matthews, "Lucas-Kanade 20 years on", IJCV 56(3), 2004, section 3.2):
 * the gradients are the ideal picture's, and the steps repeat until the two agree.
 */

/** One eye's picture, brightness row by row, square. */
export interface Picture {
  readonly sizePx: number;
  readonly light: ArrayLike<number>;
}

/** Nine tiles, an eighth of the picture wide, with their middles at 5, 8 and 11 sixteenths. */
const TILE_SHARE = 1 / 8;
export const TILE_MIDDLES: readonly Point[] = [5, 8, 11].flatMap((row) =>
  [5, 8, 11].map((column): Point => [column / 16, row / 16]),
);

/** The corners of the tile around a middle. */
export function tileCorners([x, y]: Point): Point[] {
  const half = TILE_SHARE / 2;
  return [-half, half].flatMap((dx) => [-half, half].map((dy): Point => [x + dx, y + dy]));
}

/** The tile around a middle, with a margin of one pixel for the gradients. */
export function tilePatch([x, y]: Point, sizePx: number): Patch {
  const width = Math.round(TILE_SHARE * sizePx);
  return {
    x: Math.round(x * sizePx - width / 2) - 1,
    y: Math.round(y * sizePx - width / 2) - 1,
    widthPx: width + 2,
    heightPx: width + 2,
  };
}

/** Steps end below a thousandth of a pixel, or when they do not settle. */
const SETTLED_PX = 1e-3;
const MOST_STEPS = 40;

/**
 * The shift d, px right and down, with which the picture at a point shows what the ideal shows at
 * the point plus d.
 *
 * @param ideal - brightness of the tile and its margin
 * @param start - where the search begins; needed beyond about a third of the texture's wavelength
 */
export function tileShift(
  picture: Picture,
  ideal: Float64Array,
  { x, y, widthPx, heightPx }: Patch,
  start: Point = [0, 0],
): Point {
  let [dx, dy] = start;
  let [hxx, hxy, hyy] = [0, 0, 0];
  forInside(widthPx, heightPx, (i) => {
    const gx = (ideal[i + 1]! - ideal[i - 1]!) / 2;
    const gy = (ideal[i + widthPx]! - ideal[i - widthPx]!) / 2;
    hxx += gx * gx;
    hxy += gx * gy;
    hyy += gy * gy;
  });
  const determinant = hxx * hyy - hxy * hxy;
  for (let step = 0; step < MOST_STEPS; step++) {
    let [bx, by] = [0, 0];
    forInside(widthPx, heightPx, (i, column, row) => {
      const gap = lightAt(picture, x + column + 0.5 - dx, y + row + 0.5 - dy) - ideal[i]!;
      bx += (gap * (ideal[i + 1]! - ideal[i - 1]!)) / 2;
      by += (gap * (ideal[i + widthPx]! - ideal[i - widthPx]!)) / 2;
    });
    const [stepX, stepY] = [
      (hyy * bx - hxy * by) / determinant,
      (hxx * by - hxy * bx) / determinant,
    ];
    dx += stepX;
    dy += stepY;
    if (Math.hypot(stepX, stepY) < SETTLED_PX) return [dx, dy];
  }
  return [dx, dy];
}

function forInside(
  width: number,
  height: number,
  visit: (index: number, column: number, row: number) => void,
): void {
  for (let row = 1; row < height - 1; row++) {
    for (let column = 1; column < width - 1; column++) visit(row * width + column, column, row);
  }
}

/**
 * Brightness at a point, by cubic polynomials through 4 × 4 pixels; edge pixels go on outside.
 *
 * @param x - pixels from the left edge; the middle of the first pixel lies at ½
 */
export function lightAt({ sizePx, light }: Picture, x: number, y: number): number {
  const [column, row] = [Math.floor(x - 0.5), Math.floor(y - 0.5)];
  const across = cubicWeights(x - 0.5 - column);
  const down = cubicWeights(y - 0.5 - row);
  const inside = (k: number) => Math.min(Math.max(k, 0), sizePx - 1);
  let sum = 0;
  for (let j = 0; j < 4; j++) {
    const start = inside(row + j - 1) * sizePx;
    let line = 0;
    for (let i = 0; i < 4; i++) line += across[i]! * light[start + inside(column + i - 1)]!;
    sum += down[j]! * line;
  }
  return sum;
}

/** Lagrange's weights of the values at −1, 0, 1, 2 for a place between 0 and 1. */
function cubicWeights(t: number): readonly [number, number, number, number] {
  return [
    (-t * (t - 1) * (t - 2)) / 6,
    ((t + 1) * (t - 1) * (t - 2)) / 2,
    (-(t + 1) * t * (t - 2)) / 2,
    ((t + 1) * t * (t - 1)) / 6,
  ];
}

/** Root mean square of the lengths of shifts, px; the longest of them, px. */
export function rmsOf(shifts: readonly Point[]): number {
  return Math.sqrt(shifts.reduce((sum, [x, y]) => sum + x * x + y * y, 0) / shifts.length);
}

export function longestOf(shifts: readonly Point[]): number {
  return Math.max(...shifts.map(([x, y]) => Math.hypot(x, y)));
}
