import { DEGREES_PER_RADIAN } from '../math.js';
import {
  axisTilts,
  bestMask,
  type CircularMask,
  coveredHalfAngle,
  uncoveredShare,
} from '../rig/coverage.js';
import { ignoredReadoutArcmin } from '../rig/rollingShutter.js';
import { worstDisparities } from '../rig/stereoCost.js';
import type { StereoRig } from '../rig/stereoRig.js';
import type { VerticalBob } from '../rig/verticalBob.js';
import { typicalBob } from '../rig/verticalBob.js';
import type { OrientationTrack } from '../track/orientationTrack.js';

/** What the correction costs the stereo pair, and what it cannot cure. */
export interface RigAssessment {
  /** Largest vertical disparity anywhere in the view for the nearest subject, arcmin. */
  readonly worstDisparityArcmin: number;
  /** The worst of a frame that 95 % of the frames stay below, arcmin. */
  readonly disparity95Arcmin: number;
  /** Largest share of the view that is black in any frame, 0 to 1. */
  readonly uncoveredShare: number;
  /** Largest turn of the optical axis, degrees. */
  readonly largestSwingDeg: number;
  /** Largest error if the rolling of the shutter is ignored, arcmin. */
  readonly ignoredReadoutArcmin: number;
  /** The up and down that no rotation takes out, where someone walks. */
  readonly verticalBob?: VerticalBob;
}

/** Width of a mask's soft edge, rad: 2° (our judgement). */
const FEATHER = 2 / DEGREES_PER_RADIAN;

/**
 * @param corrections - K from the upright picture to the view, length 4n
 * @param measured - C of the upright picture
 */
export function assessRig(
  corrections: Float64Array,
  measured: OrientationTrack,
  rig: StereoRig,
  gait: { readonly walking: boolean; readonly stepFrequency: number },
): RigAssessment {
  const disparities = worstDisparities(corrections, rig.interaxialMm, rig.nearestSubjectM).sort();
  const swing = axisTilts(corrections).reduce((max, tilt) => Math.max(max, tilt), 0);
  const view = (rig.outputFieldDeg / 2) * (Math.PI / 180);
  return {
    worstDisparityArcmin: disparities[disparities.length - 1]!,
    disparity95Arcmin: disparities[Math.floor(0.95 * (disparities.length - 1))]!,
    uncoveredShare: uncoveredShare(swing, coveredHalfAngle(rig), view),
    largestSwingDeg: swing * DEGREES_PER_RADIAN,
    ignoredReadoutArcmin: ignoredReadoutArcmin(measured, rig).reduce((a, b) => Math.max(a, b), 0),
    ...(gait.walking && { verticalBob: typicalBob(gait.stepFrequency, rig.nearestSubjectM) }),
  };
}

/** The window that hides every edge of the clip, or undefined where no edge comes into view. */
export function maskOf(corrections: Float64Array, rig: StereoRig): CircularMask | undefined {
  const lens = coveredHalfAngle(rig);
  const view = (rig.outputFieldDeg / 2) * (Math.PI / 180);
  const largest = axisTilts(corrections).reduce((max, tilt) => Math.max(max, tilt), 0);
  return largest <= lens - view ? undefined : bestMask(corrections, lens, FEATHER);
}
