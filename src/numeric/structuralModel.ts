/**
 * A structural time series: y = trend + z(t) · sway + a(t) · Σ oscillators + white noise, as a
 * state-space model. The likelihood and the smoothed parts come from one Kalman filter, written out
 * over the blocks of the transition (a polynomial and plane rotations), since most of the time of a
 * separation is spent here.
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
  /** Damped cosine and sine of the turn from each sample to the next. */
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
  const damping = Math.exp(-1 / (sampleRate * lifetime));
  return {
    variance,
    damping,
    cosine: step.map((angle) => damping * Math.cos(angle)),
    sine: step.map((angle) => damping * Math.sin(angle)),
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

/** Variance of the unknown start of the trend, in units of the signal squared: large against any angle in radians. */
const DIFFUSE = 10;
/** The first innovations only find the start and say nothing about the model. */
const START = 3;

/** Log likelihood of a signal under a model, up to a constant; cost O(n · states²). */
export function logLikelihood(signal: Float64Array, model: StructuralModel): number {
  return filter(signal, model, undefined);
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
  filter(signal, model, record);

  // r(t − 1) = Z v/F + Lᵀ r(t) with L = T − K Z, kept for every t.
  const r = new Float64Array((n + 1) * size);
  const now = new Float64Array(size);
  for (let t = n - 1; t >= 0; t--) {
    let innovation = record.innovations[t]! / record.variances[t]!;
    for (let i = 0; i < size; i++) innovation -= record.gains[t * size + i]! * now[i]!;
    transposedTransition(layout, t, now);
    addObservation(layout, t, innovation, now);
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
    oscillations.forEach((part, k) => {
      part[t] = layout.weightAt(k, t) * state[layout.order + 2 * k]!;
    });
    if (t + 1 === n) break;
    transition(layout, t, state);
    const next = (t + 1) * size;
    state[layout.order - 1]! += layout.trendNoise[t]! * r[next + layout.order - 1]!;
    for (let i = layout.order; i < size; i++) state[i]! += layout.stateNoise[i]! * r[next + i]!;
  }
  return { trend, oscillations };
}

interface FilterRecord {
  readonly innovations: Float64Array;
  readonly variances: Float64Array;
  readonly gains: Float64Array;
}

/** The model spelled out for the loops. */
interface Layout {
  readonly order: 2 | 3;
  readonly size: number;
  readonly dt: number;
  /** Cosine and sine of each oscillator, damped, at each sample: [k][t]. */
  readonly cosines: readonly Float64Array[];
  readonly sines: readonly Float64Array[];
  readonly weightAt: (k: number, t: number) => number;
  readonly weights: readonly (Float64Array | undefined)[];
  readonly startVariance: Float64Array;
  readonly stateNoise: Float64Array;
  /** Trend noise per sample. */
  readonly trendNoise: Float64Array;
}

function layOut(model: StructuralModel): Layout {
  const { order, oscillators, sampleRate } = model;
  const dt = 1 / sampleRate;
  const size = order + 2 * oscillators.length;
  const startVariance = new Float64Array(size).fill(DIFFUSE, 0, order);
  const stateNoise = new Float64Array(size);
  oscillators.forEach(({ variance, damping }, k) => {
    const i = order + 2 * k;
    startVariance.fill(variance, i, i + 2);
    stateNoise.fill(variance * (1 - damping * damping), i, i + 2);
  });
  const weights = oscillators.map(({ weight }) => weight);
  return {
    order,
    size,
    dt,
    cosines: oscillators.map(({ cosine }) => cosine),
    sines: oscillators.map(({ sine }) => sine),
    weights,
    weightAt: (k, t) => weights[k]?.[t] ?? 1,
    startVariance,
    stateNoise,
    trendNoise: model.trendNoise.map((q) => q * dt),
  };
}

/** One pass of the Kalman filter; returns the log likelihood and fills the record, if given. */
function filter(
  signal: Float64Array,
  model: StructuralModel,
  record: FilterRecord | undefined,
): number {
  const layout = layOut(model);
  const { order, size: m, dt, cosines, sines, weights, stateNoise, trendNoise } = layout;
  const oscillators = cosines.length;
  const n = signal.length;
  const a = new Float64Array(m);
  a[0] = signal[0]!;
  const P = new Float64Array(m * m);
  for (let i = 0; i < m; i++) P[i * m + i] = layout.startVariance[i]!;
  const PZ = new Float64Array(m);
  const halfSquare = (dt * dt) / 2;
  let sum = 0;
  for (let t = 0; t < n; t++) {
    // Innovation, its variance, and P Zᵀ.
    let innovation = signal[t]! - a[0]!;
    for (let i = 0; i < m; i++) PZ[i] = P[i * m]!;
    for (let k = 0; k < oscillators; k++) {
      const at = order + 2 * k;
      const weight = weights[k];
      const z = weight === undefined ? 1 : weight[t]!;
      innovation -= z * a[at]!;
      for (let i = 0; i < m; i++) PZ[i]! += z * P[i * m + at]!;
    }
    let variance = PZ[0]! + model.noise;
    for (let k = 0; k < oscillators; k++) {
      const weight = weights[k];
      variance += (weight === undefined ? 1 : weight[t]!) * PZ[order + 2 * k]!;
    }
    if (t >= START) sum -= 0.5 * (Math.log(variance) + (innovation * innovation) / variance);

    // Update, then carry state and covariance over one sample.
    const scale = 1 / variance;
    for (let i = 0; i < m; i++) {
      a[i]! += PZ[i]! * innovation * scale;
      const gain = PZ[i]! * scale;
      const row = i * m;
      for (let j = 0; j <= i; j++) {
        const value = P[row + j]! - gain * PZ[j]!;
        P[row + j] = value;
        P[j * m + i] = value;
      }
    }
    if (record) {
      for (let i = 0; i < m; i++) PZ[i]! *= scale;
      transition(layout, t, PZ);
      record.innovations[t] = innovation;
      record.variances[t] = variance;
      record.gains.set(PZ, t * m);
    }
    transition(layout, t, a);
    // P ← T P Tᵀ: the same row operations on the rows, then on the columns.
    for (let j = 0; j < m; j++) {
      if (order === 3) {
        P[j] = P[j]! + dt * P[m + j]! + halfSquare * P[2 * m + j]!;
        P[m + j]! += dt * P[2 * m + j]!;
      } else P[j]! += dt * P[m + j]!;
    }
    for (let k = 0; k < oscillators; k++) {
      const c = cosines[k]![t]!;
      const s = sines[k]![t]!;
      const row = (order + 2 * k) * m;
      for (let j = 0; j < m; j++) {
        const u = P[row + j]!;
        const v = P[row + m + j]!;
        P[row + j] = c * u + s * v;
        P[row + m + j] = c * v - s * u;
      }
    }
    for (let i = 0; i < m; i++) {
      const row = i * m;
      if (order === 3) {
        P[row] = P[row]! + dt * P[row + 1]! + halfSquare * P[row + 2]!;
        P[row + 1]! += dt * P[row + 2]!;
      } else P[row]! += dt * P[row + 1]!;
      for (let k = 0; k < oscillators; k++) {
        const c = cosines[k]![t]!;
        const s = sines[k]![t]!;
        const at = row + order + 2 * k;
        const u = P[at]!;
        const v = P[at + 1]!;
        P[at] = c * u + s * v;
        P[at + 1] = c * v - s * u;
      }
    }
    P[(order - 1) * (m + 1)]! += trendNoise[t]!;
    for (let i = order; i < m; i++) P[i * (m + 1)]! += stateNoise[i]!;
  }
  return sum;
}

/** x ← T x. */
function transition({ order, dt, cosines, sines }: Layout, t: number, x: Float64Array): void {
  if (order === 3) {
    x[0]! += dt * x[1]! + ((dt * dt) / 2) * x[2]!;
    x[1]! += dt * x[2]!;
  } else x[0]! += dt * x[1]!;
  for (let k = 0; k < cosines.length; k++) {
    const c = cosines[k]![t]!;
    const s = sines[k]![t]!;
    const at = order + 2 * k;
    const u = x[at]!;
    const v = x[at + 1]!;
    x[at] = c * u + s * v;
    x[at + 1] = c * v - s * u;
  }
}

/** x ← Tᵀ x. */
function transposedTransition(
  { order, dt, cosines, sines }: Layout,
  t: number,
  x: Float64Array,
): void {
  if (order === 3) {
    x[2]! += dt * x[1]! + ((dt * dt) / 2) * x[0]!;
    x[1]! += dt * x[0]!;
  } else x[1]! += dt * x[0]!;
  for (let k = 0; k < cosines.length; k++) {
    const c = cosines[k]![t]!;
    const s = sines[k]![t]!;
    const at = order + 2 * k;
    const u = x[at]!;
    const v = x[at + 1]!;
    x[at] = c * u - s * v;
    x[at + 1] = s * u + c * v;
  }
}

/** x ← x + value · Zᵀ. */
function addObservation(layout: Layout, t: number, value: number, x: Float64Array): void {
  x[0]! += value;
  for (let k = 0; k < layout.cosines.length; k++) {
    x[layout.order + 2 * k]! += layout.weightAt(k, t) * value;
  }
}
