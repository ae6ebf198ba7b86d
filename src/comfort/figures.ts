import { DEGREES_PER_RADIAN } from '../math.js';
import { powerDensity } from '../numeric/fourier.js';
import { anglesOfQuaternions, headingTiltRollFromQuaternions } from '../rotation/arrays.js';
import { angularRate } from '../track/angularRate.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { motionSicknessWeight } from './frequencyWeighting.js';

/** One figure for each way a camera can turn: about its y, x and z axis. */
export interface PerAxis {
  /** About the y axis: turning left and right. */
  readonly heading: number;
  /** About the x axis: nodding. */
  readonly tilt: number;
  /** About the z axis: leaning. */
  readonly roll: number;
}

/** One figure for each band of frequencies: 0.1–0.5, 0.5–3 and 3–12 Hz. */
export interface Bands {
  /** Slow turning and swaying; visually induced sickness peaks at 0.2–0.4 Hz. */
  readonly slow: number;
  /** Steps and strides. */
  readonly steps: number;
  /** Hands and gimbal. */
  readonly tremor: number;
}

/** The bands, Hz: the first as in the studies of seen motion, the others around gait and tremor. */
const BANDS: Readonly<Record<keyof Bands, readonly [number, number]>> = {
  slow: [0.1, 0.5],
  steps: [0.5, 3],
  tremor: [3, 12],
};

/** How a camera moves. All figures are magnitudes. */
export interface MotionFigures {
  /** Root mean square of the angular rate about the camera's axes, °/s. */
  readonly rateRmsDegPerS: PerAxis;
  /** The rate that 95 % of the samples stay below, °/s. */
  readonly rate95DegPerS: PerAxis;
  /** Share of the time that the camera turns faster than 30 °/s about any axis, 0 to 1. */
  readonly shareAbove30: number;
  /** Share of the time that the camera turns faster than 60 °/s about any axis, 0 to 1. */
  readonly shareAbove60: number;
  /** Root mean square of the whole angular rate within a band of frequencies, °/s. */
  readonly bandRmsDegPerS: Bands;
  /** Root mean square of the angular jerk between 0.1 and 12 Hz, °/s³. */
  readonly jerkRmsDegPerS3: number;
  /**
   * Root mean square of the whole angular rate weighted by W_f of ISO 2631-1, °/s. A stand-in: the
   * standard weighs vertical acceleration of a real body, not what is seen.
   */
  readonly weightedRmsDegPerS: number;
  /** Amplitude of the tilt at the step frequency, degrees. */
  readonly bobDeg: number;
  /** Root mean square of the roll, degrees. */
  readonly horizonRmsDeg: number;
}

/** What correcting does to a clip, and what it takes. */
export interface Assessment {
  /** The camera as it was. */
  readonly before: MotionFigures;
  /** The camera as the corrected view shows it. */
  readonly after: MotionFigures;
  /** Largest angle of the corrective rotation, degrees. */
  readonly largestCorrectionDeg: number;
  /** Root mean square of the angle of the corrective rotation, degrees. */
  readonly typicalCorrectionDeg: number;
  /** Share of the frames at which a limit kept the correction from what was wanted, 0 to 1. */
  readonly limitedShare: number;
  /** Share of the frames that had no sample of their own and were bridged, 0 to 1. */
  readonly bridgedShare: number;
}

/**
 * Figures of a clip before and after correction.
 *
 * @param measured - the camera as it was
 * @param intended - the camera as the corrected view shows it
 * @param corrections - K at each sample, length 4n
 * @param stepFrequency - Hz, steps per second
 * @param counts - frames at which a limit was active, and frames that were bridged
 */
export function assess(
  measured: OrientationTrack,
  intended: OrientationTrack,
  corrections: Float64Array,
  stepFrequency: number,
  { limited, bridged }: { readonly limited: number; readonly bridged: number },
): Assessment {
  const angles = anglesOfQuaternions(corrections);
  return {
    before: motionFigures(measured, stepFrequency),
    after: motionFigures(intended, stepFrequency),
    largestCorrectionDeg: angles.reduce((max, a) => Math.max(max, a), 0) * DEGREES_PER_RADIAN,
    typicalCorrectionDeg: rootMeanSquare(angles) * DEGREES_PER_RADIAN,
    limitedShare: limited / angles.length,
    bridgedShare: bridged / angles.length,
  };
}

/**
 * How one track moves.
 *
 * @param track - camera→world in a level world, evenly sampled
 * @param stepFrequency - steps per second, Hz; {@link index!separate} finds it
 * @returns magnitudes, each with its unit in its name
 * @example
 * motionFigures(track, 1.9).bobDeg; // 1.3 °
 */
export function motionFigures(track: OrientationTrack, stepFrequency: number): MotionFigures {
  const rates = angularRate(track, 'camera');
  const n = track.times.length;
  const sampleRate = (n - 1) / track.times[n - 1]!;
  const [tilt, heading, roll] = [0, 1, 2].map((axis) =>
    Float64Array.from({ length: n }, (_, k) => rates[3 * k + axis]! * DEGREES_PER_RADIAN),
  ) as [Float64Array, Float64Array, Float64Array];
  const perAxis = (figure: (values: Float64Array) => number): PerAxis => ({
    heading: figure(heading),
    tilt: figure(tilt),
    roll: figure(roll),
  });
  const total = heading.map((rate, k) => Math.hypot(rate, tilt[k]!, roll[k]!));
  const shareAbove = (limit: number) => total.filter((rate) => rate > limit).length / n;
  const spectrum = totalDensity([heading, tilt, roll], sampleRate);
  const path = headingTiltRollFromQuaternions(track.quaternions);
  return {
    rateRmsDegPerS: perAxis(rootMeanSquare),
    rate95DegPerS: perAxis((values) => percentile95(values.map(Math.abs))),
    shareAbove30: shareAbove(30),
    shareAbove60: shareAbove(60),
    bandRmsDegPerS: {
      slow: rmsBetween(spectrum, BANDS.slow),
      steps: rmsBetween(spectrum, BANDS.steps),
      tremor: rmsBetween(spectrum, BANDS.tremor),
    },
    jerkRmsDegPerS3: rmsBetween(spectrum, JERK_BAND, (f) => (2 * Math.PI * f) ** 2),
    weightedRmsDegPerS: rmsBetween(spectrum, WEIGHTED_BAND, motionSicknessWeight),
    bobDeg: amplitudeAt(path.tilt, sampleRate, stepFrequency) * DEGREES_PER_RADIAN,
    horizonRmsDeg: rootMeanSquare(path.roll) * DEGREES_PER_RADIAN,
  };
}

/** Where jerk is counted, Hz: above, noise of the tracker would drown it. */
const JERK_BAND: readonly [number, number] = [0.1, 12];
/** Where the weighting of motion sickness is not nothing, Hz. */
const WEIGHTED_BAND: readonly [number, number] = [0.02, 4];

/** Half width of the band around the step frequency that counts as bob, Hz (our judgement). */
const BOB_BAND = 0.2;
/** Seconds of one spectrum of a bob: resolves 0.125 Hz. */
const BOB_WINDOW = 8;
/** Seconds of one spectrum of rates: tells 0.1 Hz from standing still. */
const RATE_WINDOW = 40;

/** A power density and the frequencies it belongs to. */
type Spectrum = ReturnType<typeof powerDensity>;

/** The density of a vector's length: the sum over its components. */
function totalDensity(axes: readonly Float64Array[], sampleRate: number): Spectrum {
  const spectra = axes.map((axis) =>
    powerDensity(axis, sampleRate, Math.round(RATE_WINDOW * sampleRate)),
  );
  const { frequencies, density } = spectra[0]!;
  return {
    frequencies,
    density: density.map((_, k) => spectra.reduce((sum, each) => sum + each.density[k]!, 0)),
  };
}

/** Root mean square of what lies between two frequencies, each multiplied by its weight. */
function rmsBetween(
  { frequencies, density }: Spectrum,
  [from, to]: readonly [number, number],
  weight: (frequency: number) => number = () => 1,
): number {
  let power = 0;
  for (let k = 1; k < density.length; k++) {
    const frequency = frequencies[k]!;
    if (frequency < from || frequency >= to) continue;
    power += density[k]! * weight(frequency) ** 2 * frequencies[1]!;
  }
  return Math.sqrt(power);
}

/** Amplitude of the sine that carries the power of a signal around a frequency. */
function amplitudeAt(signal: Float64Array, sampleRate: number, frequency: number): number {
  const spectrum = powerDensity(signal, sampleRate, Math.round(BOB_WINDOW * sampleRate));
  // The band is closed: a bin on its edge counts.
  const edge = BOB_BAND * (1 + 1e-9);
  return Math.SQRT2 * rmsBetween(spectrum, [frequency - edge, frequency + edge]);
}

function rootMeanSquare(values: Float64Array): number {
  return Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);
}

function percentile95(values: Float64Array): number {
  return values.slice().sort()[Math.floor(0.95 * (values.length - 1))]!;
}
