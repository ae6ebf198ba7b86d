import type { Grey } from './browser.js';

/** A part of a picture, px; from inclusive, to exclusive. */
export interface Part {
  readonly from: number;
  readonly to: number;
}

/** A straight line through points of a picture whose x grows right and y down, px. */
export interface FittedLine {
  /** Degrees; positive where the right end lies lower, as a roll that lowers the left side shows. */
  readonly tiltDeg: number;
  /** Height at the middle of the part, px. */
  readonly middle: number;
  /** Root mean square of the points' distances, px. */
  readonly rms: number;
  readonly points: number;
}

/**
 * The line at which the walls of the preview's room change tone, light above and dark below: the
 * first fall through the mean tone, column by column, within 11° of the middle of the height: above
 * that are roof and ribs, below come the benches.
 *
 * @param fieldDeg - what the whole height of the picture shows
 */
export function wallEdge(picture: Grey, part: Part, fieldDeg: number): FittedLine {
  const { width, height, values } = picture;
  const reach =
    ((Math.tan((11 * Math.PI) / 180) / Math.tan((fieldDeg * Math.PI) / 360)) * height) / 2;
  const [top, bottom] = [Math.round(height / 2 - reach), Math.round(height / 2 + reach)];
  const points: [number, number][] = [];
  for (let x = part.from; x < part.to; x++) {
    const at = (y: number) => values[y * width + x]!;
    let y = top;
    if (at(y) < WALL_TONE) continue;
    while (y < bottom && at(y) >= WALL_TONE) y++;
    if (y === bottom) continue;
    points.push([x, y - 0.5 + (at(y - 1) - WALL_TONE) / (at(y - 1) - at(y))]);
  }
  return lineThrough(points, part);
}

/** Between the walls' tones #8fa7b8, #7690a3 and #22352c: 163, 140 and 48 of 255. */
const WALL_TONE = 100;

/** A bright line on a dark ground, at its centre of light near a place where it is expected. */
export function brightLine(picture: Grey, part: Part, rows: Part, ground: number): FittedLine {
  const { width, values } = picture;
  const points: [number, number][] = [];
  for (let x = part.from; x < part.to; x++) {
    let [light, moment] = [0, 0];
    for (let y = rows.from; y < rows.to; y++) {
      const value = Math.max(0, values[y * width + x]! - ground);
      light += value;
      moment += value * (y + 0.5);
    }
    if (light > 0) points.push([x, moment / light]);
  }
  return lineThrough(points, part);
}

function lineThrough(points: readonly [number, number][], { from, to }: Part): FittedLine {
  const n = points.length;
  const middleX = (from + to - 1) / 2;
  const meanX = points.reduce((sum, [x]) => sum + x, 0) / n;
  const meanY = points.reduce((sum, [, y]) => sum + y, 0) / n;
  let [xx, xy] = [0, 0];
  for (const [x, y] of points) {
    xx += (x - meanX) ** 2;
    xy += (x - meanX) * (y - meanY);
  }
  const slope = xy / xx;
  const left = points.map(([x, y]) => y - meanY - slope * (x - meanX));
  return {
    tiltDeg: (Math.atan(slope) * 180) / Math.PI,
    middle: meanY + slope * (middleX - meanX),
    rms: Math.sqrt(left.reduce((sum, value) => sum + value * value, 0) / n),
    points: n,
  };
}
