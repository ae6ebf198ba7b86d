import type { CorrectionResult } from '../../src/correct.js';
import type { ResamplingFilter } from '../../src/picture/filters.js';
import { type PixelFormat, type Plane, planesOf } from '../../src/picture/pixelFormat.js';
import { raysOf, trace } from '../../src/picture/rays.js';
import {
  type EyeName,
  type EyePicture,
  eyePicture,
  eyeRectangle,
  type StereoFrame,
} from '../../src/picture/stereoFrame.js';

/**
 * The slow and plain way to a corrected frame: a ray of its own for every sample, the filter's weights
 * from their formulas in double precision, the mask by its angle. Only the rays are the library's,
 * which other tests hold against independent formulas.
 */
export function referenceFrame(
  result: CorrectionResult,
  k: number,
  frame: Uint8Array,
  options: {
    readonly source: StereoFrame;
    readonly target: StereoFrame;
    readonly format: PixelFormat;
    readonly filter: ResamplingFilter;
    readonly mask?: boolean;
  },
): Float64Array[] {
  const { source, target, format, filter } = options;
  const mask = options.mask === false ? undefined : result.mask;
  const sourcePlanes = planesOf(format, source.widthPx, source.heightPx);
  const at = new Float64Array(2);
  const view = new Float64Array(3);
  return planesOf(format, target.widthPx, target.heightPx).map((plane, p) => {
    const out = new Float64Array(plane.width * plane.height);
    for (const eye of ['left', 'right'] as const) {
      const lens: EyeName = result.swapEyes ? (eye === 'left' ? 'right' : 'left') : eye;
      const picture = eyePicture(source, lens);
      const rays = raysOf(result)(k, lens, eyePicture(target, eye), picture);
      const value = sampler(frame, source, lens, picture, sourcePlanes[p]!, format);
      const into = eyeRectangle(target, eye);
      const [left, top] = [into.x / plane.step[0], into.y / plane.step[1]];
      const find = (x: number, y: number) => {
        const found = new Float64Array(2);
        trace(rays, x, y, found);
        return found;
      };
      for (let j = 0; j < into.heightPx / plane.step[1]; j++) {
        for (let i = 0; i < into.widthPx / plane.step[0]; i++) {
          const x = plane.first[0] + i * plane.step[0];
          const y = plane.first[1] + j * plane.step[1];
          let code = plane.black;
          if (trace(rays, x, y, at)) {
            const span = [0, 1].map((axis) => {
              const [dx, dy] = [plane.step[0] / 2, plane.step[1] / 2];
              const across = find(x + dx, y)[axis]! - find(x - dx, y)[axis]!;
              const down = find(x, y + dy)[axis]! - find(x, y - dy)[axis]!;
              const spanned = Math.hypot(across, down) / plane.step[axis]!;
              if (axis === 1 || picture.image.projection === 'fisheye') return spanned;
              // Towards the poles a half-equirect holds the same picture on more samples.
              return spanned * Math.cos((0.5 - at[1]! / picture.heightPx) * Math.PI);
            });
            const place = [0, 1].map(
              (axis) => (at[axis]! - plane.first[axis]!) / plane.step[axis]!,
            );
            code = weighted(value, filter, place, span.map(wider));
          }
          if (mask) {
            rays.look(x, y, view);
            const [a, b, c] = mask.centre;
            const angle = Math.atan2(
              Math.hypot(
                b * view[2]! - c * view[1]!,
                c * view[0]! - a * view[2]!,
                a * view[1]! - b * view[0]!,
              ),
              a * view[0]! + b * view[1]! + c * view[2]!,
            );
            const soft = mask.opaqueFrom - mask.clearUpTo;
            const u = Math.min(1, Math.max(0, (mask.opaqueFrom - angle) / soft));
            code = plane.black + (3 * u ** 2 - 2 * u ** 3) * (code - plane.black);
          }
          out[(top + j) * plane.width + left + i] = Math.min(
            Math.max(code, 0),
            2 ** format.bits - 1,
          );
        }
      }
    }
    return out;
  });
}

/** A sample of an eye's part by column and row; black outside it and outside a fisheye's circle. */
function sampler(
  frame: Uint8Array,
  source: StereoFrame,
  lens: EyeName,
  { image, widthPx, heightPx }: EyePicture,
  plane: Plane,
  format: PixelFormat,
): (i: number, j: number) => number {
  const { x, y } = eyeRectangle(source, lens);
  const circle =
    image.projection === 'fisheye'
      ? (image.circle ?? {
          centrePx: [widthPx / 2, heightPx / 2] as const,
          diameterPx: Math.min(widthPx, heightPx),
        })
      : undefined;
  return (i, j) => {
    if (i < 0 || j < 0 || i >= widthPx / plane.step[0] || j >= heightPx / plane.step[1]) {
      return plane.black;
    }
    if (circle) {
      const px = plane.first[0] + i * plane.step[0] - circle.centrePx[0];
      const py = plane.first[1] + j * plane.step[1] - circle.centrePx[1];
      if (Math.hypot(px, py) > circle.diameterPx / 2) return plane.black;
    }
    const index = (y / plane.step[1] + j) * plane.width + x / plane.step[0] + i;
    const byte = plane.offset + index * format.bytesPerSample;
    return format.bytesPerSample === 1 ? frame[byte]! : frame[byte]! + 256 * frame[byte + 1]!;
  };
}

/** Not widened up to 1.25 samples, as wide as the map shrinks from 1.5 on, in a line between. */
const wider = (span: number) =>
  span < 1.25 ? 1 : span > 1.5 ? span : 1 + ((span - 1.25) / 0.25) * 0.5;

function weighted(
  value: (i: number, j: number) => number,
  filter: ResamplingFilter,
  place: readonly number[],
  wide: readonly number[],
): number {
  const reach = { bilinear: 1, bicubic: 2, lanczos3: 3 }[filter];
  const weights = place.map((centre, axis) => {
    const from = Math.floor(centre - reach * wide[axis]!);
    const to = Math.ceil(centre + reach * wide[axis]!);
    const list = Array.from({ length: to - from + 1 }, (_, n) => ({
      at: from + n,
      weight: weightOf(filter, Math.abs(from + n - centre) / wide[axis]!),
    }));
    const sum = list.reduce((total, { weight }) => total + weight, 0);
    return list.map(({ at, weight }) => ({ at, weight: weight / sum }));
  });
  let sum = 0;
  for (const row of weights[1]!) {
    for (const column of weights[0]!) {
      if (row.weight !== 0 && column.weight !== 0) {
        sum += row.weight * column.weight * value(column.at, row.at);
      }
    }
  }
  return sum;
}

/** The kernels as published: Keys 1981, eq. (4) with a = −½; Duchon 1979. */
function weightOf(filter: ResamplingFilter, t: number): number {
  switch (filter) {
    case 'bilinear':
      return Math.max(0, 1 - t);
    case 'bicubic':
      if (t < 1) return 1.5 * t ** 3 - 2.5 * t ** 2 + 1;
      return t < 2 ? -0.5 * t ** 3 + 2.5 * t ** 2 - 4 * t + 2 : 0;
    case 'lanczos3': {
      if (t >= 3) return 0;
      const sinc = (a: number) => (a === 0 ? 1 : Math.sin(Math.PI * a) / (Math.PI * a));
      return sinc(t) * sinc(t / 3);
    }
  }
}

/** The planes of a made frame as numbers. */
export function planesIn(
  frame: Uint8Array,
  frameSize: StereoFrame,
  format: PixelFormat,
): number[][] {
  return planesOf(format, frameSize.widthPx, frameSize.heightPx).map(({ offset, width, height }) =>
    Array.from({ length: width * height }, (_, i) =>
      format.bytesPerSample === 1
        ? frame[offset + i]!
        : frame[offset + 2 * i]! + 256 * frame[offset + 2 * i + 1]!,
    ),
  );
}
