import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import { clamp } from '../math.js';
import type { CircularMask } from '../rig/coverage.js';
import { coveredHalfAngle } from '../rig/coverage.js';
import { type ImageCircle, imageRadius } from '../rig/lens.js';
import { furthestRowMs, rowCorrections, rowOfDirection } from '../rig/rollingShutter.js';
import type { StereoRig } from '../rig/stereoRig.js';
import { quaternionAt } from '../rotation/arrays.js';
import {
  invertQuaternion,
  type Quaternion,
  rotateVector,
  type Vector3,
} from '../rotation/quaternion.js';
import { withQuaternions } from '../track/orientationTrack.js';
import { orientationsOf } from './poses.js';
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
 * @param result - of {@link correct}
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
  const seenBy = lookUp(result, k, eye, rig);
  const place = source.projection === 'fisheye' ? fisheyePlace(rig!, source) : equirectPlace;
  const reach = rig ? coveredHalfAngle(rig, source.projection) : Math.PI / 2;
  const upwards = (options.origin ?? 'bottom-left') === 'bottom-left';
  const [s, t, coverage] = [0, 1, 2].map(() => new Float32Array(widthPx * heightPx)) as [
    Float32Array,
    Float32Array,
    Float32Array,
  ];
  for (let j = 0, i = 0; j < heightPx; j++) {
    const latitude = (0.5 - (j + 0.5) / heightPx) * Math.PI;
    const [sinLat, cosLat] = [Math.sin(latitude), Math.cos(latitude)];
    for (let column = 0; column < widthPx; column++, i++) {
      const longitude = ((column + 0.5) / widthPx - 0.5) * Math.PI;
      const view: Vector3 = [cosLat * Math.sin(longitude), sinLat, -cosLat * Math.cos(longitude)];
      const seen = seenBy(view);
      const [across, down] = place(seen);
      s[i] = across;
      t[i] = upwards ? 1 - down : down;
      const inside = across >= 0 && across <= 1 && down >= 0 && down <= 1;
      const angle = Math.atan2(Math.hypot(seen[0], seen[1]), -seen[2]);
      coverage[i] = inside && angle <= reach ? maskShare(result.mask, view) : 0;
    }
  }
  return { widthPx, heightPx, s, t, coverage };
}

/** 16384 × 16384: a map beyond it is a slip of the pen. */
const LARGEST_MAP = 2 ** 28;

/** A function from a direction of the view to the direction in which the eye saw it. */
function lookUp(
  result: CorrectionResult,
  k: number,
  eye: 'left' | 'right',
  rig: StereoRig | undefined,
): (view: Vector3) => Vector3 {
  // A single frame says nothing of how the camera turned on while its rows were read.
  if (!rig || furthestRowMs(rig) === 0 || result.corrections.times.length < 2) {
    const inverse = invertQuaternion(quaternionAt(result[eye], k));
    return (view) => rotateVector(inverse, view);
  }
  const measured = withQuaternions(result.intended, orientationsOf(result, 'measured'));
  const intended = quaternionAt(result.intended.quaternions, k);
  const bands = rowCorrections(measured, intended, k, rig, eye, ROW_BANDS);
  const inverses = Array.from({ length: ROW_BANDS }, (_, band) =>
    invertQuaternion(quaternionAt(bands, band)),
  );
  return (view) => {
    // The row decides the rotation and the rotation the row; the middle row starts the search.
    let seen = view;
    let row = 0.5;
    for (let step = 0; step < ROW_STEPS; step++) {
      seen = rotateVector(between(inverses, row), view);
      row = rowOfDirection(seen, rig);
    }
    return seen;
  };
}

/** Bands per frame; between their middles, and from the outermost to the edges, the rotation goes in a straight line. */
const ROW_BANDS = 32;
/** Each round multiplies the error by (rate × readout)/field: three suffice below 100 °/s. */
const ROW_STEPS = 4;

/** The rotation of a row, by the mean of its neighbours' quaternions weighted by distance. */
function between(bands: readonly Quaternion[], row: number): Quaternion {
  const place = clamp(row, 0, 1) * bands.length - 0.5;
  const k = clamp(Math.floor(place), 0, bands.length - 2);
  const share = place - k;
  const [a, b] = [bands[k]!, bands[k + 1]!];
  const sum = a.map((value, i) => (1 - share) * value + share * b[i]!);
  const norm = Math.hypot(...sum);
  return sum.map((value) => value / norm) as unknown as Quaternion;
}

/** Place in a half-equirect picture, from its left and top edge; outside [0, 1] behind the eye. */
function equirectPlace([x, y, z]: Vector3): [number, number] {
  return [0.5 + Math.atan2(x, -z) / Math.PI, 0.5 - Math.atan2(y, Math.hypot(x, z)) / Math.PI];
}

function fisheyePlace(
  { lens }: StereoRig,
  source: Extract<EyeSource, { projection: 'fisheye' }>,
): (seen: Vector3) => [number, number] {
  const { widthPx, heightPx } = source;
  const circle = source.circle ?? {
    centrePx: [widthPx / 2, heightPx / 2],
    diameterPx: Math.min(widthPx, heightPx),
  };
  const scale = circle.diameterPx / 2 / imageRadius(lens.mapping, (lens.fieldDeg * Math.PI) / 360);
  return ([x, y, z]) => {
    const across = Math.hypot(x, y);
    const radius = scale * imageRadius(lens.mapping, Math.atan2(across, -z));
    const [right, up] = across === 0 ? [0, 0] : [x / across, y / across];
    return [
      (circle.centrePx[0] + radius * right) / widthPx,
      (circle.centrePx[1] - radius * up) / heightPx,
    ];
  };
}

/** 1 inside the mask's clear part, 0 outside the mask, smooth (3u² − 2u³) between. */
function maskShare(mask: CircularMask | undefined, view: Vector3): number {
  if (!mask) return 1;
  const [x, y, z] = mask.centre;
  const sine = Math.hypot(
    y * view[2] - z * view[1],
    z * view[0] - x * view[2],
    x * view[1] - y * view[0],
  );
  const angle = Math.atan2(sine, x * view[0] + y * view[1] + z * view[2]);
  const feather = mask.opaqueFrom - mask.clearUpTo;
  const u =
    feather > 0
      ? clamp((mask.opaqueFrom - angle) / feather, 0, 1)
      : Number(angle <= mask.opaqueFrom);
  return u * u * (3 - 2 * u);
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
