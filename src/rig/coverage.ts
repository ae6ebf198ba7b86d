import { clamp } from '../math.js';
import { rotateVectors, vectorAt } from '../rotation/arrays.js';
import type { Vector3 } from '../rotation/quaternion.js';
import { angleOfRadius, imageRadius } from './lens.js';
import type { Projection } from './picture.js';
import type { StereoRig } from './stereoRig.js';

/** A circular window on the corrected view, the same in both eyes. */
export interface CircularMask {
  /** Its middle, a direction in the corrected view. */
  readonly centre: Vector3;
  /** Angle from the middle to its edge, rad: black outside. */
  readonly opaqueFrom: number;
  /** Angle up to which the picture is untouched, rad; the feather lies between. */
  readonly clearUpTo: number;
}

/**
 * Half the angle across that one eye's picture surely holds, rad, about the lens's own axis: what
 * limit, black share, mask, report and hand-over all go by. A half-equirect picture holds the
 * half-sphere before the lens and no more, however far the lens sees; a fisheye all that the lens
 * sees. For an image that is no circle it is the largest circle inside the samples of its boundary.
 *
 * @param rig - states the lens
 * @param picture - the picture that will be resampled
 * @example
 * coveredHalfAngle(DEFAULT_RIG, 'fisheye'); // 1.6581 rad, half of 190°
 * coveredHalfAngle(DEFAULT_RIG, 'half-equirect'); // 1.5708 rad, half of 180°
 */
export function coveredHalfAngle({ lens }: StereoRig, picture: Projection): number {
  const seen = lens.boundaryDeg ? inscribedHalfAngle(lens, lens.boundaryDeg) : halfField(lens);
  return picture === 'half-equirect' ? Math.min(Math.PI / 2, seen) : seen;
}

const halfField = ({ fieldDeg }: StereoRig['lens']) => (fieldDeg * Math.PI) / 360;

/**
 * Half angle of the largest circle inside a boundary that is known at some directions, rad. The
 * picture is taken to be convex, as a circle cut by a sensor's edges is: then it holds the straight
 * lines, in the picture, between neighbouring samples, and nothing beyond them is believed. Straight
 * lines of the picture are none of the angles, so the law of the lens takes part.
 */
function inscribedHalfAngle(lens: StereoRig['lens'], boundaryDeg: readonly number[]): number {
  // The image circle itself ends at the field.
  const limit = halfField(lens);
  const radii = boundaryDeg.map((half) =>
    imageRadius(lens.mapping, Math.min((half * Math.PI) / 180, limit)),
  );
  const n = radii.length;
  const between = (2 * Math.PI) / n;
  const nearest = radii.map((near, k) => {
    const next = radii[(k + 1) % n]!;
    const [a, b] = [Math.min(near, next), Math.max(near, next)];
    // From an acute corner the foot of the perpendicular lies on the line, from another outside.
    if (b * Math.cos(between) >= a) return a;
    const line = Math.hypot(b - a, 2 * Math.sqrt(a * b) * Math.sin(between / 2));
    return (a * b * Math.sin(between)) / line;
  });
  return angleOfRadius(lens.mapping, Math.min(...nearest), limit);
}

/**
 * How far an eye's optical axis may swing off the middle before any of the view is uncovered, rad;
 * negative when the picture holds less than the view even untouched. Roll is free for a circular
 * image.
 *
 * @param rig - states lens and view
 * @param picture - the picture that will be resampled
 * @example
 * swingLimit(DEFAULT_RIG, 'fisheye'); // 0.0873 rad, 5°
 * swingLimit(DEFAULT_RIG, 'half-equirect'); // 0 rad
 */
export function swingLimit(rig: StereoRig, picture: Projection): number {
  return coveredHalfAngle(rig, picture) - halfView(rig);
}

/** Half the angle of the delivered view across, rad. */
export function halfView({ outputFieldDeg }: StereoRig): number {
  return (outputFieldDeg * Math.PI) / 360;
}

/**
 * Share of the view (solid angle) that an eye's picture does not cover: the part of one spherical cap outside
 * another.
 *
 * @param swing - angle between the optical axis and the middle of the view, rad
 * @param lens - half angle that the picture holds, rad: {@link coveredHalfAngle}
 * @param view - half angle of the view, rad
 * @returns 0 to 1, exact
 * @example
 * const degrees = Math.PI / 180;
 * uncoveredShare(15 * degrees, 95 * degrees, 90 * degrees); // 0.0443
 */
export function uncoveredShare(swing: number, lens: number, view: number): number {
  if (swing <= lens - view) return 0;
  const whole = 2 * Math.PI * (1 - Math.cos(view));
  return clamp(1 - capIntersection(lens, view, swing) / whole, 0, 1);
}

/** Area common to two caps of half angles a and b whose middles are t apart, on the unit sphere. */
function capIntersection(a: number, b: number, t: number): number {
  const cap = (half: number) => 2 * Math.PI * (1 - Math.cos(half));
  if (t <= Math.abs(a - b)) return cap(Math.min(a, b));
  if (t >= Math.min(a + b, 2 * Math.PI - a - b)) {
    return a + b <= Math.PI ? 0 : cap(a) + cap(b) - 4 * Math.PI;
  }
  const [ca, cb, ct] = [Math.cos(a), Math.cos(b), Math.cos(t)];
  const [sa, sb, st] = [Math.sin(a), Math.sin(b), Math.sin(t)];
  return (
    2 *
    (Math.PI -
      cornerAngle((ct - ca * cb) / (sa * sb)) -
      ca * cornerAngle((cb - ct * ca) / (st * sa)) -
      cb * cornerAngle((ca - ct * cb) / (st * sb)))
  );
}

/** The angle with a given cosine, by the half-angle tangent, which keeps its digits at both ends. */
function cornerAngle(cosine: number): number {
  const c = clamp(cosine, -1, 1);
  return 2 * Math.atan2(Math.sqrt(1 - c), Math.sqrt(1 + c));
}

/**
 * The swing of the optical axis that leaves just the given share uncovered, rad, by bisection.
 *
 * @param share - of the view's solid angle, 0 to 1
 * @param lens - half angle that the picture holds, rad: {@link coveredHalfAngle}
 * @param view - half angle of the view, rad
 * @returns rad, 0 to π; {@link uncoveredShare} gives the share back
 * @example
 * swingForShare(0, 1.65, 1.57); // 0.08 rad, what the lens covers beyond the view
 */
export function swingForShare(share: number, lens: number, view: number): number {
  let low = Math.max(0, lens - view);
  let high = Math.PI;
  for (let step = 0; step < 60; step++) {
    const middle = (low + high) / 2;
    if (uncoveredShare(middle, lens, view) <= share) low = middle;
    else high = middle;
  }
  return low;
}

/**
 * The swing of each correction, rad: the angle between the optical axis and the middle of the view. An eye's own
 * axis asks for that eye's rotations, K·A.
 */
export function axisSwings(corrections: Float64Array): Float64Array {
  const axes = opticalAxes(corrections);
  return Float64Array.from({ length: axes.length / 3 }, (_, k) => {
    const [x, y, z] = vectorAt(axes, k);
    return Math.atan2(Math.hypot(x, y), -z);
  });
}

/** Where an optical axis lies in the corrected view, K (0, 0, −1), for each rotation. */
function opticalAxes(corrections: Float64Array): Float64Array {
  const n = corrections.length / 4;
  const forward = Float64Array.from({ length: 3 * n }, (_, i) => (i % 3 === 2 ? -1 : 0));
  return rotateVectors(corrections, forward);
}

/**
 * The largest circular window around the middle of the view that no frame leaves uncovered; half
 * angle lens − largest swing.
 *
 * @param corrections - of every frame, one after the other for both eyes where they are aligned apart
 *   (K·A): unit quaternions x, y, z, w; length 4n
 * @param lens - half angle that the picture holds, rad: {@link coveredHalfAngle}
 * @param feather - width of the soft edge inside it, rad
 * @example
 * const mask = centredMask(result.corrections.quaternions, coveredHalfAngle(rig, 'fisheye'), 0.035);
 * mask.centre; // [0, 0, -1]
 * mask.opaqueFrom; // 1.61 rad
 */
export function centredMask(
  corrections: Float64Array,
  lens: number,
  feather: number,
): CircularMask {
  const largest = axisSwings(corrections).reduce((max, swing) => Math.max(max, swing), 0);
  return maskAround([0, 0, -1], lens - largest, feather);
}

/**
 * The largest circular window anywhere in the view that no frame leaves uncovered: around the middle
 * of the smallest cap that holds the optical axes of all frames.
 *
 * @param corrections - of every frame, one after the other for both eyes where they are aligned apart
 *   (K·A): unit quaternions x, y, z, w; length 4n, n ≥ 1
 * @param lens - half angle that the picture holds, rad: {@link coveredHalfAngle}
 * @param feather - width of the soft edge inside it, rad
 * @returns the window; never smaller than {@link centredMask}'s; cost 1000 n
 * @example
 * bestMask(result.corrections.quaternions, coveredHalfAngle(rig, 'fisheye'), 0.035).opaqueFrom; // 1.62 rad
 */
export function bestMask(corrections: Float64Array, lens: number, feather: number): CircularMask {
  const { centre, radius } = smallestEnclosingCap(opticalAxes(corrections));
  const centred = centredMask(corrections, lens, feather);
  // The smallest cap is found to a thousandth; the middle of the view may be as good.
  return lens - radius > centred.opaqueFrom ? maskAround(centre, lens - radius, feather) : centred;
}

function maskAround(centre: Vector3, half: number, feather: number): CircularMask {
  const opaqueFrom = Math.max(0, half);
  return { centre, opaqueFrom, clearUpTo: Math.max(0, opaqueFrom - feather) };
}

/**
 * The smallest cap that holds a set of directions within a half-sphere: the smallest enclosing ball
 * of the points, since its middle lies along the cap's. Each step moves towards the furthest point
 * by less and less.
 *
 * @see Bădoiu and Clarkson, "Smaller core-sets for balls", SODA 2003; the error falls as 1/steps
 */
function smallestEnclosingCap(directions: Float64Array): { centre: Vector3; radius: number } {
  const n = directions.length / 3;
  const outer = outermost(directions);
  let centre = vectorAt(outer, 0);
  for (let step = 1; step <= CAP_STEPS; step++) {
    const far = vectorAt(outer, furthest(outer, centre));
    const share = 1 / (step + 1);
    centre = [
      centre[0] + share * (far[0] - centre[0]),
      centre[1] + share * (far[1] - centre[1]),
      centre[2] + share * (far[2] - centre[2]),
    ];
  }
  const norm = Math.hypot(...centre);
  const unit: Vector3 = [centre[0] / norm, centre[1] / norm, centre[2] / norm];
  const far = vectorAt(directions, n === 0 ? 0 : furthest(directions, unit));
  return { centre: unit, radius: angleBetween(unit, far) };
}

/** Reaches a thousandth of the cap's own radius. */
const CAP_STEPS = 1000;

/** Lists above this length are thinned out before the search for their cap. */
const MANY = 4096;
/** Kinds of "which way from the middle", of which the furthest point each is kept. */
const WAYS = 1440;

/**
 * The points of a long list that lie furthest from its middle, one for each way. The cap is sought
 * among them; how large it must be is then asked of all points.
 */
function outermost(points: Float64Array): Float64Array {
  if (points.length <= 3 * MANY) return points;
  const mean = [0, 0, 0];
  for (let i = 0; i < points.length; i++) mean[i % 3]! += points[i]!;
  const length = Math.hypot(...mean);
  const [x, y, z] = mean.map((part) => part / length) as unknown as Vector3;
  const flat = Math.hypot(x, z);
  const right: Vector3 = flat > 0 ? [-z / flat, 0, x / flat] : [1, 0, 0];
  const up: Vector3 = [
    y * right[2] - z * right[1],
    z * right[0] - x * right[2],
    x * right[1] - y * right[0],
  ];
  const best = new Int32Array(WAYS).fill(-1);
  const reach = new Float64Array(WAYS);
  for (let i = 0; i < points.length; i += 3) {
    const [a, b, c] = [points[i]!, points[i + 1]!, points[i + 2]!];
    const across = a * right[0] + b * right[1] + c * right[2];
    const along = a * up[0] + b * up[1] + c * up[2];
    const way = Math.floor((0.5 + Math.atan2(along, across) / (2 * Math.PI)) * WAYS) % WAYS;
    const off = across * across + along * along;
    if (best[way] !== -1 && off <= reach[way]!) continue;
    best[way] = i;
    reach[way] = off;
  }
  return Float64Array.from(
    [...best].filter((i) => i >= 0).flatMap((i) => [...points.subarray(i, i + 3)]),
  );
}

function furthest(points: Float64Array, [x, y, z]: Vector3): number {
  let best = 0;
  let distance = -1;
  for (let i = 0; i < points.length; i += 3) {
    const d = (points[i]! - x) ** 2 + (points[i + 1]! - y) ** 2 + (points[i + 2]! - z) ** 2;
    if (d > distance) {
      distance = d;
      best = i / 3;
    }
  }
  return best;
}

/** The angle between two directions, rad. */
export function angleBetween(a: Vector3, b: Vector3): number {
  const cross = Math.hypot(
    a[1] * b[2] - a[2] * b[1],
    a[2] * b[0] - a[0] * b[2],
    a[0] * b[1] - a[1] * b[0],
  );
  return Math.atan2(cross, a[0] * b[0] + a[1] * b[1] + a[2] * b[2]);
}
