import type { Quaternion } from '../../src/rotation/quaternion.js';
import { apply, matrixOf, transposed } from './results.js';
import { directionAt, EYES, type Eye, type Lens, type Point, placeOf, renderEye } from './room.js';
import { type Picture, TILE_MIDDLES, tilePatch, tileShift } from './tileShift.js';

/** One tile of a steadied picture beside the ideal one. */
export interface Residual {
  readonly frame: number;
  readonly eye: Eye;
  /** Shift from the ideal picture, px right and down. */
  readonly measured: Point;
  /** The same as geometry foretells it for v360's grid. */
  readonly foretold: Point;
}

/** What the steadied pictures should show. */
export interface Ideal {
  readonly sizePx: number;
  /** S at a frame: the ideal view is a half-equirect rendered with it. */
  readonly wanted: (frame: number) => Quaternion;
  /** The eye's own K at a frame. */
  readonly correction: (frame: number, eye: Eye) => Quaternion;
  /** The picture that was turned. */
  readonly source: Lens;
}

/** Shifts of all tiles of both eyes in the given frames. */
export function residualsOf(
  frames: readonly number[],
  pictureOf: (frame: number, eye: Eye) => Picture,
  ideal: Ideal,
  start?: (frame: number, eye: Eye, middle: Point) => Point,
): Residual[] {
  const { sizePx, wanted, correction, source } = ideal;
  return frames.flatMap((frame) =>
    EYES.flatMap((eye) => {
      const picture = pictureOf(frame, eye);
      const k = correction(frame, eye);
      return TILE_MIDDLES.map((middle): Residual => {
        const patch = tilePatch(middle, sizePx);
        const view = renderEye(eye, wanted(frame), 'half-equirect', sizePx, patch);
        const measured = tileShift(picture, view, patch, start?.(frame, eye, middle));
        return { frame, eye, measured, foretold: gridShift(source, sizePx, k, middle) };
      });
    }),
  );
}

/**
 * Shift by v360's grid. The middle of its output pixel i lies at (i + ½)/N of the view, but it
 * looks a place u of the source (0 to 1) up at pixel u(N − 1), not at uN − ½: it samples ½ − u
 * pixels too far, across and down (measured with ffmpeg 5.1 on a ramp). The view moves by as much
 * as the source does there.
 */
function gridShift(source: Lens, sizePx: number, correction: Quaternion, [u, v]: Point): Point {
  const inverse = transposed(matrixOf(correction));
  const sourceOf = ([x, y]: Point) =>
    placeOf(source, sizePx, apply(inverse, [...directionAt('half-equirect', sizePx, [x, y])]));
  const [x, y] = [u * sizePx, v * sizePx];
  const at = sourceOf([x, y]);
  const [left, right] = [sourceOf([x - 0.5, y]), sourceOf([x + 0.5, y])];
  const [above, below] = [sourceOf([x, y - 0.5]), sourceOf([x, y + 0.5])];
  const [ex, ey] = [0.5 - at[0] / sizePx, 0.5 - at[1] / sizePx];
  const [xx, yx] = [right[0] - left[0], right[1] - left[1]];
  const [xy, yy] = [below[0] - above[0], below[1] - above[1]];
  const determinant = xx * yy - xy * yx;
  return [(yy * ex - xy * ey) / determinant, (xx * ey - yx * ex) / determinant];
}

/** Shift of an untouched half-equirect picture from the ideal view: K moves what it shows. */
export function untouchedShift(sizePx: number, correction: Quaternion, [u, v]: Point): Point {
  const place: Point = [u * sizePx, v * sizePx];
  const view = apply(matrixOf(correction), [...directionAt('half-equirect', sizePx, place)]);
  const [x, y] = placeOf('half-equirect', sizePx, view);
  return [x - place[0], y - place[1]];
}

/** Per frame: root mean square of the tiles of both eyes, px. */
export function rmsPerFrame(residuals: readonly Residual[]): number[] {
  const frames = new Map<number, number[]>();
  for (const { frame, measured } of residuals) {
    const squares = frames.get(frame) ?? [];
    squares.push(measured[0] ** 2 + measured[1] ** 2);
    frames.set(frame, squares);
  }
  return [...frames.values()].map((squares) =>
    Math.sqrt(squares.reduce((a, b) => a + b) / squares.length),
  );
}

/** Measured less foretold. */
export function beyondGrid({ measured, foretold }: Residual): Point {
  return [measured[0] - foretold[0], measured[1] - foretold[1]];
}
