/**
 * Real recordings of a gyroscope and accelerometer with optical reference orientations: extracts
 * of BROAD (Laidig, Caruso, Cereatti, Seel, "BROAD – A Benchmark for Robust Inertial Orientation
 * Estimation", Data 6(7):72, 2021, doi 10.3390/data6070072, CC BY 4.0; 90 s windows, reference
 * decimated 5:1). They lie beside the project on the developers' machines and are never part of it.
 */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { readMotionLog } from '../../src/read/readMotionLog.js';
import { scanTable } from '../../src/read/scanTable.js';
import type { MotionLog } from '../../src/track/motionLog.js';

export const BROAD_FOLDER = new URL('../../../shared/data/broad/', import.meta.url).pathname;

/** Sensor axes right, forward, up, so that the vertical of the files becomes ours. */
export const BROAD_LOG_MAPPING = `
time: column "t" unit s
rate: x "gx" y "gy" z "gz" rad/s
accel: x "ax" y "ay" z "az" m/s2 at-rest up
axes sensor: x right, y forward, z up`;

export const BROAD_TRACK_MAPPING = `
time: column "t" unit s
quaternion: w "qw" x "qx" y "qy" z "qz" sense camera-to-world
axes camera: x right, y forward, z up
axes world: x east, y north, z up`;

export interface BroadRecording {
  readonly name: string;
  readonly log: MotionLog;
  /** Reference: seconds, quaternions x, y, z, w (sensor→earth in our axes), rows that count. */
  readonly times: Float64Array;
  readonly quaternions: Float64Array;
  readonly scored: Uint8Array;
}

/** The recordings, or an empty list where the folder does not exist. */
export function broadRecordings(): BroadRecording[] {
  if (!existsSync(BROAD_FOLDER)) return [];
  return readdirSync(BROAD_FOLDER)
    .filter((file) => file.endsWith('_imu.csv'))
    .sort()
    .map((file) => {
      const name = file.replace('_imu.csv', '');
      const log = readMotionLog(readFileSync(join(BROAD_FOLDER, file)), {
        mapping: BROAD_LOG_MAPPING,
      });
      const table = scanTable(readFileSync(join(BROAD_FOLDER, `${name}_ref.csv`)));
      const [times, w, x, y, z, moving] = [0, 1, 2, 3, 4, 5].map((c) => table.numbers(c)) as [
        Float64Array,
        Float64Array,
        Float64Array,
        Float64Array,
        Float64Array,
        Float64Array,
      ];
      // Sensor→earth with z up becomes ours on both sides: (x, y, z) → (x, z, −y).
      const quaternions = new Float64Array(4 * times.length);
      for (let k = 0; k < times.length; k++) {
        quaternions.set([x[k]!, z[k]!, -y[k]!, w[k]!], 4 * k);
      }
      return { name, log, times, quaternions, scored: Uint8Array.from(moving) };
    });
}
