import { fourStateLikelihood } from './fourStateLikelihood.js';
import {
  type FilterRecord,
  filterStructure,
  layOut,
  observationAt,
  transition,
  transposedTransition,
} from './structuralFilter.js';

/**
 * A structural time series: y = trend + z(t) · sway + a(t) · Σ oscillators + white noise, as a
 * state-space model. The likelihood and the smoothed parts come from one Kalman filter.
 *
 * @see Harvey, Forecasting, Structural Time Series Models and the Kalman Filter, 1989; Durbin and
 *   Koopman, Time Series Analysis by State Space Methods, 2nd ed., 2012, chapters 4 and 7
 */

/** A damped oscillation driven by noise; {@link newOscillator} makes one. */
export interface Oscillator {
  /** Stationary variance. */
  readonly variance: number;
  /** Share of the amplitude that is left after one sample. */
  readonly damping: number;
  /** Cosine and sine of how far it has turned at each sample. */
  readonly cosine: Float64Array;
  readonly sine: Float64Array;
  /** Weight with which it is seen at each sample; 1 when left out. */
  readonly weight?: Float64Array;
}

/**
 * An oscillator; the turns are spelled out once, since a model is tried with many variances.
 *
 * @param variance - stationary variance
 * @param step - turn from each sample to the next, rad; length n
 * @param lifetime - seconds in which it forgets itself: the amplitude decays as exp(−t/lifetime)
 */
export function newOscillator(
  variance: number,
  step: Float64Array,
  lifetime: number,
  sampleRate: number,
  weight?: Float64Array,
): Oscillator {
  const phase = new Float64Array(step.length);
  for (let k = 1; k < phase.length; k++) phase[k] = phase[k - 1]! + step[k - 1]!;
  return {
    variance,
    damping: Math.exp(-1 / (sampleRate * lifetime)),
    cosine: phase.map(Math.cos),
    sine: phase.map(Math.sin),
    ...(weight && { weight }),
  };
}

export interface StructuralModel {
  readonly sampleRate: number;
  /** 2: the trend's velocity is a random walk; 3: its acceleration is. */
  readonly order: 2 | 3;
  /** Variance per second of that random walk at each sample. */
  readonly trendNoise: Float64Array;
  readonly oscillators: readonly Oscillator[];
  /** Variance of the white noise. */
  readonly noise: number;
}

/** The smoothed trend and the oscillators' part of the signal, one array each. */
export interface StructuralParts {
  readonly trend: Float64Array;
  readonly oscillations: readonly Float64Array[];
}

/** Log likelihood of a signal under a model, up to a constant; cost O(n · states²). */
export function logLikelihood(signal: Float64Array, model: StructuralModel): number {
  const [only, ...more] = model.oscillators;
  return model.order === 2 && only && more.length === 0
    ? fourStateLikelihood(signal, model, only)
    : filterStructure(signal, layOut(model), undefined);
}

/**
 * Trend and oscillations given the whole signal: Kalman filter forward, disturbance recursion
 * backward, states forward. Neither start nor end has a transient.
 *
 * @see Koopman, "Disturbance smoother for state space models", Biometrika 80(1), 1993
 */
export function smoothStructure(signal: Float64Array, model: StructuralModel): StructuralParts {
  const n = signal.length;
  const layout = layOut(model);
  const { size } = layout;
  const record: FilterRecord = {
    innovations: new Float64Array(n),
    variances: new Float64Array(n),
    gains: new Float64Array(n * size),
  };
  filterStructure(signal, layout, record);

  // r(t − 1) = Z v/F + Lᵀ r(t) with L = T − K Z, kept for every t.
  const r = new Float64Array((n + 1) * size);
  const now = new Float64Array(size);
  const seen = new Float64Array(size);
  for (let t = n - 1; t >= 0; t--) {
    let innovation = record.innovations[t]! / record.variances[t]!;
    for (let i = 0; i < size; i++) innovation -= record.gains[t * size + i]! * now[i]!;
    transposedTransition(layout, now);
    observationAt(layout, t, seen);
    for (let i = 0; i < size; i++) now[i]! += innovation * seen[i]!;
    r.set(now, t * size);
  }
  // States forward: α(0) = a + P r(−1), then α(t + 1) = T α(t) + Q r(t).
  const state = new Float64Array(size);
  state[0] = signal[0]!;
  for (let i = 0; i < size; i++) state[i]! += layout.startVariance[i]! * r[i]!;
  const trend = new Float64Array(n);
  const oscillations = model.oscillators.map(() => new Float64Array(n));
  for (let t = 0; t < n; t++) {
    trend[t] = state[0]!;
    observationAt(layout, t, seen);
    for (let k = 0, i = layout.order; i < size; k++, i += 2) {
      oscillations[k]![t] = seen[i]! * state[i]! + seen[i + 1]! * state[i + 1]!;
    }
    if (t + 1 === n) break;
    transition(layout, state);
    const next = (t + 1) * size;
    state[layout.order - 1]! += layout.trendNoise[t]! * r[next + layout.order - 1]!;
    for (let i = layout.order; i < size; i++) state[i]! += layout.stateNoise[i]! * r[next + i]!;
  }
  return { trend, oscillations };
}
