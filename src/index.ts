/**
 * Judge and steady stereo 180° footage: orientation tracks or gyro logs in, one corrective
 * rotation per frame out, the same for both eyes. This entry runs in browsers and in Node, and has the whole job
 * at a look; everything that it is made of has an entry for each room: `twinkeel/rotation`, `/track`, `/read`,
 * `/inertial`, `/sync`, `/rig`, `/motion`, `/comfort`, `/handoff`, `/picture`, and files in `/node`.
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
export type { Assessment, MotionFigures } from './comfort/figures.js';
export type { TimeAbove } from './comfort/moments.js';
export type { RigAssessment } from './comfort/rigFigures.js';
export type {
  Stretch,
  StretchCause,
  StretchReason,
  StretchVerdict,
} from './comfort/stretches.js';
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
  type WarningCode,
} from './error.js';
export { toCsv } from './handoff/csv.js';
export { handOff } from './handoff/handOff.js';
export type { HandoffFile, HandoffOptions } from './handoff/handoffOptions.js';
export { toJson } from './handoff/json.js';
export { readResult } from './handoff/readResult.js';
export { HANDOFF_TARGETS, type HandoffTarget } from './handoff/targets.js';
export { type OrientedLog, type OrientLogOptions, orientLog } from './inertial/orientLog.js';
export type { Limits } from './limits.js';
export type { AimKey } from './motion/aim.js';
export type { ClipFrame, FrameAimKey, FrameMarker } from './motion/frameKeys.js';
export type { Marker } from './motion/markers.js';
export {
  type FilterName,
  type SeparateOptions,
  type Separation,
  separate,
} from './motion/separate.js';
export type { ShotKind } from './motion/shot.js';
export type { TakeMove } from './motion/takeMoves.js';
export { type Mapping, parseMapping } from './read/mapping.js';
export { type ReadMotionLogOptions, readMotionLog } from './read/readMotionLog.js';
export { type ReadTrackOptions, readTrack } from './read/readTrack.js';
export { eyeCorrections } from './rig/eyeCorrections.js';
export type { Projection } from './rig/picture.js';
export { type RigDescription, readRig, type StereoRig } from './rig/stereoRig.js';
export { type AlignClocksOptions, alignClocks } from './sync/alignClocks.js';
export type { ClockAlignment } from './sync/clockAlignment.js';
export { type FusedTrack, fuseTrack } from './sync/fuseTrack.js';
export type { Corrections, EarlierCorrections } from './track/corrections.js';
export { type FrameRate, parseFrameRate } from './track/frameRate.js';
export type { MotionLog } from './track/motionLog.js';
export type { OrientationTrack } from './track/orientationTrack.js';
export type { Recording } from './track/recording.js';
export type { TrackerFault } from './track/trackerFaults.js';
