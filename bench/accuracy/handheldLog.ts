/**
 * A gyro and accelerometer log of a synthetic hand-held take with known orientation: the sensors a
 * phone or a camera carries, uncalibrated. Independent of src/inertial: rates come from differences
 * of the true orientation, forces from the second derivative of a walking body.
 */
import {
  composeQuaternions,
  invertQuaternions,
  quaternionAt,
  rotateVectors,
  rotationVectorsFromQuaternions,
} from '../../src/rotation/arrays.js';
import { headingTiltRollFromQuaternion } from '../../src/rotation/headingTiltRoll.js';
import { createMotionLog, type MotionLog } from '../../src/track/motionLog.js';
import { seededRandom } from './random.js';
import { bandNoise } from './spectralNoise.js';
import { makeWalk, type WalkKind } from './walks.js';

const GRAVITY = 9.81;

export interface HandheldLog {
  readonly log: MotionLog;
  /** True orientation at the log's samples, camera→world. */
  readonly truth: Float64Array;
  readonly gyroBias: readonly number[];
  readonly accelBias: readonly number[];
}

export interface SensorErrors {
  /** Norm of the constant gyro error, °/s. */
  readonly gyroBiasDegPerS: number;
  /** Norm of the constant accelerometer error, m/s². */
  readonly accelBias: number;
  /** White noise of a row, rad/s; default 0.0015. */
  readonly gyroNoise?: number;
  /** White noise of a row, m/s²; default 0.03. */
  readonly accelNoise?: number;
  /** Standard deviation of the scales and of the squareness of the axes, both sensors; default 0. */
  readonly scale?: number;
  /** Random walk of the gyro's error, rad/s/√s; default 0. */
  readonly gyroDrift?: number;
}

/**
 * Four grades of sensors, from a cheap telephone to an industrial unit (our judgement): standard
 * deviations, of which every log draws its own.
 */
export const GRADES: Readonly<Record<string, SensorErrors>> = {
  cheap: {
    gyroBiasDegPerS: 3,
    accelBias: 0.12,
    gyroNoise: 0.005,
    accelNoise: 0.1,
    scale: 0.01,
    gyroDrift: 3e-4,
  },
  telephone: {
    gyroBiasDegPerS: 1,
    accelBias: 0.06,
    gyroNoise: 0.0015,
    accelNoise: 0.03,
    scale: 0.004,
    gyroDrift: 1e-4,
  },
  camera: {
    gyroBiasDegPerS: 0.5,
    accelBias: 0.03,
    gyroNoise: 0.001,
    accelNoise: 0.02,
    scale: 0.002,
    gyroDrift: 5e-5,
  },
  industrial: {
    gyroBiasDegPerS: 0.1,
    accelBias: 0.01,
    gyroNoise: 0.0005,
    accelNoise: 0.01,
    scale: 0.0005,
    gyroDrift: 1e-5,
  },
};

/** A walk as sensors of a grade log it; the constant errors are drawn anew for every seed. */
export function makeGradedLog(grade: string, kind: WalkKind, seed: number, duration: number) {
  const { gyroBiasDegPerS, accelBias, ...rest } = GRADES[grade]!;
  const random = seededRandom(`${grade} ${kind} ${seed} grade`);
  // The norm of three independent components of one standard deviation.
  const norm = () => Math.hypot(random.normal(), random.normal(), random.normal());
  return makeHandheldLog(kind, seed, duration, {
    gyroBiasDegPerS: gyroBiasDegPerS * norm(),
    accelBias: accelBias * norm(),
    ...rest,
  });
}

/** 200 rows per second of a walk of the given kind with typical consumer sensors. */
export function makeHandheldLog(
  kind: WalkKind,
  seed: number,
  duration: number,
  errors: SensorErrors = { gyroBiasDegPerS: 4, accelBias: 0.15 },
): HandheldLog {
  const rate = 200;
  const walk = makeWalk(kind, seed, { duration, frameRate: rate });
  const n = walk.times.length;
  const random = seededRandom(`${kind} ${seed} handheld`);
  const truth = walk.measured;
  const direction = () => {
    const v = [random.normal(), random.normal(), random.normal()];
    const norm = Math.hypot(...v);
    return v.map((x) => x / norm);
  };
  const gyroBias = direction().map((x) => (x * errors.gyroBiasDegPerS * Math.PI) / 180);
  const accelBias = direction().map((x) => x * errors.accelBias);

  // Instantaneous rate by the central difference of the truth; noise and a slow drift on top.
  const padded = rotationVectorsFromQuaternions(
    composeQuaternions(invertQuaternions(truth.subarray(0, 4 * (n - 2))), truth.subarray(8)),
  );
  const rates = new Float64Array(3 * n);
  const { gyroNoise = 0.0015, accelNoise = 0.03, scale = 0, gyroDrift = 0 } = errors;
  const drifting = seededRandom(`${kind} ${seed} drift`);
  const drift = [0, 0, 0];
  for (let k = 0; k < n; k++) {
    const from = 3 * Math.min(Math.max(k - 1, 0), n - 3);
    for (let axis = 0; axis < 3; axis++) {
      rates[3 * k + axis] =
        (padded[from + axis]! * rate) / 2 + gyroBias[axis]! + random.normal() * gyroNoise;
    }
    if (gyroDrift === 0) continue;
    for (let axis = 0; axis < 3; axis++) {
      rates[3 * k + axis]! += drift[axis]!;
      drift[axis]! += (drifting.normal() * gyroDrift) / Math.sqrt(rate);
    }
  }
  const force = rotateVectors(
    invertQuaternions(truth),
    worldForce(walk.stepFrequency, truth, rate, kind, seed, walk.walking),
  );
  if (scale > 0) {
    distort(rates, scale, `${kind} ${seed} gyro scale`);
    distort(force, scale, `${kind} ${seed} accelerometer scale`);
  }
  for (let i = 0; i < force.length; i++) {
    force[i]! += accelBias[i % 3]! + random.normal() * accelNoise;
  }
  return {
    log: createMotionLog({ times: walk.times, rate: rates, acceleration: force }),
    truth,
    gyroBias,
    accelBias,
  };
}

/** Scales of the axes that differ, and axes that are not quite square to each other. */
function distort(vectors: Float64Array, deviation: number, label: string): void {
  const random = seededRandom(label);
  const M = Array.from(
    { length: 9 },
    (_, i) => (i % 4 === 0 ? 1 : 0) + deviation * random.normal(),
  );
  for (let i = 0; i < vectors.length; i += 3) {
    const [x, y, z] = [vectors[i]!, vectors[i + 1]!, vectors[i + 2]!];
    for (let axis = 0; axis < 3; axis++) {
      vectors[i + axis] = M[3 * axis]! * x + M[3 * axis + 1]! * y + M[3 * axis + 2]! * z;
    }
  }
}

/**
 * Specific force of a carried camera in the world: gravity, the bounce of each step (0.25 g vertical
 * at the step frequency, 0.08 g lateral at half of it, 0.1 g fore and aft), and changes of pace.
 */
function worldForce(
  stepFrequency: Float64Array,
  truth: Float64Array,
  rate: number,
  kind: string,
  seed: number,
  walking: boolean,
): Float64Array {
  const n = stepFrequency.length;
  const random = seededRandom(`${kind} ${seed} force`);
  const on = walking ? 1 : 0.05;
  const amplitude = [0.25, 0.08, 0.1].map((g) => g * GRAVITY * on * random.uniform(0.7, 1.3));
  const [paceX, paceZ, paceY] = [0, 1, 2].map((axis) =>
    bandNoise(
      seededRandom(`${kind} ${seed} pace ${axis}`),
      n,
      rate,
      { lowHz: 0.08, highHz: 0.6, order: 2 },
      (walking ? 0.3 : 0.08) * (axis === 2 ? 0.4 : 1),
    ),
  );
  const out = new Float64Array(3 * n);
  let phase = random.uniform(0, 2 * Math.PI);
  for (let k = 0; k < n; k++) {
    phase += (2 * Math.PI * stepFrequency[k]!) / rate;
    const { heading } = headingTiltRollFromQuaternion(quaternionAt(truth, k));
    const lateral = amplitude[1]! * Math.sin(phase / 2) + paceX![k]!;
    const fore = amplitude[2]! * Math.sin(phase + 1) + paceZ![k]!;
    out[3 * k] = lateral * Math.cos(heading) - fore * Math.sin(heading);
    out[3 * k + 1] =
      GRAVITY + amplitude[0]! * (Math.sin(phase) + 0.25 * Math.sin(2 * phase + 0.6)) + paceY![k]!;
    out[3 * k + 2] = -lateral * Math.sin(heading) - fore * Math.cos(heading);
  }
  return out;
}
