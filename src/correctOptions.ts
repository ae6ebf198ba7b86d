import type { Limits } from './limits.js';
import type { AimKey } from './motion/aim.js';
import type { FrameAimKey, FrameMarker } from './motion/frameKeys.js';
import type { Marker } from './motion/markers.js';
import type { SeparateOptions } from './motion/separate.js';
import type { Projection } from './rig/picture.js';
import type { StereoRig } from './rig/stereoRig.js';
import type { EarlierCorrections } from './track/corrections.js';
import type { FrameRate } from './track/frameRate.js';

/** How to correct. */
export interface CorrectOptions extends Omit<SeparateOptions, 'steps' | 'markers'> {
  /** Exact frame rate of the clip; the track's own when left out. */
  readonly frameRate?: FrameRate;
  /** Time code of the clip's first frame, for stretches; needs an exact frame rate. */
  readonly timecode?: string;
  /** Share of the roll to take out: 1 (default) levels the horizon, 0 keeps the operator's roll. */
  readonly level?: number;
  /** A moment, seconds from the first sample, at which the camera stood level. */
  readonly levelAt?: number;
  /** Where the centre of the view shall look at given moments or frames. */
  readonly aim?: readonly (AimKey | FrameAimKey)[];
  /** What is meant, and what is not, from second to second or frame to frame. */
  readonly markers?: readonly (Marker | FrameMarker)[];
  /** How far the correction may go; without limits and rig it is free. */
  readonly limits?: Limits;
  /** The two lenses; without it neither coverage nor stereo comfort is minded. */
  readonly rig?: StereoRig;
  /**
   * The picture of each eye that will be resampled: what it holds bounds the correction where a rig
   * is given. Default: half-equirect.
   */
  readonly picture?: Projection;
  /**
   * Corrections already in the footage that was tracked, in the order they were applied. The result
   * replaces them all: it corrects the original footage, on whose frames it lies.
   */
  readonly earlier?: readonly EarlierCorrections[];
}
