import { VERTICAL_DISPARITY } from './comfort/criteria.js';
import { TwinkeelError, type Warning } from './error.js';
import { DEGREES_PER_RADIAN, RADIANS_PER_DEGREE } from './math.js';
import type { CorrectionLimit, SwingLimit } from './motion/correctionLimit.js';
import { angleBetween, coveredHalfAngle, halfView, swingForShare } from './rig/coverage.js';
import { HALF_TURN } from './rig/mount.js';
import type { Projection } from './rig/picture.js';
import { orientationsOfRows } from './rig/rollingShutter.js';
import { baselineTurnLimit } from './rig/stereoCost.js';
import type { StereoRig } from './rig/stereoRig.js';
import { composeQuaternions, invertQuaternions, quaternionAt } from './rotation/arrays.js';
import {
  invertQuaternion,
  type Quaternion,
  rotateVector,
  type Vector3,
} from './rotation/quaternion.js';
import type { OrientationTrack } from './track/orientationTrack.js';

/** What the correction may do, degrees; what is left out is free. */
export interface Limits {
  /** Largest angle of the corrective rotation: the same everywhere, or one for each frame. */
  readonly totalDeg?: number | Float64Array;
  /** Largest part of it about the camera's y axis. */
  readonly headingDeg?: number;
  /** Largest part of it about the camera's x axis. */
  readonly tiltDeg?: number;
  /** Largest part of it about the camera's z axis. */
  readonly rollDeg?: number;
  /** Largest vertical disparity for the nearest subject, arcmin; with a rig 15 when left out. */
  readonly verticalDisparityArcmin?: number;
  /** How much of the view may turn black: `never` (with a rig the default) or a share up to 1. */
  readonly uncovered?: 'never' | number;
}

/** The lenses that a clip was filmed through, and the pictures that will be resampled. */
export interface SeenThrough {
  readonly rig: StereoRig;
  readonly picture: Projection;
  /** Whether the camera hangs upside down, and `measured` is that of the picture turned upright. */
  readonly inverted: boolean;
}

/** The limits at every frame in radians; none when nothing is limited. */
export function limitOfFrames(
  limits: Limits,
  measured: OrientationTrack,
  through: SeenThrough | undefined,
): { limit?: CorrectionLimit; warnings: readonly Warning[] } {
  const n = measured.times.length;
  const { totalDeg, headingDeg, tiltDeg, rollDeg } = limits;
  checkLimits(limits);
  if (totalDeg instanceof Float64Array && totalDeg.length !== n) {
    throw new TwinkeelError('argument/shape', {
      found: `${totalDeg.length} limits`,
      expected: `one for each of ${n} frames`,
      remedy: 'pass a limit per frame, or one number for all',
    });
  }
  const everywhere = (radians: number | undefined) =>
    new Float64Array(n).fill(radians ?? Number.POSITIVE_INFINITY);
  const degrees = (value: number | undefined) =>
    everywhere(value === undefined ? undefined : value * RADIANS_PER_DEGREE);
  const total =
    totalDeg instanceof Float64Array
      ? totalDeg.map((value) => value * RADIANS_PER_DEGREE)
      : degrees(totalDeg);
  const anyAxis = headingDeg ?? tiltDeg ?? rollDeg;
  const ofRig = through ? rigLimits(limits, measured, through) : { warnings: [] };
  const { swing, baseline, warnings } = ofRig;
  if (totalDeg === undefined && anyAxis === undefined && !swing && baseline === undefined) {
    return { warnings };
  }
  return {
    limit: {
      total,
      ...(anyAxis !== undefined && {
        axes: [degrees(tiltDeg), degrees(headingDeg), degrees(rollDeg)] as const,
      }),
      ...(swing && { swing }),
      ...(baseline !== undefined && { baseline: everywhere(baseline) }),
    },
    warnings,
  };
}

/** What the pictures cover and the eyes bear, rad. */
function rigLimits(
  limits: Limits,
  measured: OrientationTrack,
  { rig, picture, inverted }: SeenThrough,
): { swing?: readonly SwingLimit[]; baseline?: number; warnings: readonly Warning[] } {
  const baseline = baselineTurnLimit(
    limits.verticalDisparityArcmin ?? VERTICAL_DISPARITY.limit,
    rig.interaxialMm,
    rig.nearestSubjectM,
  );
  const finite = baseline < Number.POSITIVE_INFINITY ? { baseline } : {};
  const uncovered = limits.uncovered ?? 'never';
  if (uncovered === 1) return { ...finite, warnings: [] };
  const free = freeSwing(uncovered, coveredHalfAngle(rig, picture), rig);
  const axes = EYES.map((eye) => eyeAxis(rig.eyes[eye].alignment, inverted));
  const askew = Math.max(...axes.map(offMiddle));
  if (free < askew + LEAST_SWING) {
    return { ...finite, warnings: [noMargin(rig, picture, askew)] };
  }
  const half = coveredHalfAngle(rig, picture);
  const swing = EYES.map((eye, side): SwingLimit => {
    const axis = axes[side]!;
    const reserves = turnsWhileRead(measured, rig, eye, axis);
    const most = reserves.map((reserve) =>
      Math.max(
        offMiddle(axis) + LEAST_SWING,
        reserve === 0 ? free : freeSwing(uncovered, half - reserve, rig),
      ),
    );
    return { axis, most };
  });
  return { ...finite, swing: sameForBoth(swing) ? [swing[0]!] : swing, warnings: [] };
}

const EYES = ['left', 'right'] as const;

/** How far an axis may swing when the picture holds `half` about it, rad. */
function freeSwing(uncovered: 'never' | number, half: number, rig: StereoRig): number {
  const view = halfView(rig);
  return uncovered === 'never' ? half - view : swingForShare(uncovered, half, view);
}

/** The optical axis of an eye in the axes of the upright rig, in which corrections are limited. */
function eyeAxis(alignment: Quaternion, inverted: boolean): Vector3 {
  const axis = rotateVector(alignment, [0, 0, -1]);
  return inverted ? rotateVector(invertQuaternion(HALF_TURN), axis) : axis;
}

const offMiddle = ([x, y, z]: Vector3) => Math.atan2(Math.hypot(x, y), -z);

/** Lenses that look the same way and are read at the same time need one bound, not two. */
function sameForBoth([left, right]: readonly SwingLimit[]): boolean {
  return (
    left!.axis.every((part, i) => part === right!.axis[i]) &&
    left!.most.every((value, k) => value === right!.most[k])
  );
}

/**
 * How far an eye's axis turns between the frame's time and the row that is read furthest from it,
 * rad: kept in reserve, since the view stands still while the rows are read.
 */
function turnsWhileRead(
  measured: OrientationTrack,
  rig: StereoRig,
  eye: 'left' | 'right',
  axis: Vector3,
): Float64Array {
  const turns = new Float64Array(measured.times.length);
  const toCamera = invertQuaternions(measured.quaternions);
  for (const row of orientationsOfRows(measured, rig, eye)) {
    const seen = composeQuaternions(toCamera, row);
    for (let k = 0; k < turns.length; k++) {
      const turned = rotateVector(quaternionAt(seen, k), axis);
      turns[k] = Math.max(turns[k]!, angleBetween(axis, turned));
    }
  }
  return turns;
}

function noMargin(rig: StereoRig, picture: Projection, askew: number): Warning {
  const across = (half: number) => `${(2 * half * DEGREES_PER_RADIAN).toFixed(0)}°`;
  const [held, seen] = [coveredHalfAngle(rig, picture), coveredHalfAngle(rig, 'fisheye')];
  const room = seen - halfView(rig) - askew;
  const who =
    held < seen
      ? `the half-equirect pictures hold ${across(held)} of the ${across(seen)} that the lenses cover`
      : `the lenses cover ${across(held)}`;
  const off =
    askew > LEAST_SWING
      ? `, an eye looks ${(askew * DEGREES_PER_RADIAN).toFixed(1)}° off the middle`
      : '';
  const fisheye =
    held < seen && room > 0
      ? `; resampled from the fisheye there would be ${(room * DEGREES_PER_RADIAN).toFixed(1)}° of room (--picture fisheye)`
      : '';
  return {
    code: 'rig/no-margin',
    message: `${who} and the view takes ${rig.outputFieldDeg}°${off}: any turn brings an edge into view, so coverage limits nothing and a mask hides the edges${fisheye}`,
  };
}

/** A limit below this would hold every shake, rad: 0.1° (our judgement). */
const LEAST_SWING = 0.1 * RADIANS_PER_DEGREE;

/** Every limit must be above zero, and a share must be one. */
function checkLimits(limits: Limits): void {
  for (const [name, value] of Object.entries(limits)) {
    const values = value instanceof Float64Array ? value : [value];
    const good = (each: unknown) =>
      name === 'uncovered'
        ? each === 'never' || (typeof each === 'number' && each >= 0 && each <= 1)
        : typeof each === 'number' && each > 0;
    const k = Array.from(values).findIndex((each) => each !== undefined && !good(each));
    if (k < 0) continue;
    throw new TwinkeelError('argument/invalid', {
      ...(value instanceof Float64Array && { frame: k }),
      found: `${name} ${values[k]}`,
      expected: name === 'uncovered' ? '"never" or a share from 0 to 1' : 'a number above zero',
      remedy: 'correct the limit, or leave it out to do without one',
    });
  }
}
