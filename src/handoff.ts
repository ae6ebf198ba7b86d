/**
 * Results in open formats, and back again: tables, JSON, glTF, USD, OpenTrackIO, TUM, ffmpeg, ST maps, and the
 * stretches of a take for editors. The examples start from the same things as those of `twinkeel`.
 *
 * @packageDocumentation
 */
export { readCorrections, toCsv, trackToCsv } from './handoff/csv.js';
export { toEdl } from './handoff/edl.js';
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
export { toJson } from './handoff/json.js';
export { toMarkersCsv } from './handoff/markersCsv.js';
export { type OpenTrackIoOptions, toOpenTrackIo } from './handoff/openTrackIo.js';
export { type OtioOptions, toOtio } from './handoff/otio.js';
export { framesOf, type Motion, orientationsOf } from './handoff/poses.js';
export { readResult } from './handoff/readResult.js';
export { describeHandoff, pictureNote } from './handoff/sidecar.js';
export {
  checkPicture,
  type EyeSource,
  type StMap,
  type StMapOptions,
  toStMap,
} from './handoff/stMap.js';
export type { MovieClock } from './handoff/takeParts.js';
export { HANDOFF_TARGETS, type HandoffTarget } from './handoff/targets.js';
export { trimResult } from './handoff/trim.js';
export { toTum } from './handoff/tum.js';
export { readUsda, toUsda, type UsdaMotion } from './handoff/usda.js';
