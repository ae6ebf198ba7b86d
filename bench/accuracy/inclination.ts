/**
 * How far the horizon of an oriented log is off: against optical references (BROAD) and against
 * synthetic hand-held walks, beside three baselines.
 */

import { orientLog } from '../../src/inertial/orientLog.js';
import { quaternionAt, rotateVectors } from '../../src/rotation/arrays.js';
import {
  invertQuaternion,
  multiplyQuaternions,
  type Quaternion,
} from '../../src/rotation/quaternion.js';
import { quaternionFromRotationVector } from '../../src/rotation/rotationVector.js';
import { integrateRate } from '../../src/track/integrate.js';
import type { MotionLog } from '../../src/track/motionLog.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import { interpolateTrack } from '../../src/track/resample.js';
import { BROAD_FOLDER, broadRecordings } from './broad.js';
import { makeHandheldLog } from './handheldLog.js';
import { printTable } from './table.js';
import type { WalkKind } from './walks.js';

/** One shift for all recordings: what is left of the sensors' delay after half a sample, s. */
export const FIXED_SHIFT = 0.00245;

/** The methods that are compared; each gives a track at the samples of the log. */
const METHODS: Readonly<Record<string, (log: MotionLog) => OrientationTrack>> = {
  'integrated as it is': (log) => trackOf(log, integrated(log, [0, 0, 0])),
  'integrated less the mean of 3 s': (log) => trackOf(log, integrated(log, meanRate(log, 3))),
  'complementary filter': (log) => trackOf(log, complementary(log)),
  orientLog: (log) => orientLog(log).track,
};

export function printInclination(): void {
  const recordings = broadRecordings();
  if (recordings.length === 0) {
    console.log(`BROAD recordings: skipped, there is no ${BROAD_FOLDER}\n`);
  } else {
    for (const [title, shift] of [
      ['as it is', 0],
      [`output shifted by ${(FIXED_SHIFT * 1000).toFixed(2)} ms for all`, FIXED_SHIFT],
    ] as const) {
      const rows = recordings.map(({ name, log, times, quaternions, scored }) => [
        name.replace('broad_', ''),
        ...Object.values(METHODS).map((method) =>
          inclinationRms(method(log), times, quaternions, shift, scored),
        ),
      ]);
      printTable(
        `Inclination error on BROAD extracts, degrees RMS over the scored rows, ${title}`,
        ['recording', ...Object.keys(METHODS)],
        withMeanAndWorst(rows),
      );
    }
  }
  const rows = HANDHELD.map(([kind, seed]) => {
    const { log, truth } = makeHandheldLog(kind, seed, 60);
    return [
      `${kind} ${seed}`,
      ...Object.values(METHODS).map((method) => inclinationRms(method(log), log.times, truth, 0)),
    ];
  });
  printTable(
    'Inclination error on synthetic hand-held walks (gyro bias 4 °/s, accelerometer bias 0.15 m/s²), degrees RMS',
    ['walk', ...Object.keys(METHODS)],
    withMeanAndWorst(rows),
  );
}

/** Seeds from 100000 on were not looked at while the method was tuned. */
const HANDHELD: readonly (readonly [WalkKind, number])[] = (
  ['roaming', 'roaming', 'turn90', 'heading', 'locked', 'panhold', 'scurve', 'tilt'] as const
).map((kind, k) => [kind, 100200 + k]);

/**
 * Root mean square angle between the estimated and the true vertical, degrees.
 *
 * @param shift - seconds by which the estimate is read later than the reference
 */
export function inclinationRms(
  track: OrientationTrack,
  times: Float64Array,
  reference: Float64Array,
  shift: number,
  scored?: Uint8Array,
): number {
  const estimate = interpolateTrack(
    track,
    times.map((time) => time + shift),
  );
  let sum = 0;
  let count = 0;
  for (let k = 0; k < times.length; k++) {
    if (scored && !scored[k]) continue;
    // e = q_est conj(q_ref) in the world; what is left besides a turn about the vertical.
    const [, y, , w] = multiplyQuaternions(
      quaternionAt(estimate, k),
      invertQuaternion(quaternionAt(reference, k)),
    );
    const error = 2 * Math.acos(Math.min(1, Math.hypot(w, y)));
    sum += error * error;
    count++;
  }
  return (Math.sqrt(sum / count) * 180) / Math.PI;
}

function withMeanAndWorst(rows: (string | number)[][]): (string | number)[][] {
  const columns = rows[0]!.length;
  const figure = (name: string, of: (values: number[]) => number) => [
    name,
    ...Array.from({ length: columns - 1 }, (_, c) => of(rows.map((row) => row[c + 1] as number))),
  ];
  return [
    ...rows,
    figure('mean', (values) => values.reduce((sum, v) => sum + v, 0) / values.length),
    figure('worst', (values) => Math.max(...values)),
  ];
}

function trackOf(log: MotionLog, quaternions: Float64Array): OrientationTrack {
  return createTrack({ times: log.times, quaternions });
}

function integrated(log: MotionLog, bias: readonly number[]): Float64Array {
  const rate = log.rate.map((value, i) => value - bias[i % 3]!);
  return integrateRate(log.times, rate, startUpright(log), 'interval');
}

/** Shortest turn from the mean force of the first half second to the vertical. */
function startUpright(log: MotionLog): Quaternion {
  const sum = [0, 0, 0];
  for (let k = 0; k < log.times.length && log.times[k]! < 0.5; k++) {
    for (let axis = 0; axis < 3; axis++) sum[axis]! += log.acceleration![3 * k + axis]!;
  }
  const [x, y, z] = sum as [number, number, number];
  const w = Math.hypot(x, y, z) + y;
  const norm = Math.hypot(x, z, w);
  return [-z / norm, 0, x / norm, w / norm];
}

function meanRate(log: MotionLog, seconds: number): number[] {
  const sum = [0, 0, 0];
  let count = 0;
  for (let k = 0; k < log.times.length && log.times[k]! < seconds; k++, count++) {
    for (let axis = 0; axis < 3; axis++) sum[axis]! += log.rate[3 * k + axis]!;
  }
  return sum.map((value) => value / count);
}

/**
 * A complementary filter of our own: integrates forward and turns the vertical towards the measured
 * force with a time constant of 6 s, the rest of the error going to the gyro's bias.
 */
function complementary(log: MotionLog): Float64Array {
  const n = log.times.length;
  const out = new Float64Array(4 * n);
  let q = startUpright(log);
  const bias = [0, 0, 0];
  out.set(q);
  for (let k = 1; k < n; k++) {
    const h = log.times[k]! - log.times[k - 1]!;
    const step = [0, 1, 2].map((axis) => (log.rate[3 * k + axis]! - bias[axis]!) * h);
    q = multiplyQuaternions(
      q,
      quaternionFromRotationVector(step as unknown as [number, number, number]),
    );
    const force = rotateVectors(q, log.acceleration!.subarray(3 * k, 3 * k + 3));
    const norm = Math.hypot(force[0]!, force[1]!, force[2]!);
    const error = [force[2]! / norm, 0, -force[0]! / norm];
    const gain = h / 6;
    q = multiplyQuaternions(
      quaternionFromRotationVector([-error[0]! * gain, 0, -error[2]! * gain]),
      q,
    );
    const inBody = rotateVectors(invertQuaternion(q), Float64Array.from(error));
    for (let axis = 0; axis < 3; axis++) bias[axis]! += 0.004 * h * inBody[axis]!;
    out.set(q, 4 * k);
  }
  return out;
}
