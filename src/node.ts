/**
 * Files for Node: reading tracks and logs (also tables with quoted cells), writing results whole
 * or not at all. The examples start from the same things as those of `twinkeel`.
 *
 * @packageDocumentation
 */
export type { FrameSpan } from './batch/frameSpan.js';
export type { PictureOptions } from './batch/movieFit.js';
export type { ResampleMovieOptions, ResampleProgress } from './batch/planMovie.js';
export { type ResampledMovie, resampleMovie } from './batch/resampleMovie.js';
export { correctShoot, type ShootOptions } from './batch/shoot.js';
export type { ClipSummary, Summary } from './batch/summary.js';
export { mergeSummaries, readSummary } from './batch/summary.js';
export {
  type FileRecording,
  openRecording,
  type ReadFileOptions,
  readAccelerometerLogFile,
  readMotionLogFile,
  readTrackFile,
} from './files/openRecording.js';
export { type Matches, readMatchesFile } from './files/readMatches.js';
export { readResultFile } from './files/readResultFile.js';
export type { FileToWrite } from './files/stage.js';
export { type WriteOptions, writeFiles, writeResult } from './files/writeFiles.js';
