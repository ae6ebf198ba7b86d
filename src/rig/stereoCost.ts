import { quaternionAt } from '../rotation/arrays.js';
import type { Matrix3 } from '../rotation/matrix.js';
import { matrixFromQuaternion } from '../rotation/matrix.js';
import type { Quaternion, Vector3 } from '../rotation/quaternion.js';

/**
 * What turning both eyes by the same rotation K does to the stereo pair. The lenses stay where they
 * are, so the corrected pair is that of a rig whose baseline points along K eₓ: its part to the right
 * is what is left of the stereo base, its part upwards gives vertical disparity, its part forward a
 * difference in size. Turning about the baseline itself (nodding) costs nothing.
 */
export interface StereoCost {
  /** Stereo base straight ahead, mm. */
  readonly effectiveInteraxialMm: number;
  /** How much higher the right eye sits, mm. */
  readonly verticalOffsetMm: number;
  /** How much further forward the right eye sits, mm. */
  readonly forwardOffsetMm: number;
  /** Largest vertical disparity anywhere in the view for the nearest subject, arcmin. */
  readonly worstDisparityArcmin: number;
}

const ARCMIN_PER_RADIAN = (180 * 60) / Math.PI;

/**
 * What one rotation of both eyes costs; the disparity to first order in base over distance.
 *
 * @param correction - K, common to both eyes
 * @param interaxialMm - distance of the lenses, mm
 * @param distanceM - of the nearest subject, m
 * @returns offsets of the right eye in the corrected view, and the worst disparity
 * @see docs/guide/rig.md for the thresholds
 * @example
 * const roll = quaternionFromAxisAngle([0, 0, 1], 0.1); // lifts the right eye
 * stereoCost(roll, 64, 1).verticalOffsetMm; // 6.39 mm
 * stereoCost(roll, 64, 1).worstDisparityArcmin; // 21.96 arcmin
 */
export function stereoCost(
  correction: Quaternion,
  interaxialMm: number,
  distanceM: number,
): StereoCost {
  const [right, up, back] = baselineOf(correction);
  return {
    effectiveInteraxialMm: interaxialMm * right,
    verticalOffsetMm: interaxialMm * up,
    forwardOffsetMm: -interaxialMm * back,
    worstDisparityArcmin:
      (interaxialMm / 1000 / distanceM) * Math.hypot(up, back) * ARCMIN_PER_RADIAN,
  };
}

/**
 * Vertical disparity of a point at a distance: the difference of its elevations above the plane
 * through both eyes, exact, as the angle α (Helmholtz elevation) and as the great-circle distance η
 * that a viewer's eyes must bridge, cos β · α with β the angle of the point's direction off the plane
 * square to the baseline. Each eye sees the point under a β of its own; this is that of the middle
 * between the eyes, from which the nearer eye's differs by up to b/(2d − b) of η and the other's by
 * less: 3.3 % at 64 mm and 1 m. Never the difference of rows of an equirectangular picture, which is
 * not zero for a perfect rig.
 *
 * @param correction - K, common to both eyes
 * @param interaxialMm - distance of the lenses, mm
 * @param distanceM - from the middle between the eyes to the point, m
 * @param direction - azimuth to the right and elevation in the corrected view, rad
 * @returns left less right, arcmin
 * @example
 * const roll = quaternionFromAxisAngle([0, 0, 1], 0.1);
 * verticalDisparity(roll, 64, 1, { azimuth: 0, elevation: 0 }).greatCircleArcmin; // 21.96 arcmin
 */
export function verticalDisparity(
  correction: Quaternion,
  interaxialMm: number,
  distanceM: number,
  direction: { readonly azimuth: number; readonly elevation: number },
): {
  /** Difference of the elevations, left less right, arcmin. */
  readonly elevationArcmin: number;
  /** What the viewer's eyes must bridge, seen from the middle between them, left less right, arcmin. */
  readonly greatCircleArcmin: number;
} {
  const [, up, back] = baselineOf(correction);
  const b = interaxialMm / 1000;
  const forward = -back;
  const y = distanceM * Math.sin(direction.elevation);
  const f = distanceM * Math.cos(direction.elevation) * Math.cos(direction.azimuth);
  const elevation = Math.atan2(
    b * (up * f - forward * y),
    y * y + f * f - (b * b * (up * up + forward * forward)) / 4,
  );
  const beta = Math.asin(Math.cos(direction.elevation) * Math.sin(direction.azimuth));
  return {
    elevationArcmin: elevation * ARCMIN_PER_RADIAN,
    greatCircleArcmin: Math.cos(beta) * elevation * ARCMIN_PER_RADIAN,
  };
}

/** Worst vertical disparity of every correction of a list, arcmin; length n. */
export function worstDisparities(
  corrections: Float64Array,
  interaxialMm: number,
  distanceM: number,
): Float64Array {
  return Float64Array.from(
    { length: corrections.length / 4 },
    (_, k) =>
      stereoCost(quaternionAt(corrections, k), interaxialMm, distanceM).worstDisparityArcmin,
  );
}

/**
 * The largest turn off the baseline, √(e_y² + e_z²) of a correction Exp(−e), that keeps the vertical
 * disparity within a tolerance anywhere in the view: sin δ = tolerance · distance / base. The angle
 * δ between the baselines is never more than that root.
 *
 * @param toleranceArcmin - largest vertical disparity, arcmin
 * @param interaxialMm - distance of the lenses, mm
 * @param distanceM - of the nearest subject, m
 * @returns rad, or infinity when no turn reaches the tolerance
 * @example
 * baselineTurnLimit(15, 64, 1); // 0.0682 rad
 */
export function baselineTurnLimit(
  toleranceArcmin: number,
  interaxialMm: number,
  distanceM: number,
): number {
  const sine = (toleranceArcmin / ARCMIN_PER_RADIAN) * (distanceM / (interaxialMm / 1000));
  return sine >= 1 ? Number.POSITIVE_INFINITY : Math.asin(sine);
}

/** First column of K: where the line from the left to the right lens points in the corrected view. */
function baselineOf(correction: Quaternion): Vector3 {
  const m: Matrix3 = matrixFromQuaternion(correction);
  return [m[0], m[3], m[6]];
}
