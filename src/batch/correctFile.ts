import type { CorrectionResult, CorrectOptions } from '../correct.js';
import { correct } from '../correct.js';
import { errorInFile, TwinkeelError } from '../error.js';
import { type FileRecording, openRecording, type ReadFileOptions } from '../files/openRecording.js';
import { fileStamp } from '../files/readFile.js';
import {
  type AccelerometerFile,
  readJoinedLog,
  withAccelerometer,
} from '../files/readJoinedLog.js';
import { orientLog } from '../inertial/orientLog.js';
import type { AlignClocksOptions } from '../sync/alignClocks.js';
import type { MotionLog } from '../track/motionLog.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import type { Recording } from '../track/recording.js';

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
  const recording = await openForClip(path, options, accel);
  if (recording.kind === 'track') return recording;
  try {
    return { ...recording, track: orientLog(recording.log).track };
  } catch (error) {
    throw errorInFile(error, path);
  }
}

/** Reads what a clip's file holds, with the accelerometer of a log where that has a file of its own. */
async function openForClip(
  path: string,
  options: ReadFileOptions,
  accel?: AccelerometerFile,
): Promise<FileRecording> {
  const recording = await openRecording(path, options);
  if (recording.kind === 'log') {
    return { kind: 'log', log: await withAccelerometer(recording.log, accel) };
  }
  if (accel) throw accelerometerOfTrack(path, accel.path);
  return recording;
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
  const recording = await openForClip(path, read, accel);
  const log = logOfClip && (await readLogOnce(logOfClip));
  try {
    return correct(log ? joined(recording, log, logOfClip.offset) : recording, options);
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

/** A track and the log of the same take. */
function joined(
  recording: Recording,
  log: MotionLog,
  offset: AlignClocksOptions['offset'],
): Recording {
  if (recording.kind === 'track') {
    return { ...recording, kind: 'track-and-log', log, ...(offset && { offset }) };
  }
  throw new TwinkeelError('argument/invalid', {
    found: 'a motion log as the clip and another beside it',
    expected: 'a track of the picture to line the log up with',
    remedy: "give the picture's track as the file, or leave --log out",
  });
}
