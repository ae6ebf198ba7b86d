import type { CorrectionResult, CorrectOptions } from '../correct.js';
import { correct } from '../correct.js';
import { errorInFile, type Warning } from '../error.js';
import { openRecording, type ReadFileOptions, type Recording } from '../files/openRecording.js';
import { orientLog } from '../inertial/orientLog.js';
import type { OrientationTrack } from '../track/orientationTrack.js';

/** A file that was read and, where it was a log, oriented. */
export interface OpenedClip {
  readonly kind: Recording['kind'];
  readonly track: OrientationTrack;
}

/** Reads a track, or reads and orients a log. */
export async function openClip(path: string, options: ReadFileOptions): Promise<OpenedClip> {
  const recording = await openRecording(path, options);
  if (recording.kind === 'track') return recording;
  try {
    return { kind: 'log', track: orientLog(recording.log).track };
  } catch (error) {
    throw errorInFile(error, path);
  }
}

/** Everything from a file to its corrections, in memory. */
export async function correctFile(
  path: string,
  read: ReadFileOptions,
  options: CorrectOptions,
): Promise<CorrectionResult> {
  const clip = await openClip(path, read);
  try {
    const result = correct(clip.track, options);
    return clip.kind === 'log' && options.frameRate === undefined
      ? { ...result, warnings: [...result.warnings, oneRotationPerLogRow(clip.track)] }
      : result;
  } catch (error) {
    throw errorInFile(error, path);
  }
}

function oneRotationPerLogRow(track: OrientationTrack): Warning {
  return {
    code: 'log/no-frame-rate',
    message: `no frame rate was given, so there is one correction for each of the ${track.times.length} rows of the log; pass the clip's rate, such as 60000/1001, for one per frame`,
  };
}
