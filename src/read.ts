/**
 * From text and JSON to tracks and logs: mappings in words, open formats by name, and how an orientation reads
 * in words. The examples start from the same things as those of `twinkeel`.
 *
 * @packageDocumentation
 */
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
export { type UprightAxes, uprightAxes } from './read/uprightAxes.js';
