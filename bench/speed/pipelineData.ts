import { closeSync, openSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import {
  composeQuaternions,
  invertQuaternions,
  rotationVectorsFromQuaternions,
} from '../../src/rotation/arrays.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import { invertQuaternion, rotateVector } from '../../src/rotation/quaternion.js';
import { frameTimes } from '../../src/track/frameRate.js';
import { seededRandom } from '../accuracy/random.js';

/** An hour of a log at 1 kHz and of a track at 60000/1001. */
export const SECONDS = 3600;
const LOG_RATE = 1000;
const FRAME_RATE = { numerator: 60000, denominator: 1001 };

/** A slow bias of the gyro, rad/s per axis: an hour of it turns a track by several radians. */
const BIAS = [0.0015, -0.001, 0.0008] as const;
const GRAVITY = 9.80665;

/**
 * Writes `log.csv` and `track.csv`: a walk through the greenhouse as a gyro with bias and noise
 * logged it, and as a tracker saw it, noisy but without drift; both clocks are the same.
 */
export function writePipelineData(folder: string): void {
  writeLog(join(folder, 'log.csv'));
  const random = seededRandom('pipeline track');
  const times = frameTimes(FRAME_RATE, Math.floor((SECONDS * 60000) / 1001));
  const quaternions = walk(times, () => 0.001 * random.normal());
  writeLines(join(folder, 'track.csv'), 'frame,time_s,x,y,z,w', times.length, (k) => {
    const q = [...quaternions.subarray(4 * k, 4 * k + 4)].map((value) => value.toFixed(9));
    return `${k},${times[k]!.toFixed(9)},${q.join(',')}`;
  });
}

function writeLog(path: string): void {
  const random = seededRandom('pipeline log');
  const times = Float64Array.from({ length: SECONDS * LOG_RATE }, (_, k) => k / LOG_RATE);
  const truth = walk(times, () => 0);
  const turned = rotationVectorsFromQuaternions(
    composeQuaternions(invertQuaternions(truth.subarray(0, truth.length - 4)), truth.subarray(4)),
  );
  writeLines(path, 'time_s,gx,gy,gz,ax,ay,az', times.length, (k) => {
    const cells = [times[k]!.toFixed(3)];
    for (let axis = 0; axis < 3; axis++) {
      // A row is the mean over the interval that ends at its time; the first has none.
      const mean = k === 0 ? 0 : turned[3 * (k - 1) + axis]! * LOG_RATE;
      cells.push((mean + BIAS[axis]! + 0.002 * random.normal()).toFixed(6));
    }
    const [x, y, z, w] = truth.subarray(4 * k, 4 * k + 4) as unknown as [
      number,
      number,
      number,
      number,
    ];
    for (const force of rotateVector(invertQuaternion([x, y, z, w]), [0, GRAVITY, 0])) {
      cells.push((force + 0.05 * random.normal()).toFixed(4));
    }
    return cells.join(',');
  });
}

/** Turns in the beds' bends, two steps a second, and what `shake` adds to each angle, rad. */
function walk(times: Float64Array, shake: () => number): Float64Array {
  const out = new Float64Array(4 * times.length);
  times.forEach((t, k) => {
    const heading = 1.3 * Math.sin(0.05 * t) + 0.6 * Math.sin(0.21 * t) + 0.02 * Math.sin(6.1 * t);
    const tilt = 0.15 * Math.sin(0.17 * t) + 0.012 * Math.sin(12.2 * t + 0.5);
    const roll = 0.03 * Math.sin(0.11 * t) + 0.015 * Math.sin(6.1 * t + 1);
    out.set(
      quaternionFromHeadingTiltRoll(heading + shake(), tilt + shake(), roll + shake()),
      4 * k,
    );
  });
  return out;
}

/** Writes a table a few thousand rows at a time. */
function writeLines(path: string, header: string, rows: number, line: (k: number) => string): void {
  const file = openSync(path, 'w');
  let text = `${header}\n`;
  for (let k = 0; k < rows; k++) {
    text += `${line(k)}\n`;
    if (k % 4096 !== 0 && k + 1 < rows) continue;
    writeSync(file, text);
    text = '';
  }
  closeSync(file);
}
