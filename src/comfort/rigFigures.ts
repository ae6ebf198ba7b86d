import { DEGREES_PER_RADIAN } from '../math.js';
import type { ClipCoverage } from '../rig/clipCoverage.js';
import { ignoredReadoutArcmin } from '../rig/rollingShutter.js';
import { worstDisparities } from '../rig/stereoCost.js';
import type { StereoRig } from '../rig/stereoRig.js';
import type { VerticalBob } from '../rig/verticalBob.js';
import { typicalBob } from '../rig/verticalBob.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { VERTICAL_DISPARITY } from './criteria.js';

/** What the correction costs the stereo pair, and what it cannot cure. */
export interface RigAssessment {
  /** Largest vertical disparity anywhere in the view for the nearest subject, arcmin. */
  readonly worstDisparityArcmin: number;
  /** The worst of a frame that 95 % of the frames stay below, arcmin. */
  readonly disparity95Arcmin: number;
  /**
   * Distance from which on the disparity of every moment stays below where care begins, m: it falls
   * with the distance.
   */
  readonly comfortableFromM: number;
  /** Largest share of the view that is black in any frame of either eye, without a mask, 0 to 1. */
  readonly uncoveredShare: number;
  /** Largest angle of either eye's own optical axis off the middle of the view, degrees. */
  readonly largestSwingDeg: number;
  /** Largest error if the rolling of the shutter is ignored, arcmin. */
  readonly ignoredReadoutArcmin: number;
  /** The up and down that no rotation takes out, where someone walks. */
  readonly verticalBob?: VerticalBob;
}

/**
 * @param corrections - K from the upright picture to the view, length 4n
 * @param measured - C of the upright picture
 * @param coverage - what both eyes' pictures leave of the view
 * @param worstMoment - largest vertical disparity that lasts a moment, arcmin
 * @param felt - the bob that an accelerometer felt; that of walking people otherwise
 */
export function assessRig(
  corrections: Float64Array,
  measured: OrientationTrack,
  coverage: ClipCoverage,
  rig: StereoRig,
  gait: { readonly walking: boolean; readonly stepFrequency: number },
  worstMoment: number,
  felt?: VerticalBob,
): RigAssessment {
  const verticalBob =
    felt ?? (gait.walking ? typicalBob(gait.stepFrequency, rig.nearestSubjectM) : undefined);
  const disparities = worstDisparities(corrections, rig.interaxialMm, rig.nearestSubjectM).sort();
  return {
    worstDisparityArcmin: disparities[disparities.length - 1]!,
    disparity95Arcmin: disparities[Math.floor(0.95 * (disparities.length - 1))]!,
    comfortableFromM: (rig.nearestSubjectM * worstMoment) / VERTICAL_DISPARITY.care,
    ...edgesOf(coverage),
    ignoredReadoutArcmin: ignoredReadoutArcmin(measured, rig).reduce((a, b) => Math.max(a, b), 0),
    ...(verticalBob && { verticalBob }),
  };
}

/** The worse eye in the worst frame. */
export function edgesOf({
  left,
  right,
}: ClipCoverage): Pick<RigAssessment, 'uncoveredShare' | 'largestSwingDeg'> {
  const worst = (figure: 'uncovered' | 'swings') =>
    [left, right].reduce(
      (most, eye) => eye[figure].reduce((max, value) => Math.max(max, value), most),
      0,
    );
  return {
    uncoveredShare: worst('uncovered'),
    largestSwingDeg: worst('swings') * DEGREES_PER_RADIAN,
  };
}
