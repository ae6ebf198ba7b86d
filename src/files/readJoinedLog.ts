import { errorInFile } from '../error.js';
import { joinMotionLogs } from '../inertial/joinMotionLogs.js';
import type { Mapping } from '../read/mapping.js';
import type { MotionLog } from '../track/motionLog.js';
import {
  type ReadFileOptions,
  readAccelerometerLogFile,
  readMotionLogFile,
} from './openRecording.js';

/** An accelerometer's file beside that of its gyroscope. */
export interface AccelerometerFile {
  readonly path: string;
  readonly mapping?: Mapping;
  /** When its first row was, s from the gyroscope's first row. */
  readonly offset?: number;
}

/** A gyroscope's log from its file, with the accelerometer of another file where one is named. */
export async function readJoinedLog(
  path: string,
  options: Pick<ReadFileOptions, 'mapping' | 'format'>,
  accel?: AccelerometerFile,
): Promise<MotionLog> {
  return withAccelerometer(await readMotionLogFile(path, options), accel);
}

/** A log with the accelerometer of another file, where one is named. */
export async function withAccelerometer(
  log: MotionLog,
  accel: AccelerometerFile | undefined,
): Promise<MotionLog> {
  if (!accel) return log;
  const { path, mapping, offset } = accel;
  const accelerometer = await readAccelerometerLogFile(path, mapping ? { mapping } : {});
  try {
    return joinMotionLogs(log, accelerometer, offset === undefined ? {} : { offset }).log;
  } catch (error) {
    throw errorInFile(error, path);
  }
}
