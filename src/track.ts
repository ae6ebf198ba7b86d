/**
 * An orientation over time: checked tracks and motion logs, exact frame rates and time code, resampling, angular
 * rates, corrections that are folded in, retiming, faults of a tracker. The examples start from the same things
 * as those of `twinkeel`.
 *
 * @packageDocumentation
 */
export { angularRate } from './track/angularRate.js';
export { composeTracks, invertTrack } from './track/compose.js';
export {
  type Corrections,
  correctionsAt,
  type EarlierCorrections,
  trackBeforeCorrections,
} from './track/corrections.js';
export {
  type FrameRate,
  formatFrameRate,
  framesPerSecond,
  frameTime,
  frameTimes,
  parseFrameRate,
} from './track/frameRate.js';
export { integrateRate, type RateSampling, rotationIncrements } from './track/integrate.js';
export {
  type AccelerometerLog,
  createAccelerometerLog,
  createMotionLog,
  type MotionLog,
  type MotionLogParts,
} from './track/motionLog.js';
export {
  createTrack,
  type OrientationTrack,
  type TrackParts,
  type UpSource,
  type Vertical,
} from './track/orientationTrack.js';
export type { LogOffset, Recording } from './track/recording.js';
export {
  type FramedTrack,
  type Interpolation,
  interpolateTrack,
  resampleToFrames,
} from './track/resample.js';
export {
  createRetiming,
  editTimes,
  originalTimes,
  type Retiming,
  trimmed,
} from './track/retiming.js';
export { formatTimecode, parseTimecode } from './track/timecode.js';
export {
  type FaultKind,
  type MendedTrack,
  mendTracker,
  type TrackerFault,
} from './track/trackerFaults.js';
