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
