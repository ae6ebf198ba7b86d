import { DEGREES_PER_RADIAN } from '../math.js';
import { powerDensity } from '../numeric/fourier.js';
import { anglesOfQuaternions, quaternionAt } from '../rotation/arrays.js';
import { headingTiltRollFromQuaternion } from '../rotation/headingTiltRoll.js';
import { angularRate } from '../track/angularRate.js';
import type { OrientationTrack } from '../track/orientationTrack.js';

/** One figure for each way a camera can turn: about its y, x and z axis. */
export interface PerAxis {
  readonly heading: number;
  readonly tilt: number;
  readonly roll: number;
}

/** How a camera moves. All figures are magnitudes. */
export interface MotionFigures {
  /** Root mean square of the angular rate about the camera's axes, °/s. */
  readonly rateRmsDegPerS: PerAxis;
  /** The rate that 95 % of the samples stay below, °/s. */
  readonly rate95DegPerS: PerAxis;
  /** Amplitude of the tilt at the step frequency, degrees. */
  readonly bobDeg: number;
  /** Root mean square of the roll, degrees. */
  readonly horizonRmsDeg: number;
}

/** What correcting does to a clip, and what it takes. */
export interface Assessment {
  readonly before: MotionFigures;
  readonly after: MotionFigures;
  /** Largest angle of the corrective rotation, degrees. */
  readonly largestCorrectionDeg: number;
  /** Root mean square of the angle of the corrective rotation, degrees. */
  readonly typicalCorrectionDeg: number;
}

/**
 * Figures of a clip before and after correction.
 *
 * @param measured - the camera as it was
 * @param intended - the camera as the corrected view shows it
 * @param corrections - K at each sample, length 4n
 * @param stepFrequency - Hz, steps per second
 */
export function assess(
  measured: OrientationTrack,
  intended: OrientationTrack,
  corrections: Float64Array,
  stepFrequency: number,
): Assessment {
  const angles = anglesOfQuaternions(corrections);
  return {
    before: motionFigures(measured, stepFrequency),
    after: motionFigures(intended, stepFrequency),
    largestCorrectionDeg: angles.reduce((max, a) => Math.max(max, a), 0) * DEGREES_PER_RADIAN,
    typicalCorrectionDeg: rootMeanSquare(angles) * DEGREES_PER_RADIAN,
  };
}

/** How one track moves. */
export function motionFigures(track: OrientationTrack, stepFrequency: number): MotionFigures {
  const rates = angularRate(track, 'camera');
  const n = track.times.length;
  const [tilt, heading, roll] = [0, 1, 2].map((axis) =>
    Float64Array.from({ length: n }, (_, k) => Math.abs(rates[3 * k + axis]!)),
  ) as [Float64Array, Float64Array, Float64Array];
  const perAxis = (figure: (values: Float64Array) => number): PerAxis => ({
    heading: figure(heading) * DEGREES_PER_RADIAN,
    tilt: figure(tilt) * DEGREES_PER_RADIAN,
    roll: figure(roll) * DEGREES_PER_RADIAN,
  });
  const tilts = new Float64Array(n);
  const rolls = new Float64Array(n);
  for (let k = 0; k < n; k++) {
    const angles = headingTiltRollFromQuaternion(quaternionAt(track.quaternions, k));
    tilts[k] = angles.tilt;
    rolls[k] = angles.roll;
  }
  const sampleRate = (n - 1) / track.times[n - 1]!;
  return {
    rateRmsDegPerS: perAxis(rootMeanSquare),
    rate95DegPerS: perAxis(percentile95),
    bobDeg: amplitudeAt(tilts, sampleRate, stepFrequency) * DEGREES_PER_RADIAN,
    horizonRmsDeg: rootMeanSquare(rolls) * DEGREES_PER_RADIAN,
  };
}

/** Half width of the band around the step frequency that counts as bob, Hz (our judgement). */
const BOB_BAND = 0.2;
/** Seconds of one spectrum: resolves 0.125 Hz. */
const SPECTRUM_WINDOW = 8;

/** Amplitude of the sine that carries the power of a signal around a frequency. */
function amplitudeAt(signal: Float64Array, sampleRate: number, frequency: number): number {
  const { frequencies, density } = powerDensity(
    signal,
    sampleRate,
    Math.round(SPECTRUM_WINDOW * sampleRate),
  );
  let power = 0;
  for (let k = 0; k < density.length; k++) {
    if (Math.abs(frequencies[k]! - frequency) <= BOB_BAND) power += density[k]! * frequencies[1]!;
  }
  return Math.sqrt(2 * power);
}

function rootMeanSquare(values: Float64Array): number {
  return Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);
}

function percentile95(values: Float64Array): number {
  return values.slice().sort()[Math.floor(0.95 * (values.length - 1))]!;
}
