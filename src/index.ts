/**
 * Judge and steady stereo 180° footage: orientation tracks or gyro logs in, one corrective
 * rotation per frame out, the same for both eyes. This entry runs in browsers and in Node.
 *
 * In the examples every name of all entries counts as imported. Given are twelve seconds of a night
 * walk through a greenhouse: `track` on 60 frames a second, the same as text in `csv`, a gyro `log`
 * from two seconds before it until two seconds after, a `rig` that reads its rows in 16 ms, and
 * `result`, which is `correct(track, { rig })`; `folder` is an empty folder. What stands behind
 * `expression; //` is the value that comes out.
 *
 * @packageDocumentation
 */
export { CAUTIONS } from './comfort/cautions.js';
export {
  type Assessment,
  type Bands,
  type MotionFigures,
  motionFigures,
  type PerAxis,
} from './comfort/figures.js';
export { motionSicknessWeight } from './comfort/frequencyWeighting.js';
export type { RigAssessment } from './comfort/rigFigures.js';
export type { Stretch, StretchCause, StretchVerdict } from './comfort/stretches.js';
export {
  type Judged,
  judge,
  type Reason,
  type Verdict,
  type VerdictName,
} from './comfort/verdict.js';
export { type CorrectionResult, type CorrectOptions, correct } from './correct.js';
export {
  type ErrorCode,
  type ErrorParts,
  isTwinkeelError,
  type Place,
  TwinkeelError,
  type Warning,
} from './error.js';
export { readCorrections, toCsv, trackToCsv } from './handoff/csv.js';
export { readExr, toExr } from './handoff/exr.js';
export {
  COMMANDS_NAME,
  type FfmpegOptions,
  type FfmpegRun,
  toFfmpeg,
  v360Angles,
} from './handoff/ffmpeg.js';
export { steadyScript } from './handoff/ffmpegScript.js';
export { type GltfMotion, readGltf, toGlb, toGltf } from './handoff/gltf.js';
export { handOff } from './handoff/handOff.js';
export type { HandoffFile, HandoffOptions } from './handoff/handoffOptions.js';
export { readResult, toJson } from './handoff/json.js';
export { type OpenTrackIoOptions, toOpenTrackIo } from './handoff/openTrackIo.js';
export { framesOf, type Motion, orientationsOf } from './handoff/poses.js';
export { describeHandoff, pictureNote } from './handoff/sidecar.js';
export {
  checkPicture,
  type EyeSource,
  type StMap,
  type StMapOptions,
  toStMap,
} from './handoff/stMap.js';
export { HANDOFF_TARGETS, type HandoffTarget } from './handoff/targets.js';
export { trimResult } from './handoff/trim.js';
export { toTum } from './handoff/tum.js';
export { readUsda, toUsda, type UsdaMotion } from './handoff/usda.js';
export {
  type JoinedMotionLog,
  type JoinMotionLogsOptions,
  joinMotionLogs,
} from './inertial/joinMotionLogs.js';
export type { LogQuality, Span } from './inertial/logQuality.js';
export {
  type Estimate,
  type OrientationQuality,
  type OrientedLog,
  type OrientLogOptions,
  orientLog,
} from './inertial/orientLog.js';
export { type StepsOfLog, stepFrequencyOfLog } from './inertial/stepFrequencyOfLog.js';
export type { Limits } from './limits.js';
export { type AimKey, aimPath } from './motion/aim.js';
export type { ClassicFilterName } from './motion/classicFilters.js';
export type { ClipFrame, FrameAimKey, FrameMarker } from './motion/frameKeys.js';
export type { FeltSteps } from './motion/gait.js';
export { levelPath, levelWorld } from './motion/horizon.js';
export type { Marker } from './motion/markers.js';
export type { Coordinates } from './motion/pathCoordinates.js';
export {
  type BodyMotion,
  type FilterName,
  type SeparateOptions,
  type Separation,
  separate,
} from './motion/separate.js';
export type { ShotKind } from './motion/shot.js';
export type { Axes } from './read/axes.js';
export { describeOrientation } from './read/describe.js';
export {
  type ColumnReference,
  type Mapping,
  type OrientationSource,
  parseMapping,
  type RowChoice,
  type Sense,
  type TimeSource,
  type Turn,
  type VectorSource,
} from './read/mapping.js';
export { mappingOfFormat, OPEN_FORMAT_NAMES, type OpenFormatName } from './read/openFormats.js';
export { type AngleSigns, readOpenTrackIo } from './read/openTrackIo.js';
export {
  type ReadMotionLogOptions,
  readAccelerometerLog,
  readMotionLog,
} from './read/readMotionLog.js';
export { type ReadTrackOptions, readTrack } from './read/readTrack.js';
export type { TableLayout } from './read/table.js';
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
  tiltForShare,
  tiltLimit,
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
  readRig,
  type StereoRig,
} from './rig/stereoRig.js';
export { measuredBob, typicalBob, type VerticalBob } from './rig/verticalBob.js';
export {
  alignSigns,
  anglesOfQuaternions,
  angularDistances,
  composeQuaternions,
  headingTiltRollFromQuaternions,
  invertQuaternions,
  normalizeQuaternions,
  quaternionAt,
  quaternionsFromRotationVectors,
  rotateVectors,
  rotationVectorsFromQuaternions,
  vectorAt,
} from './rotation/arrays.js';
export {
  type EulerAngles,
  type EulerFrame,
  type EulerSequence,
  eulerFromQuaternion,
  quaternionFromEuler,
} from './rotation/euler.js';
export {
  type HeadingTiltRoll,
  headingTiltRollFromQuaternion,
  quaternionFromHeadingTiltRoll,
} from './rotation/headingTiltRoll.js';
export { slerp, squad, squadControl } from './rotation/interpolate.js';
export {
  type Matrix3,
  matrixFromQuaternion,
  nearestRotation,
  quaternionFromMatrix,
} from './rotation/matrix.js';
export { meanQuaternion } from './rotation/mean.js';
export {
  angularDistance,
  IDENTITY,
  invertQuaternion,
  multiplyQuaternions,
  normalizeQuaternion,
  type Quaternion,
  quaternionFromAxisAngle,
  rotateVector,
  type Vector3,
} from './rotation/quaternion.js';
export {
  quaternionFromRotationVector,
  rotationVectorFromQuaternion,
} from './rotation/rotationVector.js';
export { type SwingTwist, swingTwist } from './rotation/swingTwist.js';
export { type AlignClocksOptions, alignClocks } from './sync/alignClocks.js';
export type {
  AcceptedClock,
  ClockAlignment,
  ClockRefusal,
  RefusedClock,
} from './sync/clockAlignment.js';
export { type FusedTrack, fusedAtLogRate, fuseTrack } from './sync/fuseTrack.js';
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
