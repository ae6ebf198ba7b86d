import { clamp } from '../math.js';
import { powerDensity } from '../numeric/fourier.js';
import { median } from '../numeric/quantile.js';
import { type LineSpectrum, lineSpectrum } from './lineSpectrum.js';
import type { Coordinates } from './pathCoordinates.js';

/**
 * The steps of the operator. Bob and footfall come at the step frequency in tilt, sway from foot
 * to foot at half of it in heading and roll.
 */
export interface Gait {
  /** Step frequency at each sample, Hz; meaningful only where someone walks. */
  readonly frequency: Float64Array;
  /**
   * How far the comb of step frequencies stands out of the spectrum, mean of the clearest
   * quarter of the windows (natural log of power ratios, summed over three axes): without
   * walking below 2.5, with it above 5 as a rule.
   */
  readonly score: number;
}

/**
 * Steps per second that people walk at, Hz: slow 1.4, fast 2.3 (Pachi and Ji 2005; MacDougall and
 * Moore 2005: 2.0 ± 0.13), with room for a stroll and a hurry.
 */
const STEP_BAND = { from: 1.25, to: 2.65, step: 0.01 };

/** Seconds of one spectrum: at least eight strides. */
const WINDOW = 8;

/** How fast a walker changes pace, Hz standard deviation per second. */
const PACE_DRIFT = 0.05;

/**
 * The step frequency over time: the path through short spectra along which the power of tilt at
 * f and of heading and roll at f/2 stands out most, with a pace that changes slowly.
 *
 * @param coordinates - heading, tilt and roll, radians, evenly sampled
 * @param sampleRate - Hz, at least 8
 * @see Viterbi, IEEE Trans. Information Theory 13(2), 1967, for the search
 */
export function trackStepFrequency(coordinates: Coordinates, sampleRate: number): Gait {
  const n = coordinates.tilt.length;
  const window = Math.min(Math.round(WINDOW * sampleRate), n);
  const hop = Math.max(1, Math.round(sampleRate));
  const starts: number[] = [];
  for (let start = 0; start + window <= n; start += hop) starts.push(start);
  if (starts[starts.length - 1] !== n - window) starts.push(n - window);
  const candidates = Float64Array.from(
    { length: Math.round((STEP_BAND.to - STEP_BAND.from) / STEP_BAND.step) + 1 },
    (_, k) => STEP_BAND.from + k * STEP_BAND.step,
  );
  const spectrum = lineSpectrum(window, sampleRate, STEP_BAND.to);
  const salience = starts.map((start) => combSalience(coordinates, start, spectrum, candidates));
  const path = bestPath(salience, STEP_BAND.step / (PACE_DRIFT * Math.sqrt(hop / sampleRate)));
  const centres = starts.map((start) => start + window / 2);
  const paces = path.map((index) => candidates[index]!);
  const scores = salience.map((row, k) => row[path[k]!]! - median(row)).sort((a, b) => b - a);
  const clearest = scores.slice(0, Math.ceil(scores.length / 4));
  return {
    frequency: interpolateHeld(centres, paces, n),
    score: clearest.reduce((sum, value) => sum + value, 0) / clearest.length,
  };
}

/** Log power above the background at each candidate, summed over tilt at f, heading and roll at f/2. */
function combSalience(
  coordinates: Coordinates,
  start: number,
  spectrum: LineSpectrum,
  candidates: Float64Array,
): Float64Array {
  const out = new Float64Array(candidates.length);
  const addTo = (relative: Float64Array, harmonic: number) => {
    for (let c = 0; c < out.length; c++) {
      const position = (candidates[c]! * harmonic) / spectrum.resolution;
      const k = Math.floor(position);
      const share = position - k;
      out[c]! += Math.log1p((1 - share) * relative[k]! + share * relative[k + 1]!);
    }
  };
  const stride = { from: STEP_BAND.from / 2, to: STEP_BAND.to / 2 };
  const [tilt] = spectrum.of(start, STEP_BAND, coordinates.tilt);
  const [heading, roll] = spectrum.of(start, stride, coordinates.heading, coordinates.roll);
  addTo(tilt!, 1);
  addTo(heading!, 0.5);
  addTo(roll!, 0.5);
  return out;
}

/** Index of the best candidate in each row when neighbours cost half the squared scaled distance. */
function bestPath(salience: readonly Float64Array[], costPerStep: number): number[] {
  const count = salience[0]!.length;
  let value = salience[0]!.slice();
  const back: Int32Array[] = [];
  // A walker never changes pace by more than six standard deviations from window to window.
  const reach = Math.ceil(6 / costPerStep);
  const costs = Float64Array.from(
    { length: 2 * reach + 1 },
    (_, i) => 0.5 * ((i - reach) * costPerStep) ** 2,
  );
  for (let row = 1; row < salience.length; row++) {
    const from = new Int32Array(count);
    const next = new Float64Array(count);
    for (let c = 0; c < count; c++) {
      let best = Number.NEGATIVE_INFINITY;
      for (let p = Math.max(0, c - reach); p <= Math.min(count - 1, c + reach); p++) {
        const total = value[p]! - costs[p - c + reach]!;
        if (total > best) {
          best = total;
          from[c] = p;
        }
      }
      next[c] = best + salience[row]![c]!;
    }
    back.push(from);
    value = next;
  }
  let index = value.indexOf(value.reduce((max, x) => Math.max(max, x), Number.NEGATIVE_INFINITY));
  const path = [index];
  for (let row = back.length - 1; row >= 0; row--) {
    index = back[row]![index]!;
    path.push(index);
  }
  return path.reverse();
}

/** Straight lines between points, the end values held, at 0 … n − 1. */
function interpolateHeld(x: readonly number[], y: readonly number[], n: number): Float64Array {
  let k = 0;
  return Float64Array.from({ length: n }, (_, i) => {
    while (k < x.length - 2 && x[k + 1]! <= i) k++;
    if (x.length === 1) return y[0]!;
    const share = clamp((i - x[k]!) / (x[k + 1]! - x[k]!), 0, 1);
    return y[k]! + share * (y[k + 1]! - y[k]!);
  });
}

/** Steps that an accelerometer felt, on the track's time. */
export interface FeltSteps {
  /** Seconds, increasing. */
  readonly times: Float64Array;
  /** Steps per second at each time; 0 where nobody walks. */
  readonly frequency: Float64Array;
}

/** Share of a clip with felt steps from which it is a walk (our judgement). */
const WALKING_SHARE = 0.2;
/** Scores that stand for certainty: felt steps need no spectrum. */
const FELT = { walking: 8, standing: 0 };

/** Steps that were felt as a {@link Gait}; where nobody walks the pace of the rest is held. */
export function gaitFromSteps(steps: FeltSteps, n: number, sampleRate: number): Gait {
  const at: number[] = [];
  const pace: number[] = [];
  let within = 0;
  const duration = n / sampleRate;
  steps.times.forEach((time, k) => {
    if (time < 0 || time > duration) return;
    within++;
    if (!(steps.frequency[k]! > 0)) return;
    at.push(time * sampleRate);
    pace.push(steps.frequency[k]!);
  });
  const walking = within > 0 && at.length > WALKING_SHARE * within;
  return {
    frequency: at.length > 0 ? interpolateHeld(at, pace, n) : new Float64Array(n).fill(TYPICAL),
    score: walking ? FELT.walking : FELT.standing,
  };
}

/** Steps per second of somebody of whom nothing is known, Hz. */
const TYPICAL = 2;

/** Steps per second that are looked for over a whole clip, Hz: a stroll within a room is slower than {@link STEP_BAND}. */
const WHOLE_BAND = { from: 1, to: 2.65, step: 0.02 };
/** Seconds of one spectrum, and half width of the background that a line must stand out of, Hz. */
const WHOLE_WINDOW = 10;
const BACKGROUND = 0.6;

/** The step frequency that stands out over a whole clip in all three axes together. */
export interface SteadySteps {
  /** Hz. */
  readonly frequency: number;
  /**
   * Natural log of power over its background, summed over tilt at f and heading and roll at f/2 and
   * f, what falls below it not counted: below 2.6 without walking, above 3 with it as a rule.
   */
  readonly score: number;
}

/**
 * Real hands hide steps from an eight-second spectrum; over the whole clip they still stand out a
 * little in every axis at once.
 */
export function steadySteps(coordinates: Coordinates, sampleRate: number): SteadySteps {
  const spectra = (
    [
      ['tilt', [1]],
      ['heading', [0.5, 1]],
      ['roll', [0.5, 1]],
    ] as const
  ).map(([axis, harmonics]) => ({
    harmonics,
    ...whitenedDensity(coordinates[axis], sampleRate),
  }));
  let best: SteadySteps = { frequency: TYPICAL, score: 0 };
  for (let f = WHOLE_BAND.from; f <= WHOLE_BAND.to; f += WHOLE_BAND.step) {
    let score = 0;
    for (const { harmonics, above, resolution } of spectra) {
      for (const harmonic of harmonics) {
        const place = (harmonic * f) / resolution;
        const k = Math.floor(place);
        const value = above[k]! + (place - k) * (above[k + 1]! - above[k]!);
        score += Math.max(0, value);
      }
    }
    if (score > best.score) best = { frequency: f, score };
  }
  return best;
}

/** Log of a rate's power density less the median of its neighbourhood. */
function whitenedDensity(
  signal: Float64Array,
  sampleRate: number,
): { above: Float64Array; resolution: number } {
  const rate = signal.map((value, k) => (k === 0 ? 0 : value - signal[k - 1]!));
  const { frequencies, density } = powerDensity(
    rate,
    sampleRate,
    Math.round(WHOLE_WINDOW * sampleRate),
  );
  const log = density.map((value) => Math.log(value + 1e-30));
  const resolution = frequencies[1]!;
  const half = Math.round(BACKGROUND / resolution);
  return {
    above: log.map((value, k) => value - median(log.subarray(Math.max(1, k - half), k + half + 1))),
    resolution,
  };
}
