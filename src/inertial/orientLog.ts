import type { Warning } from '../error.js';
import { RADIANS_PER_DEGREE } from '../math.js';
import { alignSignsInPlace } from '../rotation/arrays.js';
import { IDENTITY, type Vector3 } from '../rotation/quaternion.js';
import { integrateRate, type RateSampling } from '../track/integrate.js';
import type { MotionLog } from '../track/motionLog.js';
import {
  describeGaps,
  type OrientationTrack,
  type UpSource,
  withQuaternions,
} from '../track/orientationTrack.js';
import { interpolateTrack } from '../track/resample.js';
import { ACCELERATION_BIAS, likelyAccelerationBias, seekHorizon } from './horizonPasses.js';
import { inspectLog, type LogQuality } from './logQuality.js';
import { meanOf } from './motionState.js';
import { chooseNodes } from './nodeKnowledge.js';
import { pathBetweenNodes } from './pathBetweenNodes.js';
import { samplesOfLog } from './samplesOfLog.js';
import type { SmootherModel } from './smootherModel.js';
import { type Span, spanWarning } from './spans.js';
import { biasDeviation, tiltDeviations, unshownAccelerationBias } from './statedDeviations.js';

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
  /**
   * Standard deviation of the accelerometer's constant error, m/s². Left out, it is taken from the
   * gyroscope's: 0.02 for every °/s by which that is off, 0.012 to 0.15.
   */
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

/** Noise and walk of a consumer gyroscope; tuned on fifteen BROAD trials and synthetic walks. */
const SENSOR = {
  startTilt: 0.5,
  startVelocity: 1,
  rateNoise: 2e-5,
  rateNoisePerRate: 0.003,
  gyroBiasWalk: 1.3e-4,
  // The vertical shows above all how far the scales of the accelerometer's axes differ.
  verticalDoubt: 100,
};

/** The same over all sensors of the kind, for the deviations that are stated (our judgement). */
const POSSIBLE_ACCELERATION_BIAS = { perGyroBias: 0.06, least: 0.012, most: 0.3 };

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
  const found = inspectLog(log);
  if (!log.acceleration) return integratedOnly(log, options, found);
  const samples = samplesOfLog(
    log,
    log.acceleration,
    options.sampling ?? 'interval',
    options.accelerationDelay ?? 0,
    found,
  );
  const nodes = chooseNodes(log.times, found);
  const model: SmootherModel = {
    ...SENSOR,
    gyroBias: [0, 0, 0],
    gyroBiasDeviation: (options.gyroBiasDeviationDegPerS ?? 3) * RADIANS_PER_DEGREE,
    accelerationBiasDeviation: options.accelBiasDeviation ?? ACCELERATION_BIAS.before,
    gravity: STANDARD_GRAVITY,
  };
  const { smoothed, lost, believed } = seekHorizon(
    samples,
    nodes,
    model,
    found,
    options.accelBiasDeviation,
  );
  const possible =
    options.accelBiasDeviation ??
    likelyAccelerationBias(smoothed.states, POSSIBLE_ACCELERATION_BIAS);
  const unshown = unshownAccelerationBias(smoothed, believed, possible);
  const quality: LogQuality = {
    ...found,
    lost,
    warnings: [...found.warnings, ...lostWarning(lost)],
  };
  // After the filter's memory has been let go: the two together would be most of all that is used.
  const path = pathBetweenNodes(samples, nodes, smoothed.states);
  const track = trackOf(log, path, 'gravity', quality, headingWarning(quality));
  return {
    track: withoutDelay(track, options.sensorDelay ?? 0),
    gyroBias: {
      value: meanOf(smoothed.states, 'gyroBias'),
      deviation: biasDeviation(smoothed, 'gyroBias', model.gyroBiasDeviation),
    },
    accelBias: {
      value: meanOf(smoothed.states, 'accelerationBias'),
      deviation: biasDeviation(smoothed, 'accelerationBias', possible, unshown),
    },
    quality: {
      ...quality,
      times: Float64Array.from(nodes, (sample) => log.times[sample]!),
      tiltDeviation: tiltDeviations(smoothed, unshown, STANDARD_GRAVITY),
    },
  };
}

function lostWarning(lost: readonly Span[]): Warning[] {
  return spanWarning(
    'log/lost',
    lost,
    'the rates and the force contradict each other; the horizon was found again from the force alone, with the deviation stated there, and the heading may have jumped',
  );
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
  const path = integrateRate(log.times, log.rate, IDENTITY, options.sampling ?? 'interval');
  const track = trackOf(log, path, 'unknown', quality, [warning]);
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

/** The track of a log's samples; times and path are taken as they are, unit quaternions. */
function trackOf(
  log: MotionLog,
  path: Float64Array,
  up: Exclude<UpSource, 'estimated'>,
  quality: LogQuality,
  warnings: readonly Warning[],
): OrientationTrack {
  alignSignsInPlace(path);
  const gaps = quality.gaps.length > 0 ? describeGaps(log.times) : undefined;
  return {
    times: log.times,
    quaternions: path,
    ...(log.startNs !== undefined && { startNs: log.startNs }),
    up,
    warnings: [...log.warnings, ...quality.warnings, ...warnings, ...(gaps ? [gaps] : [])],
  };
}

/** The track as it was when the stamps say it was: a late stamp belongs to an earlier motion. */
function withoutDelay(track: OrientationTrack, delay: number): OrientationTrack {
  if (delay === 0) return track;
  const later = track.times.map((time) => time + delay);
  return withQuaternions(track, interpolateTrack(track, later));
}
