import { clamp, RADIANS_PER_DEGREE } from '../math.js';
import { convolveCentred, normalisedKernel } from '../numeric/convolution.js';
import { butterworthHighPass, filterForwardBackward } from '../numeric/filterDesign.js';
import { hannWindow } from '../numeric/fourier.js';
import { quantile } from '../numeric/quantile.js';
import { newOscillator, type Oscillator } from '../numeric/structuralModel.js';
import { logLikelihood } from '../numeric/structuralSmoother.js';
import { baseModel, DEGREE2 } from './bodyModel.js';
import type { Gait } from './gait.js';
import { poolMean } from './moves.js';
import { type Coordinates, mapCoordinates } from './pathCoordinates.js';

/**
 * Multiples of the step frequency at which a walking body moves: stride and step. Their overtones are
 * faster than any path that is meant: with those at 1.5 and 2 in the model too, the paths of eleven kinds of
 * synthetic walks came out by 0.9 % worse to 0.8 % better (twelve development seeds), at twice the cost.
 */
const HARMONICS = [0.5, 1];
/** Seconds in which amplitude and phase of a step change; walkers are not clocks. */
const LIFETIME = 3;
/** Least variance of a harmonic, (0.003°)², so that none vanishes from the model. */
const LEAST_VARIANCE = 1e-5 * RADIANS_PER_DEGREE ** 2;

/** The walking part of the model: per axis one oscillator for each harmonic. */
export interface GaitModel {
  readonly oscillators: Readonly<Record<keyof Coordinates, readonly Oscillator[]>>;
  /** How much of a walk there is at each sample, 0 to 1. */
  readonly activity: Float64Array;
}

/**
 * Measures how strongly each axis moves at each multiple of the step frequency, and when: the
 * signal is turned back by the phase of the steps and averaged, less what stands 0.3 Hz beside it.
 *
 * @param coordinates - radians, evenly sampled
 * @param sampleRate - Hz
 */
export function buildGaitModel(
  coordinates: Coordinates,
  sampleRate: number,
  gait: Gait,
): GaitModel {
  const n = coordinates.tilt.length;
  const turning = turningWith(gait, sampleRate);
  const activity = walkingActivity(coordinates, sampleRate, turning);
  const walking = activity.reduce((count, a) => count + (a > 0.5 ? 1 : 0), 0);
  const counts = (k: number) => walking <= 2 * sampleRate || activity[k]! > 0.5;
  const within = (values: Float64Array) =>
    quantile(
      values.filter((_, k) => counts(k)),
      0.5,
    );
  const forAxis = (signal: Float64Array): Oscillator[] => {
    const high = aboveTravel(signal, sampleRate);
    return HARMONICS.map((harmonic) => {
      const { line, beside } = lineVariance(high, sampleRate, turning, harmonic, 4);
      const variance = Math.max(within(line) - within(beside), LEAST_VARIANCE);
      return { ...turning.harmonics.get(harmonic)!, variance, weight: activity };
    });
  };
  return n === 0
    ? { oscillators: { heading: [], tilt: [], roll: [] }, activity }
    : {
        oscillators: {
          heading: forAxis(coordinates.heading),
          tilt: forAxis(coordinates.tilt),
          roll: forAxis(coordinates.roll),
        },
        activity,
      };
}

/** The same model with the walk going on all the time. */
export function alwaysWalking({ oscillators, activity }: GaitModel): GaitModel {
  const always = (list: readonly Oscillator[]) =>
    list.map(({ weight: _, ...oscillator }) => oscillator);
  return {
    oscillators: {
      heading: always(oscillators.heading),
      tilt: always(oscillators.tilt),
      roll: always(oscillators.roll),
    },
    activity: new Float64Array(activity.length).fill(1),
  };
}

/**
 * Where someone walks: the power at the fundamental (stride in heading and roll, step in tilt)
 * relative to its usual height, saturating early, since the oscillators carry how hard the steps
 * are.
 */
function walkingActivity(
  coordinates: Coordinates,
  sampleRate: number,
  turning: Turning,
): Float64Array {
  const n = coordinates.tilt.length;
  const evidence = new Float64Array(n);
  const fundamentals: readonly (readonly [Float64Array, number])[] = [
    [coordinates.heading, 0.5],
    [coordinates.tilt, 1],
    [coordinates.roll, 0.5],
  ];
  for (const [signal, harmonic] of fundamentals) {
    const high = aboveTravel(signal, sampleRate);
    const { line, beside } = lineVariance(high, sampleRate, turning, harmonic, 2);
    const excess = line.map((value, k) => value - beside[k]!);
    const usual = quantile(excess, 0.85);
    if (usual <= 0) continue;
    const clarity = Math.sqrt(usual / (usual + quantile(beside, 0.5)));
    for (let k = 0; k < n; k++) {
      evidence[k]! += clarity * clamp(excess[k]! / usual, 0, 2);
    }
  }
  const pooled = poolMean(evidence, 0.8 * sampleRate);
  const usual = Math.max(quantile(pooled, 0.85), 1e-9);
  return pooled.map((value) => {
    const amplitude = Math.sqrt(clamp(value / usual, 0, 1));
    return clamp((amplitude - 0.2) / 0.35, 0, 1);
  });
}

/** The signal without what is slower than any stride. */
function aboveTravel(signal: Float64Array, sampleRate: number): Float64Array {
  return filterForwardBackward(
    butterworthHighPass(0.55, sampleRate),
    signal,
    Math.round(4 * sampleRate),
  );
}

/** Hz beside a line at which its neighbourhood is measured. */
const BESIDE = 0.3;

/** What turns with the steps, worked out once for all axes. */
interface Turning {
  /** An oscillation of variance 1 at each multiple of the step frequency. */
  readonly harmonics: ReadonlyMap<number, Oscillator>;
  /** Cosine and sine of what turns {@link BESIDE} times a second. */
  readonly beside: Pick<Oscillator, 'cosine' | 'sine'>;
}

function turningWith({ frequency }: Gait, sampleRate: number): Turning {
  const at = (step: Float64Array) => newOscillator(1, step, LIFETIME, sampleRate);
  return {
    harmonics: new Map(
      HARMONICS.map((harmonic) => [
        harmonic,
        at(frequency.map((f) => (2 * Math.PI * harmonic * f) / sampleRate)),
      ]),
    ),
    beside: at(new Float64Array(frequency.length).fill((2 * Math.PI * BESIDE) / sampleRate)),
  };
}

/**
 * Variance carried by a line at a multiple of the step frequency, and by its neighbourhood: mean
 * square of the demodulated signal under a Hann window. A damped oscillation of lifetime 3 s keeps
 * about 0.69 of its power through a window of 4 s.
 */
function lineVariance(
  signal: Float64Array,
  sampleRate: number,
  { harmonics, beside }: Turning,
  harmonic: number,
  window: number,
): { line: Float64Array; beside: Float64Array } {
  const kernel = normalisedKernel(hannWindow(Math.max(3, Math.floor(window * sampleRate)) | 1));
  const n = signal.length;
  const { cosine, sine } = harmonics.get(harmonic)!;
  /** Power next to the line, on the side of the sign; at the line itself for 0. */
  const power = (side: -1 | 0 | 1) => {
    const re = new Float64Array(n);
    const im = new Float64Array(n);
    for (let k = 0; k < n; k++) {
      const c = side === 0 ? 1 : beside.cosine[k]!;
      const s = side * beside.sine[k]!;
      re[k] = signal[k]! * (cosine[k]! * c - sine[k]! * s);
      im[k] = signal[k]! * (sine[k]! * c + cosine[k]! * s);
    }
    const inPhase = convolveCentred(re, kernel, 'even');
    const across = convolveCentred(im, kernel, 'even');
    return inPhase.map((c, k) => ((c * c + across[k]! * across[k]!) * 2) / 0.69);
  };
  const above = power(1);
  const below = power(-1);
  return { line: power(0), beside: above.map((value, k) => 0.5 * (value + below[k]!)) };
}

/** A score below this is no walk, whatever the likelihood says. */
const LEAST_GAIT_SCORE = 2.8;
/** Log likelihood that a walk must gain; and what telling when it pauses costs. */
const GAIT_GAIN = 8;
const PAUSES_COST = 4;

/** Sway of a person while the steps are looked for, rad. */
const TYPICAL_SWAY = 0.4 * RADIANS_PER_DEGREE;

/** No walk, a walk with pauses, or a walk throughout: whichever the clip supports best. */
export function chooseGait(
  coordinates: Coordinates,
  sampleRate: number,
  gait: Gait,
  sway: Oscillator,
): GaitModel | undefined {
  if (gait.score < LEAST_GAIT_SCORE) return undefined;
  const paused = buildGaitModel(coordinates, sampleRate, gait);
  const always = alwaysWalking(paused);
  const evidence = (model: GaitModel | undefined) => {
    let sum = 0;
    mapCoordinates(coordinates, (signal, axis) => {
      const oscillators = model?.oscillators[axis] ?? [];
      sum += Math.max(
        ...[-3, -1, 1].map((exponent) =>
          logLikelihood(signal, {
            ...baseModel(signal.length, sampleRate, 10 ** exponent * DEGREE2),
            oscillators: [{ ...sway, variance: TYPICAL_SWAY ** 2 }, ...oscillators],
          }),
        ),
      );
      return signal;
    });
    return sum;
  };
  const none = evidence(undefined);
  const withPauses = evidence(paused) - PAUSES_COST;
  const throughout = evidence(always);
  if (Math.max(withPauses, throughout) - none < GAIT_GAIN) return undefined;
  return withPauses > throughout ? paused : always;
}
