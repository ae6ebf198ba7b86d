import { judge } from '../comfort/verdict.js';
import type { CorrectionResult, CorrectOptions } from '../correct.js';
import { correct } from '../correct.js';
import { errorInFile, TwinkeelError, type Warning } from '../error.js';
import { openRecording, type ReadFileOptions } from '../files/openRecording.js';
import { fileStamp } from '../files/readFile.js';
import {
  type AccelerometerFile,
  readJoinedLog,
  withAccelerometer,
} from '../files/readJoinedLog.js';
import { orientLog } from '../inertial/orientLog.js';
import { measuredBob } from '../rig/verticalBob.js';
import type { AlignClocksOptions } from '../sync/alignClocks.js';
import { fuseTrack } from '../sync/fuseTrack.js';
import type { MotionLog } from '../track/motionLog.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { resampleToFrames } from '../track/resample.js';

/** A file that was read and, where it was a log, oriented. */
export type OpenedClip =
  | { readonly kind: 'track'; readonly track: OrientationTrack }
  | { readonly kind: 'log'; readonly track: OrientationTrack; readonly log: MotionLog };

/** Reads a track, or reads and orients a log. */
export async function openClip(
  path: string,
  options: ReadFileOptions,
  accel?: AccelerometerFile,
): Promise<OpenedClip> {
  const recording = await openRecording(path, options);
  if (recording.kind === 'track') {
    if (accel) throw accelerometerOfTrack(path, accel.path);
    return recording;
  }
  const log = await withAccelerometer(recording.log, accel);
  try {
    return { kind: 'log', log, track: orientLog(log).track };
  } catch (error) {
    throw errorInFile(error, path);
  }
}

function accelerometerOfTrack(file: string, accel: string): TwinkeelError {
  return new TwinkeelError('argument/invalid', {
    file,
    found: `a track, which needs no accelerometer, and ${accel} beside it`,
    expected: "a gyroscope's log as the file",
    remedy: 'leave --accel out; for the accelerometer of a log beside the track write --log-accel',
  });
}

/** A motion log that goes with a clip. */
export interface LogOfClip {
  readonly path: string;
  /** A hint at how long before the clip the log starts. */
  readonly offset?: AlignClocksOptions['offset'];
  readonly mapping?: NonNullable<ReadFileOptions['mapping']>;
  /** The file of its accelerometer, where that has one of its own. */
  readonly accel?: AccelerometerFile;
}

/** Everything from a file to its corrections, in memory. */
export async function correctFile(
  path: string,
  read: ReadFileOptions,
  options: CorrectOptions,
  logOfClip?: LogOfClip,
  accel?: AccelerometerFile,
): Promise<CorrectionResult> {
  const clip = await openClip(path, read, accel);
  const log = logOfClip && (await readLogOnce(logOfClip));
  try {
    const result = correct(
      log ? joined(clip, log, options, logOfClip.offset) : clip.track,
      options,
    );
    return clip.kind === 'log' ? withLogFigures(result, clip, options) : result;
  } catch (error) {
    throw errorInFile(error, path);
  }
}

/** The log read last: one log usually goes with many clips, and an hour of it takes seconds. */
let lastLog: { readonly key: string; readonly log: MotionLog } | undefined;

async function readLogOnce({ path, mapping, accel }: LogOfClip): Promise<MotionLog> {
  const options = mapping === undefined ? {} : { mapping };
  const key = `${fileStamp(path)} ${JSON.stringify(mapping)} ${accel && fileStamp(accel.path)} ${JSON.stringify(accel)}`;
  if (lastLog?.key !== key) lastLog = { key, log: await readJoinedLog(path, options, accel) };
  return lastLog.log;
}

/** The picture's track with the fast motion of its log. */
function joined(
  clip: OpenedClip,
  log: MotionLog,
  { frameRate }: CorrectOptions,
  offset: AlignClocksOptions['offset'],
): OrientationTrack {
  if (clip.kind === 'log') {
    throw new TwinkeelError('argument/invalid', {
      found: 'a motion log as the clip and another beside it',
      expected: 'a track of the picture to line the log up with',
      remedy: "give the picture's track as the file, or leave --log out",
    });
  }
  const { track } = resampleToFrames(clip.track, frameRate);
  return fuseTrack(log, track, offset ? { offset } : {}).track;
}

/** What only a log can add: the bob that its accelerometer felt, and which rows were corrected. */
function withLogFigures(
  result: CorrectionResult,
  { log, track }: { log: MotionLog; track: OrientationTrack },
  options: CorrectOptions,
): CorrectionResult {
  const { rig, rigAssessment } = result;
  const verticalBob =
    rig && log.acceleration
      ? measuredBob(log.times, track.quaternions, log.acceleration, rig.nearestSubjectM)
      : undefined;
  const withBob = {
    ...result,
    ...(rigAssessment && {
      rigAssessment: { ...rigAssessment, ...(verticalBob && { verticalBob }) },
    }),
  };
  return {
    ...withBob,
    // Judged anew, since the bob is another one now.
    ...judge(withBob),
    warnings:
      options.frameRate === undefined
        ? [...result.warnings, oneRotationPerLogRow(track)]
        : result.warnings,
  };
}

function oneRotationPerLogRow(track: OrientationTrack): Warning {
  return {
    code: 'log/no-frame-rate',
    message: `no frame rate was given, so there is one correction for each of the ${track.times.length} rows of the log; pass the clip's rate, such as 60000/1001, for one per frame`,
  };
}
