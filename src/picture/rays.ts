import type { CorrectionResult } from '../correct.js';
import { clamp } from '../math.js';
import { coveredHalfAngle } from '../rig/coverage.js';
import { eyeCorrections } from '../rig/eyeCorrections.js';
import { furthestRowMs, rowCorrections } from '../rig/rollingShutter.js';
import type { StereoRig } from '../rig/stereoRig.js';
import { alignSigns, composeQuaternions, quaternionAt } from '../rotation/arrays.js';
import { matrixFromQuaternion } from '../rotation/matrix.js';
import { invertQuaternion, type Quaternion } from '../rotation/quaternion.js';
import { type OrientationTrack, withQuaternions } from '../track/orientationTrack.js';
import { type LensLaw, lensLaw } from './lensLaw.js';
import { circleOf, type EyeName, type EyePicture } from './stereoFrame.js';

/**
 * The way from a point of a corrected view to the point of the source that shows it, in its steps.
 * Points are pixels from the left and from the top edge of one eye's picture. Each step writes into
 * the array it is handed: they run for every corner of the mesh.
 */
export interface EyeRays {
  /**
   * The direction that a point of the view shows, unit; false beyond the view's field, where directions
   * go on in a straight line.
   */
  readonly look: (x: number, y: number, view: Float64Array) => boolean;
  /** Whether no point of a rectangle shows any direction. */
  readonly blank: (x: number, y: number, width: number, height: number) => boolean;
  /** Where the lens saw a direction of the view, in the lens's own axes. */
  readonly turn: (view: Float64Array, seen: Float64Array) => void;
  /** The point of the source that shows what the lens saw. */
  readonly place: (seen: Float64Array, at: Float64Array) => void;
  /** Whether the lens saw it: inside the picture and inside what the lens covers. */
  readonly sees: (seen: Float64Array, at: Float64Array) => boolean;
  /**
   * How far inside what the lens saw a point of the source lies, pixels: negative outside. Good near the
   * edge only, where it tells which points need a closer look.
   */
  readonly margin: (at: Float64Array) => number;
  /** Half the angle that the lens covers, rad. */
  readonly reach: number;
  /** Cosine of the angle between the view's vertical and the lens's, where it is one for all rows. */
  readonly level?: number;
  /** How the rows turn while they are read: their inverse rotations, length 4 · bands. */
  readonly rows?: Float64Array;
}

/**
 * The rays of one frame and lens.
 *
 * @param k - index of the frame
 * @param lens - whose picture is looked up; with an eye swap the other eye's view is drawn from it
 * @param target - the corrected view of one eye
 * @param source - the lens's picture
 */
export type RaysOfFrame = (
  k: number,
  lens: EyeName,
  target: EyePicture,
  source: EyePicture,
) => EyeRays;

/**
 * The exact rays of a result's frames: the lens's alignment, K and the mount by the rotation that
 * the result holds for the lens; row by row where the rig states a readout.
 *
 * @param result - of {@link correct}
 */
export function raysOf(result: CorrectionResult): RaysOfFrame {
  const { rig } = result;
  // A single frame says nothing of how the camera turned on while its rows were read.
  const rolls = rig && furthestRowMs(rig) > 0 && result.corrections.times.length > 1;
  const measured = rolls ? measuredTrack(result) : undefined;
  return (k, lens, target, source) => {
    const rows = measured && rig ? inverseRows(measured, result, k, rig, lens) : undefined;
    const covered = rig ? coveredHalfAngle(rig, source.image.projection) : Math.PI;
    const law = lawOf(source);
    const turn = turnOf(result, k, lens);
    const reach = Math.min(covered, law ? law.halfField : Math.PI / 2);
    return {
      look: lookInto(target),
      blank: blankIn(target),
      turn: rows && rig ? turnByRows(rows, rig) : turnBy(turn),
      place: law ? fisheyePlace(law, source) : equirectPlace(source),
      sees: (seen, at) =>
        at[0]! >= 0 &&
        at[0]! <= source.widthPx &&
        at[1]! >= 0 &&
        at[1]! <= source.heightPx &&
        Math.atan2(Math.hypot(seen[0]!, seen[1]!), -seen[2]!) <= reach,
      margin: law ? fisheyeMargin(law, source, reach) : equirectMargin(source, reach),
      reach,
      ...(rows ? { rows } : { level: matrixFromQuaternion(turn)[4] }),
    };
  };
}

/** K A of one lens at one frame. */
export function turnOf(result: CorrectionResult, k: number, lens: EyeName): Quaternion {
  const quaternions = result.corrections.quaternions.subarray(4 * k, 4 * k + 4);
  return quaternionAt(eyeCorrections({ ...result, corrections: { quaternions } }, lens), 0);
}

/**
 * Where the source shows what stands at a point of the view, at once.
 *
 * @param at - takes the point of the source
 * @returns whether the lens saw it
 */
export function trace(rays: EyeRays, x: number, y: number, at: Float64Array): boolean {
  const shown = rays.look(x, y, VIEW);
  rays.turn(VIEW, SEEN);
  rays.place(SEEN, at);
  return shown && rays.sees(SEEN, at);
}

/** Places to work in, so that a ray costs no memory. */
const VIEW = new Float64Array(3);
const SEEN = new Float64Array(3);

function lawOf({ image }: EyePicture): LensLaw | undefined {
  return image.projection === 'fisheye' ? lensLaw(image.mapping, image.fieldDeg) : undefined;
}

/** C = S K of every frame. */
function measuredTrack({ intended, corrections }: CorrectionResult): OrientationTrack {
  const measured = composeQuaternions(intended.quaternions, corrections.quaternions);
  return withQuaternions(intended, alignSigns(measured));
}

function lookInto(target: EyePicture): EyeRays['look'] {
  const law = lawOf(target);
  if (!law) {
    const [perColumn, perRow] = [Math.PI / target.widthPx, Math.PI / target.heightPx];
    return (x, y, view) => {
      const longitude = x * perColumn - Math.PI / 2;
      const latitude = Math.PI / 2 - y * perRow;
      const level = Math.cos(latitude);
      view[0] = level * Math.sin(longitude);
      view[1] = Math.sin(latitude);
      view[2] = -level * Math.cos(longitude);
      return true;
    };
  }
  const { centrePx, diameterPx } = circleOf(target);
  const focal = diameterPx / 2 / law.edge;
  const steepness = (0.01 * law.halfField) / (law.edge - law.radius(0.99 * law.halfField));
  return (x, y, view) => {
    const right = (x - centrePx[0]) / focal;
    const up = (centrePx[1] - y) / focal;
    const radius = Math.sqrt(right * right + up * up);
    // Beyond the field in a straight line: the samples at its edge ask how far their neighbours lie.
    const inside = radius <= law.edge;
    const angle = inside ? law.angle(radius) : law.halfField + (radius - law.edge) * steepness;
    const share = radius === 0 ? 0 : Math.sin(angle) / radius;
    view[0] = share * right;
    view[1] = share * up;
    view[2] = -Math.cos(angle);
    return inside;
  };
}

function blankIn(target: EyePicture): EyeRays['blank'] {
  if (target.image.projection !== 'fisheye') return () => false;
  const { centrePx, diameterPx } = circleOf(target);
  const gap = (from: number, length: number, centre: number) =>
    Math.max(0, from - centre, centre - from - length);
  return (x, y, width, height) =>
    Math.hypot(gap(x, width, centrePx[0]), gap(y, height, centrePx[1])) > diameterPx / 2 + SLIVER;
}

/** A circle's edge is exact to rounding, pixels. */
const SLIVER = 1e-6;

function turnBy(q: Quaternion): EyeRays['turn'] {
  const m = matrixFromQuaternion(invertQuaternion(q));
  return (view, seen) => apply(m, view, seen);
}

function apply(m: ArrayLike<number>, view: Float64Array, out: Float64Array): void {
  const [x, y, z] = [view[0]!, view[1]!, view[2]!];
  out[0] = m[0]! * x + m[1]! * y + m[2]! * z;
  out[1] = m[3]! * x + m[4]! * y + m[5]! * z;
  out[2] = m[6]! * x + m[7]! * y + m[8]! * z;
}

/** Bands per frame; between their middles the rotation goes in a straight line. */
export const ROW_BANDS = 32;
/** Each round multiplies the error by (rate × readout)/field: three suffice below 100 °/s. */
const ROW_STEPS = 4;
/** A hundred-thousandth of a row of a picture of 8192. */
const SAME_ROW = 1e-9;
/** Share of the circle's height; what lies there is seen by no lens. */
const BEYOND = 0.25;

function inverseRows(
  measured: OrientationTrack,
  result: CorrectionResult,
  k: number,
  rig: StereoRig,
  lens: EyeName,
): Float64Array {
  const intended = quaternionAt(result.intended.quaternions, k);
  const rows = alignSigns(rowCorrections(measured, intended, k, rig, lens, ROW_BANDS));
  for (let i = 0; i < rows.length; i++) if (i % 4 !== 3) rows[i] = -rows[i]!;
  return rows;
}

/**
 * The row decides the rotation and the rotation the row; the middle row starts the search. A row's
 * rotation is the mean of its neighbours' quaternions, weighted by distance.
 */
function turnByRows(rows: Float64Array, rig: StereoRig): EyeRays['turn'] {
  const law = lensLaw(rig.lens.mapping, rig.lens.fieldDeg);
  return (view, seen) => {
    let row = 0.5;
    for (let step = 0; step < ROW_STEPS; step++) {
      // The straight lines of the outermost bands go on to the edges and a little beyond.
      const place = clamp(row, -BEYOND, 1 + BEYOND) * ROW_BANDS - 0.5;
      const band = clamp(Math.floor(place), 0, ROW_BANDS - 2);
      turnBetween(rows, 4 * band, place - band, view, seen);
      const before = row;
      row = heightOf(seen, law);
      if (Math.abs(row - before) < SAME_ROW) break;
    }
  };
}

/** v' = q v q* / |q|², q between two neighbours: by t = 2 u × v / |q|², v' = v + w t + u × t. */
function turnBetween(
  rows: Float64Array,
  i: number,
  share: number,
  view: Float64Array,
  out: Float64Array,
): void {
  const x = rows[i]! + share * (rows[i + 4]! - rows[i]!);
  const y = rows[i + 1]! + share * (rows[i + 5]! - rows[i + 1]!);
  const z = rows[i + 2]! + share * (rows[i + 6]! - rows[i + 2]!);
  const w = rows[i + 3]! + share * (rows[i + 7]! - rows[i + 3]!);
  const scale = 2 / (x * x + y * y + z * z + w * w);
  const [a, b, c] = [view[0]!, view[1]!, view[2]!];
  const tx = scale * (y * c - z * b);
  const ty = scale * (z * a - x * c);
  const tz = scale * (x * b - y * a);
  out[0] = a + w * tx + y * tz - z * ty;
  out[1] = b + w * ty + z * tx - x * tz;
  out[2] = c + w * tz + x * ty - y * tx;
}

/** Height in the lens's circle, 0 at its top, 1 at its bottom: `rowOfDirection` without its law's cost. */
export function heightOf(seen: Float64Array, law: LensLaw): number {
  const across = Math.sqrt(seen[0]! * seen[0]! + seen[1]! * seen[1]!);
  if (across === 0) return 0.5;
  const radius = law.radius(Math.atan2(across, -seen[2]!));
  return 0.5 - (0.5 * radius * (seen[1]! / across)) / law.edge;
}

/** Longitude and latitude; outside the picture behind the eye. */
function equirectPlace({ widthPx, heightPx }: EyePicture): EyeRays['place'] {
  const [perTurn, perTilt] = [widthPx / Math.PI, heightPx / Math.PI];
  return (seen, at) => {
    const [x, y, z] = [seen[0]!, seen[1]!, seen[2]!];
    at[0] = widthPx / 2 + perTurn * Math.atan2(x, -z);
    at[1] = heightPx / 2 - perTilt * Math.atan2(y, Math.sqrt(x * x + z * z));
  };
}

function fisheyePlace(law: LensLaw, source: EyePicture): EyeRays['place'] {
  const { centrePx, diameterPx } = circleOf(source);
  const focal = diameterPx / 2 / law.edge;
  return (seen, at) => {
    const [x, y] = [seen[0]!, seen[1]!];
    const across = Math.sqrt(x * x + y * y);
    const share = across === 0 ? 0 : (focal * law.radius(Math.atan2(across, -seen[2]!))) / across;
    at[0] = centrePx[0] + share * x;
    at[1] = centrePx[1] - share * y;
  };
}

function edgeDistance(at: Float64Array, { widthPx, heightPx }: EyePicture): number {
  return Math.min(at[0]!, widthPx - at[0]!, at[1]!, heightPx - at[1]!);
}

function equirectMargin(source: EyePicture, reach: number): EyeRays['margin'] {
  const { widthPx, heightPx } = source;
  if (reach >= Math.PI / 2) return (at) => edgeDistance(at, source);
  const perRad = Math.min(widthPx, heightPx) / Math.PI;
  return (at) => {
    const longitude = (at[0]! / widthPx - 0.5) * Math.PI;
    const latitude = (0.5 - at[1]! / heightPx) * Math.PI;
    const ahead = Math.cos(latitude) * Math.cos(longitude);
    const across = Math.hypot(Math.cos(latitude) * Math.sin(longitude), Math.sin(latitude));
    return Math.min(edgeDistance(at, source), perRad * (reach - Math.atan2(across, ahead)));
  };
}

function fisheyeMargin(law: LensLaw, source: EyePicture, reach: number): EyeRays['margin'] {
  const { centrePx, diameterPx } = circleOf(source);
  const radius = ((diameterPx / 2) * law.radius(reach)) / law.edge;
  return (at) => {
    const off = Math.sqrt((at[0]! - centrePx[0]) ** 2 + (at[1]! - centrePx[1]) ** 2);
    return Math.min(edgeDistance(at, source), radius - off);
  };
}
