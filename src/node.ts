/**
 * Files for Node: reading tracks and logs (also tables with quoted cells), writing results whole
 * or not at all.
 *
 * @packageDocumentation
 */
export {
  openRecording,
  type ReadFileOptions,
  type Recording,
  readMotionLogFile,
  readTrackFile,
} from './files/openRecording.js';
export { type Matches, readMatchesFile } from './files/readMatches.js';
export { type WriteOptions, writeResult } from './files/writeFiles.js';
