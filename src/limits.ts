import { TwinkeelError, type Warning } from './error.js';
import { DEGREES_PER_RADIAN, RADIANS_PER_DEGREE } from './math.js';
import type { CorrectionLimit } from './motion/correctionLimit.js';
import { coveredHalfAngle, tiltForShare, tiltLimit } from './rig/coverage.js';
import { furthestRowMs } from './rig/rollingShutter.js';
import { baselineTurnLimit } from './rig/stereoCost.js';
import type { StereoRig } from './rig/stereoRig.js';
import { angularRate } from './track/angularRate.js';
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

/** Vertical disparity that is allowed where nothing is said, arcmin (our judgement: between care above 5 and reshoot above 20 of the verdict). */
const DEFAULT_DISPARITY = 15;

/** The limits at every frame in radians; none when nothing is limited. */
export function limitOfFrames(
  limits: Limits,
  measured: OrientationTrack,
  rig: StereoRig | undefined,
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
  const ofRig = rig ? rigLimits(limits, measured, rig) : { warnings: [] };
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

/** What the lenses cover and the eyes bear, rad. */
function rigLimits(
  limits: Limits,
  measured: OrientationTrack,
  rig: StereoRig,
): { swing?: Float64Array; baseline?: number; warnings: readonly Warning[] } {
  const baseline = baselineTurnLimit(
    limits.verticalDisparityArcmin ?? DEFAULT_DISPARITY,
    rig.interaxialMm,
    rig.nearestSubjectM,
  );
  const { uncovered = 'never' } = limits;
  const free =
    uncovered === 'never'
      ? tiltLimit(rig)
      : tiltForShare(uncovered, coveredHalfAngle(rig), (rig.outputFieldDeg * Math.PI) / 360);
  const finite = baseline < Number.POSITIVE_INFINITY ? { baseline } : {};
  if (free < LEAST_SWING) {
    return {
      ...finite,
      warnings: [
        {
          code: 'rig/no-margin',
          message: `the lenses cover ${(2 * coveredHalfAngle(rig) * DEGREES_PER_RADIAN).toFixed(0)}° and the view takes ${rig.outputFieldDeg}°: any turn brings an edge into view, so coverage limits nothing and a mask hides the edges`,
        },
      ],
    };
  }
  // Until the row that is read furthest from the frame's time the camera turns on.
  const furthestMs = furthestRowMs(rig);
  const rates = angularRate(measured, 'camera');
  const swing = Float64Array.from({ length: measured.times.length }, (_, k) => {
    const rate = Math.hypot(rates[3 * k]!, rates[3 * k + 1]!);
    return Math.max(LEAST_SWING, free - (rate * furthestMs) / 1000);
  });
  return { ...finite, swing, warnings: [] };
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
