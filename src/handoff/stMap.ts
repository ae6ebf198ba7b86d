import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import { maskShare } from '../picture/mask.js';
import { raysOf } from '../picture/rays.js';
import type { EyePicture } from '../picture/stereoFrame.js';
import type { ImageCircle } from '../rig/lens.js';
import type { StereoRig } from '../rig/stereoRig.js';
import {
  invertQuaternion,
  type Quaternion,
  rotateVector,
  type Vector3,
} from '../rotation/quaternion.js';
import { requireSoundResult } from './soundResult.js';

/** One eye's source picture: a half-equirect, or the fisheye of the rig's lens. */
export type EyeSource =
  | {
      /** Half a sphere, 180° by 180°. */
      readonly projection: 'half-equirect';
    }
  | {
      /** What the rig's lens draws. */
      readonly projection: 'fisheye';
      /** Width of the eye's picture, pixels. */
      readonly widthPx: number;
      /** Height of the eye's picture, pixels. */
      readonly heightPx: number;
      /** Where the lens's circle lies in it; default: centred, as wide as the shorter side. */
      readonly circle?: ImageCircle;
    };

/** How to draw an ST map. */
export interface StMapOptions {
  /** Whose view; with `swapEyes` it is looked up in the other picture. */
  readonly eye: 'left' | 'right';
  /** Width of the map: one eye's corrected half-equirect view, pixels. */
  readonly widthPx: number;
  /** Height of the map, pixels. */
  readonly heightPx: number;
  /** The picture that is looked up. */
  readonly source: EyeSource;
  /** Where (0, 0) lies in the source: most compositors count from the bottom left (default). */
  readonly origin?: 'bottom-left' | 'top-left';
}

/**
 * Where each pixel of a corrected view is found in the source: an image of three planes, rows from
 * the top.
 */
export interface StMap {
  /** Pixels in a row. */
  readonly widthPx: number;
  /** Rows. */
  readonly heightPx: number;
  /** Place across the source, 0 at its left edge, 1 at its right edge; length width · height. */
  readonly s: Float32Array;
  /** Place along the source's height, counted from {@link StMapOptions.origin}. */
  readonly t: Float32Array;
  /** 1 where the lens saw the direction, 0 where not, between on the mask's soft edge. */
  readonly coverage: Float32Array;
}

/**
 * The ST map of one frame and eye: the whole correction (alignment, K, an upside-down mount and,
 * where the rig states a readout, the rolling shutter) as one look-up. Pixel (i, j) stands for its
 * middle, (i + ½)/width; so does a value s for the point s · width of the source. `eye` names the
 * lens; an eye swap is not in it: with `swapEyes` the right lens's map, looked up in the right
 * picture, gives the left view.
 *
 * @param result - of {@link index!correct}
 * @param k - index of the frame
 * @param options - which eye, how large, from which source
 * @returns 32-bit floats: half floats step by two pixels at 4096
 * @throws TwinkeelError `argument/invalid` for a frame outside the result, a map without pixels, or
 *   a fisheye source without a rig
 * @example
 * const source = { projection: 'half-equirect' } as const;
 * const map = toStMap(result, 0, { eye: 'left', widthPx: 64, heightPx: 32, source });
 * map.s.length; // 2048
 */
export function toStMap(result: CorrectionResult, k: number, options: StMapOptions): StMap {
  requireSoundResult(result);
  const { widthPx, heightPx, source, eye } = options;
  const n = result.corrections.times.length;
  if (!(Number.isInteger(k) && k >= 0 && k < n)) {
    throw invalid(`the frame index ${k}`, `0 to ${n - 1}`);
  }
  if (!(widthPx >= 1 && heightPx >= 1 && widthPx * heightPx <= LARGEST_MAP)) {
    throw invalid(`a map of ${widthPx} × ${heightPx}`, `up to ${LARGEST_MAP} pixels`);
  }
  const { rig } = result;
  if (source.projection === 'fisheye' && !rig) {
    throw invalid('a fisheye source and no rig', 'a rig description that states the lens');
  }
  const picture = pictureOf(source, rig);
  const view: EyePicture = { image: { projection: 'half-equirect' }, widthPx, heightPx };
  const { look, turn, place, sees } = raysOf(result)(k, eye, view, picture);
  const upwards = (options.origin ?? 'bottom-left') === 'bottom-left';
  const [s, t, coverage] = [0, 1, 2].map(() => new Float32Array(widthPx * heightPx)) as [
    Float32Array,
    Float32Array,
    Float32Array,
  ];
  const [looked, seen, at] = [3, 3, 2].map((length) => new Float64Array(length)) as [
    Float64Array,
    Float64Array,
    Float64Array,
  ];
  for (let j = 0, i = 0; j < heightPx; j++) {
    for (let column = 0; column < widthPx; column++, i++) {
      look(column + 0.5, j + 0.5, looked);
      turn(looked, seen);
      place(seen, at);
      const down = at[1]! / picture.heightPx;
      s[i] = at[0]! / picture.widthPx;
      t[i] = upwards ? 1 - down : down;
      coverage[i] = sees(seen, at) ? maskShare(result.mask, looked) : 0;
    }
  }
  return { widthPx, heightPx, s, t, coverage };
}

/** 16384 × 16384: a map beyond it is a slip of the pen. */
const LARGEST_MAP = 2 ** 28;

/** The picture that is looked up; places in half an equirect need no size. */
function pictureOf(source: EyeSource, rig: StereoRig | undefined): EyePicture {
  if (source.projection === 'half-equirect' || !rig) {
    return { image: { projection: 'half-equirect' }, widthPx: 1, heightPx: 1 };
  }
  const { widthPx, heightPx, circle } = source;
  const { mapping, fieldDeg } = rig.lens;
  return {
    image: { projection: 'fisheye', mapping, fieldDeg, ...(circle && { circle }) },
    widthPx,
    heightPx,
  };
}

/**
 * A small picture to try a map with: a half-sphere marked every 15°, each quarter in its own shade,
 * so that a swapped axis or a flipped row shows at once.
 *
 * @param sizePx - width and height, pixels
 * @param correction - rotates the marks; leave out for the untouched picture
 * @returns three planes like a map's: red, green, blue, 0 to 1
 * @example
 * checkPicture(64).s.length; // 4096
 */
export function checkPicture(sizePx: number, correction?: Quaternion): StMap {
  const planes = [0, 1, 2].map(() => new Float32Array(sizePx * sizePx));
  const back = correction && invertQuaternion(correction);
  for (let j = 0, i = 0; j < sizePx; j++) {
    const latitude = (0.5 - (j + 0.5) / sizePx) * Math.PI;
    for (let column = 0; column < sizePx; column++, i++) {
      const longitude = ((column + 0.5) / sizePx - 0.5) * Math.PI;
      const view: Vector3 = [
        Math.cos(latitude) * Math.sin(longitude),
        Math.sin(latitude),
        -Math.cos(latitude) * Math.cos(longitude),
      ];
      const [x, y, z] = back ? rotateVector(back, view) : view;
      const [lon, lat] = [Math.atan2(x, -z), Math.atan2(y, Math.hypot(x, z))];
      if (Math.abs(lon) > Math.PI / 2) continue;
      const off = (angle: number) => Math.abs(angle / MARK - Math.round(angle / MARK)) * MARK;
      const marked = Math.min(off(lon) * Math.cos(lat), off(lat)) < MARK_WIDTH;
      planes[0]![i] = marked ? 1 : lon < 0 ? 0.5 : 0.1;
      planes[1]![i] = marked ? 1 : lat > 0 ? 0.5 : 0.1;
      planes[2]![i] = marked ? 1 : 0.2;
    }
  }
  return {
    widthPx: sizePx,
    heightPx: sizePx,
    s: planes[0]!,
    t: planes[1]!,
    coverage: planes[2]!,
  };
}

/** 15° between marks of about half a degree's half width, rad. */
const MARK = Math.PI / 12;
const MARK_WIDTH = 0.01;

function invalid(found: string, expected: string): TwinkeelError {
  return new TwinkeelError('argument/invalid', { found, expected, remedy: 'correct the value' });
}
