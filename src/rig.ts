/**
 * The two lenses: their description and alignment, what each picture holds, rolling shutter, stereo cost, the mount,
 * and up and down that no rotation cures. The examples start from the same things as those of `twinkeel`.
 *
 * @packageDocumentation
 */
export { alignLenses, type LensAlignment } from './rig/alignment.js';
export {
  type ClipCoverage,
  clipCoverage,
  type EyeCoverage,
  type Viewed,
} from './rig/clipCoverage.js';
export {
  bestMask,
  type CircularMask,
  centredMask,
  coveredHalfAngle,
  swingForShare,
  swingLimit,
  uncoveredShare,
} from './rig/coverage.js';
export { eyeCorrections } from './rig/eyeCorrections.js';
export {
  angleOfRadius,
  directionOfPoint,
  type ImageCircle,
  imageRadius,
  type LensMapping,
} from './rig/lens.js';
export { detectMount, type MountGuess, turnMount } from './rig/mount.js';
export type { EyeLayout, Projection, StereoPicture } from './rig/picture.js';
export {
  ignoredReadoutArcmin,
  rowCorrections,
  rowOfDirection,
  sourceDirection,
} from './rig/rollingShutter.js';
export {
  baselineTurnLimit,
  type StereoCost,
  stereoCost,
  verticalDisparity,
} from './rig/stereoCost.js';
export {
  DEFAULT_RIG,
  type EyeReadout,
  type RigDescription,
  type RigEye,
  readRig,
  type StereoRig,
} from './rig/stereoRig.js';
export { measuredBob, typicalBob, type VerticalBob } from './rig/verticalBob.js';
