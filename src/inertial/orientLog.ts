import type { Warning } from '../error.js';
import { clamp, RADIANS_PER_DEGREE } from '../math.js';
import { quaternionAt } from '../rotation/arrays.js';
import { IDENTITY, type Quaternion, type Vector3 } from '../rotation/quaternion.js';
import { integrateRate, type RateSampling, rotationIncrements } from '../track/integrate.js';
import type { MotionLog } from '../track/motionLog.js';
import { createTrack, type OrientationTrack, withQuaternions } from '../track/orientationTrack.js';
import { interpolateTrack } from '../track/resample.js';
import { inspectLog, type LogQuality, type Span } from './logQuality.js';
import {
  type NodeKnowledge,
  orientationBetweenNodes,
  type SmootherModel,
  smoothOrientation,
} from './orientationSmoother.js';
import type { StrapdownSamples } from './strapdown.js';

/** How to orient a log. */
export interface OrientLogOptions {
  /**
   * What a row says about time; `interval` (default): the mean over the interval that ends at its
   * stamp, `instant`: the rate at the stamp.
   */
  readonly sampling?: RateSampling;
  /** How late the stamps are against the motion, s; default 0. Filters of a sensor delay it by some milliseconds. */
  readonly sensorDelay?: number;
  /** How late the accelerometer's values are against the gyroscope's, s; default 0. */
  readonly accelerationDelay?: number;
  /** Standard deviation of the gyro's constant error before the log is seen, °/s; default 3. */
  readonly gyroBiasDeviationDegPerS?: number;
  /** Standard deviation of the accelerometer's constant error, m/s²; default 0.015. */
  readonly accelBiasDeviation?: number;
}

/** A value with its standard deviation, one per camera axis. */
export interface Estimate {
  /** About, or along, the camera's x, y and z axis. */
  readonly value: Vector3;
  /** Standard deviation, in the unit of the value; infinite where nothing is known. */
  readonly deviation: Vector3;
}

/** How far the orientation can be trusted. */
export interface OrientationQuality extends LogQuality {
  /** Seconds from the first sample of the values below. */
  readonly times: Float64Array;
  /** Standard deviation of the horizon by the model, radians. */
  readonly tiltDeviation: Float64Array;
}

/** What {@link orientLog} found. */
export interface OrientedLog {
  /** Camera→world at every sample of the log, level, heading near 0 at the start. */
  readonly track: OrientationTrack;
  /** Constant error of the gyroscope, rad/s, mean over the log. */
  readonly gyroBias: Estimate;
  /** Constant error of the accelerometer, m/s². */
  readonly accelBias: Estimate;
  /** Where the log is to be trusted less, and how sure the horizon is. */
  readonly quality: OrientationQuality;
}

/** Distance of the smoother's nodes, seconds: short against the sway that levelling must follow. */
const NODE_SPACING = 0.05;

/** Noise and walk of a consumer gyroscope; tuned on six BROAD extracts and synthetic walks. */
const SENSOR = {
  startTilt: 0.5,
  startVelocity: 1,
  rateNoise: 2e-5,
  rateNoisePerRate: 0.00147,
  gyroBiasWalk: 1.3e-4,
};

/**
 * How far the velocity of a hand-held camera departs from zero. The first pass takes one value for
 * the whole log; the second scales what the first found, so that levelling is firm while the
 * camera rests and soft while it is carried about. m/s for a node a second, and a ratio.
 */
const VELOCITY = { first: 1.4, ratio: 0.7, least: 0.06, most: 20, window: 15 };

/** How fast a camera may turn unseen while samples are missing, rad/s (our judgement). */
const UNSEEN_RATE = 0.5;
/** How wrong a clipped rate may be, rad/s (our judgement). */
const CLIPPED_RATE = 1;
/** How much less a clipped or shaken force is trusted. */
const DISTRUST = 10;

/**
 * The orientation of a camera from its gyroscope and accelerometer over a whole take, from both
 * directions in time. Without an accelerometer the rates are only integrated, and nothing is
 * level.
 *
 * @param log - at least two samples; 10 s or more for a trustworthy horizon
 * @param options - what is known about the sensor; everything may be left out
 * @returns the track at the log's samples, the biases that were found and how sure the horizon is;
 *   cost O(n), about a microsecond per sample and 30 µs per node of 50 ms
 * @throws TwinkeelError `log/units` when the accelerometer's values cannot be m/s²
 * @see Laidig et al., "BROAD – A benchmark for robust inertial orientation estimation", Data
 *   6(7):72, 2021, for the recordings that the noise figures come from
 * @example
 * const { track: level, gyroBias } = orientLog(log);
 * level.up; // 'gravity'
 * gyroBias.value; // [0.0, 0.0, 0.0] rad/s
 */
export function orientLog(log: MotionLog, options: OrientLogOptions = {}): OrientedLog {
  const quality = inspectLog(log);
  if (!log.acceleration) return integratedOnly(log, options, quality);
  const sampling = options.sampling ?? 'interval';
  const samples: StrapdownSamples = {
    times: log.times,
    increments: rotationIncrements(log.times, log.rate, sampling),
    force: forceBetweenSamples(
      delayed(log.times, log.acceleration, options.accelerationDelay ?? 0),
      sampling,
    ),
  };
  const nodes = chooseNodes(log.times);
  const K = nodes.length - 1;
  const duration = log.times[log.times.length - 1]!;
  const nodeRate = Math.sqrt(K / duration);
  const model: SmootherModel = {
    ...SENSOR,
    gyroBias: [0, 0, 0],
    gyroBiasDeviation: (options.gyroBiasDeviationDegPerS ?? 3) * RADIANS_PER_DEGREE,
    forceBiasDeviation: options.accelBiasDeviation ?? 0.015,
    gravity: STANDARD_GRAVITY,
  };
  const start = levelStart(log.acceleration, log.times);
  const knowledge = knowledgeOfNodes(log, nodes, quality);
  const first = smoothOrientation(
    samples,
    nodes,
    start,
    {
      ...knowledge,
      velocityDeviation: knowledge.velocityDeviation.map(
        (trust) => trust * VELOCITY.first * nodeRate,
      ),
    },
    model,
  );
  const adapted = adaptedVelocityDeviation(first.velocity, duration, nodeRate);
  const smoothed = smoothOrientation(
    samples,
    nodes,
    quaternionAt(first.quaternions, 0),
    {
      ...knowledge,
      velocityDeviation: adapted.map((deviation, k) => deviation * knowledge.velocityDeviation[k]!),
    },
    // The scale of the accelerometer and the local gravity in one: what it shows on average.
    { ...model, gravity: first.verticalForce },
  );
  const path = orientationBetweenNodes(samples, nodes, smoothed);
  const track = createTrack({
    times: log.times,
    quaternions: path,
    ...(log.startNs !== undefined && { startNs: log.startNs }),
    up: 'gravity',
    warnings: [...log.warnings, ...quality.warnings, ...headingWarning(quality)],
  });
  const middle = K >> 1;
  return {
    track: withoutDelay(track, options.sensorDelay ?? 0),
    gyroBias: {
      value: meanVector(smoothed.gyroBias),
      deviation: deviationAt(smoothed.variances, middle, 6),
    },
    accelBias: {
      value: meanVector(smoothed.forceBias),
      deviation: deviationAt(smoothed.variances, middle, 9),
    },
    quality: {
      ...quality,
      times: Float64Array.from(nodes, (sample) => log.times[sample]!),
      tiltDeviation: Float64Array.from(nodes, (_, k) =>
        Math.sqrt(smoothed.variances[12 * k]! + smoothed.variances[12 * k + 2]!),
      ),
    },
  };
}

/** Gravity says nothing about turns about itself: only a rest tells that part of the gyro's error. */
function headingWarning({ rests }: LogQuality): Warning[] {
  if (rests.length > 0) return [];
  return [
    {
      code: 'log/heading-drift',
      message:
        'the camera never rests in the log, so its heading may drift by some degrees per second; the horizon does not; two seconds on a table or tripod before the take cure it',
    },
  ];
}

/** m/s², CGPM 1901. */
const STANDARD_GRAVITY = 9.80665;

function integratedOnly(
  log: MotionLog,
  options: OrientLogOptions,
  quality: LogQuality,
): OrientedLog {
  const warning: Warning = {
    code: 'log/no-accelerometer',
    message:
      'the log has no accelerometer: the rates were integrated as they are, the horizon is unknown and drifts',
  };
  const unknown: Vector3 = [
    Number.POSITIVE_INFINITY,
    Number.POSITIVE_INFINITY,
    Number.POSITIVE_INFINITY,
  ];
  const track = createTrack({
    times: log.times,
    quaternions: integrateRate(log.times, log.rate, IDENTITY, options.sampling ?? 'interval'),
    ...(log.startNs !== undefined && { startNs: log.startNs }),
    up: 'unknown',
    warnings: [...log.warnings, ...quality.warnings, warning],
  });
  return {
    track: withoutDelay(track, options.sensorDelay ?? 0),
    gyroBias: { value: [0, 0, 0], deviation: unknown },
    accelBias: { value: [0, 0, 0], deviation: unknown },
    quality: {
      ...quality,
      times: log.times,
      tiltDeviation: new Float64Array(log.times.length).fill(Number.POSITIVE_INFINITY),
    },
  };
}

/** Mean force from sample to sample: of both ends, or what the later row says about the interval. */
function forceBetweenSamples(force: Float64Array, sampling: RateSampling): Float64Array {
  const out = new Float64Array(force.length - 3);
  for (let i = 0; i < out.length; i++) {
    out[i] = sampling === 'instant' ? 0.5 * (force[i]! + force[i + 3]!) : force[i + 3]!;
  }
  return out;
}

/** Vectors at times later by `delay`, on straight lines between samples. */
function delayed(times: Float64Array, vectors: Float64Array, delay: number): Float64Array {
  if (delay === 0) return vectors;
  const last = times.length - 1;
  const out = new Float64Array(vectors.length);
  let k = 0;
  for (let m = 0; m <= last; m++) {
    const time = times[m]! + delay;
    while (k < last - 1 && times[k + 1]! <= time) k++;
    while (k > 0 && times[k]! > time) k--;
    const share = clamp((time - times[k]!) / (times[k + 1]! - times[k]!), 0, 1);
    for (let axis = 0; axis < 3; axis++) {
      const a = vectors[3 * k + axis]!;
      out[3 * m + axis] = a + share * (vectors[3 * k + 3 + axis]! - a);
    }
  }
  return out;
}

/** The track as it was when the stamps say it was: a late stamp belongs to an earlier motion. */
function withoutDelay(track: OrientationTrack, delay: number): OrientationTrack {
  if (delay === 0) return track;
  const later = track.times.map((time) => time + delay);
  return withQuaternions(track, interpolateTrack(track, later));
}

/** What the log's quality means at the nodes; velocityDeviation holds factors of distrust. */
function knowledgeOfNodes(log: MotionLog, nodes: Int32Array, quality: LogQuality): NodeKnowledge {
  const count = nodes.length;
  const resting = new Uint8Array(count);
  const lostAttitude = new Float64Array(count);
  const trust = new Float64Array(count).fill(1);
  const during = (spans: readonly Span[], each: (node: number, overlap: number) => void) => {
    let k = 1;
    for (const { from, to } of spans) {
      while (k > 1 && log.times[nodes[k - 1]!]! > from) k--;
      for (; k < count && log.times[nodes[k - 1]!]! <= to; k++) {
        const start = Math.max(from, log.times[nodes[k - 1]!]!);
        const end = Math.min(to, log.times[nodes[k]!]!);
        if (end >= start) each(k, end - start);
      }
      k = Math.min(k, count - 1);
    }
  };
  during(quality.gaps, (k, overlap) => {
    lostAttitude[k]! += (UNSEEN_RATE * overlap) ** 2;
  });
  during(quality.clippedRate, (k, overlap) => {
    lostAttitude[k]! += (CLIPPED_RATE * overlap) ** 2;
  });
  for (const spans of [quality.clippedForce, quality.vibration, quality.gaps]) {
    during(spans, (k) => {
      trust[k] = DISTRUST;
    });
  }
  during(quality.rests, (k, overlap) => {
    // Only whole intervals at rest tell the bias.
    const length = log.times[nodes[k]!]! - log.times[nodes[k - 1]!]!;
    if (overlap >= length * 0.999) resting[k] = 1;
  });
  return { velocityDeviation: trust, resting, lostAttitude };
}

/** Sample indices some {@link NODE_SPACING} apart, the first and the last included. */
function chooseNodes(times: Float64Array): Int32Array {
  const nodes = [0];
  let next = NODE_SPACING;
  const last = times.length - 1;
  for (let k = 1; k < last; k++) {
    if (times[k]! < next - 1e-9) continue;
    nodes.push(k);
    next = Math.max(next + NODE_SPACING, times[k]! + 0.5 * NODE_SPACING);
  }
  nodes.push(last);
  return Int32Array.from(nodes);
}

/**
 * The orientation with heading near zero that turns the median force of the first half second
 * upwards: the shortest turn from that force to the world's y axis.
 */
function levelStart(force: Float64Array, times: Float64Array): Quaternion {
  let count = 1;
  while (count < times.length && times[count]! < 0.5) count++;
  const median = [0, 1, 2].map((axis) => {
    const values = Float64Array.from({ length: count }, (_, k) => force[3 * k + axis]!).sort();
    return values[count >> 1]!;
  });
  const [x, y, z] = median as [number, number, number];
  const norm = Math.hypot(x, y, z);
  if (!(norm > 0)) return [0, 0, 0, 1];
  const w = norm + y;
  // Straight down: any horizontal axis turns it over.
  if (w < 1e-6 * norm) return [1, 0, 0, 0];
  const length = Math.hypot(z, x, w);
  return [-z / length, 0, x / length, w / length];
}

function adaptedVelocityDeviation(
  velocity: Float64Array,
  duration: number,
  nodeRate: number,
): Float64Array {
  const count = velocity.length / 3;
  const squares = Float64Array.from(
    { length: count },
    (_, k) => (velocity[3 * k]! ** 2 + velocity[3 * k + 1]! ** 2 + velocity[3 * k + 2]! ** 2) / 3,
  );
  const half = Math.max(
    1,
    Math.min(Math.round((VELOCITY.window * (count - 1)) / duration), count - 1),
  );
  return hannMean(squares, half).map(
    (mean) =>
      Math.min(Math.max(VELOCITY.ratio * Math.sqrt(mean), VELOCITY.least), VELOCITY.most) *
      nodeRate,
  );
}

/** Mean under a Hann window of 2 half + 1 values, the ends mirrored. */
function hannMean(values: Float64Array, half: number): Float64Array {
  const window = Float64Array.from(
    { length: 2 * half + 1 },
    (_, j) => 0.5 - 0.5 * Math.cos((2 * Math.PI * j) / (2 * half)),
  );
  const total = window.reduce((sum, weight) => sum + weight, 0);
  const n = values.length;
  return values.map((_, k) => {
    let sum = 0;
    for (let j = -half; j <= half; j++) {
      let index = Math.abs(k + j);
      if (index >= n) index = 2 * (n - 1) - index;
      sum += window[j + half]! * values[Math.max(index, 0)]!;
    }
    return sum / total;
  });
}

function meanVector(vectors: Float64Array): Vector3 {
  const sum = [0, 0, 0];
  for (let i = 0; i < vectors.length; i++) sum[i % 3]! += vectors[i]!;
  const n = vectors.length / 3;
  return [sum[0]! / n, sum[1]! / n, sum[2]! / n];
}

function deviationAt(variances: Float64Array, node: number, state: number): Vector3 {
  const at = (i: number) => Math.sqrt(variances[12 * node + state + i]!);
  return [at(0), at(1), at(2)];
}
