import type { StructuralModel } from './structuralModel.js';

/** Variance of the unknown start of the trend, in units of the signal squared: large against any angle in radians. */
export const DIFFUSE = 10;
/** The first innovations only find the start and say nothing about the model. */
export const START = 3;

/** A product of variances within these bounds can be multiplied by one more without overflow. */
export const SMALL = 1e-150;
export const LARGE = 1e150;

/**
 * The model spelled out for the loops: the state α is the trend's level, velocity and, for order 3,
 * acceleration, then two numbers for each oscillation, α(t + 1) = T α(t) + noise, y = Z(t) α(t) + noise.
 * An oscillation is described in a frame that turns with it. There it only decays, driven by noise that
 * is the same in all directions, and what turns is the direction Z in which it is seen.
 */
export interface Layout {
  readonly order: 2 | 3;
  readonly size: number;
  readonly dt: number;
  /** What one sample leaves of each state: 1 for the trend. */
  readonly decay: Float64Array;
  /** Cosine and sine of each oscillation's turn, and the weight with which it is seen: [k][t]. */
  readonly cosines: readonly Float64Array[];
  readonly sines: readonly Float64Array[];
  readonly weights: readonly Float64Array[];
  readonly startVariance: Float64Array;
  readonly stateNoise: Float64Array;
  /** Trend noise per sample. */
  readonly trendNoise: Float64Array;
  readonly noise: number;
}

export function layOut(model: StructuralModel): Layout {
  const { order, oscillators, sampleRate } = model;
  const n = model.trendNoise.length;
  const dt = 1 / sampleRate;
  const size = order + 2 * oscillators.length;
  const startVariance = new Float64Array(size).fill(DIFFUSE, 0, order);
  const stateNoise = new Float64Array(size);
  const decay = new Float64Array(size).fill(1, 0, order);
  oscillators.forEach(({ variance, damping }, k) => {
    const i = order + 2 * k;
    startVariance.fill(variance, i, i + 2);
    stateNoise.fill(variance * (1 - damping * damping), i, i + 2);
    decay.fill(damping, i, i + 2);
  });
  const always = new Float64Array(n).fill(1);
  return {
    order,
    size,
    dt,
    decay,
    cosines: oscillators.map(({ cosine }) => cosine),
    sines: oscillators.map(({ sine }) => sine),
    weights: oscillators.map(({ weight }) => weight ?? always),
    startVariance,
    stateNoise,
    trendNoise: model.trendNoise.map((q) => q * dt),
    noise: model.noise,
  };
}

/** Z(t) into `out`. */
export function observationAt(
  { order, cosines, sines, weights }: Layout,
  t: number,
  out: Float64Array,
): void {
  out[0] = 1;
  for (let k = 0, i = order; k < weights.length; k++, i += 2) {
    const weight = weights[k]![t]!;
    out[i] = weight * cosines[k]![t]!;
    out[i + 1] = weight * sines[k]![t]!;
  }
}

/** What a pass of the filter leaves for the smoother, at each sample. */
export interface FilterRecord {
  readonly innovations: Float64Array;
  readonly variances: Float64Array;
  /** Gains carried over one sample, T P Zᵀ/F; length n · size. */
  readonly gains: Float64Array;
}

/**
 * One pass of the Kalman filter; returns the log likelihood and fills the record, if given. Of the
 * covariance P only the lower triangle is kept, by the oscillations' blocks of 2 × 2.
 */
export function filterStructure(
  signal: Float64Array,
  layout: Layout,
  record: FilterRecord | undefined,
): number {
  const { order, size: m } = layout;
  const n = signal.length;
  const a = new Float64Array(m);
  a[0] = signal[0]!;
  const P = new Float64Array(m * m);
  for (let i = 0; i < m; i++) P[i * m + i] = layout.startVariance[i]!;
  const Z = new Float64Array(m);
  const PZ = new Float64Array(m);
  let squares = 0;
  let logarithms = 0;
  let product = 1;
  for (let t = 0; t < n; t++) {
    observationAt(layout, t, Z);
    covarianceTimes(P, Z, order, PZ);
    let innovation = signal[t]! - a[0]!;
    let variance = PZ[0]! + layout.noise;
    for (let i: number = order; i < m; i++) {
      innovation -= Z[i]! * a[i]!;
      variance += Z[i]! * PZ[i]!;
    }
    const scale = 1 / variance;
    if (t >= START) {
      squares += innovation * innovation * scale;
      // Logarithms are dear: take one of several variances multiplied.
      product *= variance;
      if (product < SMALL || product > LARGE) {
        logarithms += Math.log(product);
        product = 1;
      }
    }
    for (let i = 0; i < m; i++) a[i]! += PZ[i]! * innovation * scale;
    transition(layout, a);
    carryCovariance(layout, t, P, PZ, scale);
    if (!record) continue;
    for (let i = 0; i < m; i++) PZ[i]! *= scale;
    transition(layout, PZ);
    record.innovations[t] = innovation;
    record.variances[t] = variance;
    record.gains.set(PZ, t * m);
  }
  return -0.5 * (squares + logarithms + Math.log(product));
}

/**
 * PZ ← P Zᵀ from the blocks of the lower triangle: Z is 1 at the level and 0 at the trend's other states.
 */
function covarianceTimes(P: Float64Array, Z: Float64Array, order: number, PZ: Float64Array): void {
  const m = Z.length;
  for (let i = 0; i < order; i++) PZ[i] = P[i * m]!;
  for (let i = order; i < m; i += 2) {
    const upper = i * m;
    const lower = upper + m;
    const y = Z[i]!;
    const z = Z[i + 1]!;
    for (let j = 0; j < order; j++) PZ[j]! += P[upper + j]! * y + P[lower + j]! * z;
    const corner = P[lower + i]!;
    let u = P[upper]! + P[upper + i]! * y + corner * z;
    let v = P[lower]! + corner * y + P[lower + i + 1]! * z;
    for (let j: number = order; j < i; j += 2) {
      const p = P[upper + j]!;
      const q = P[upper + j + 1]!;
      const r = P[lower + j]!;
      const w = P[lower + j + 1]!;
      u += p * Z[j]! + q * Z[j + 1]!;
      v += r * Z[j]! + w * Z[j + 1]!;
      PZ[j]! += p * y + r * z;
      PZ[j + 1]! += q * y + w * z;
    }
    PZ[i] = u;
    PZ[i + 1] = v;
  }
}

/**
 * P ← T (P − P Zᵀ Z P/F) Tᵀ + Q in the blocks of the lower triangle: the trend shears, all else decays.
 *
 * @param scale - 1/F
 */
function carryCovariance(
  { order, size: m, dt, decay, stateNoise, trendNoise }: Layout,
  t: number,
  P: Float64Array,
  PZ: Float64Array,
  scale: number,
): void {
  carryTrend(order, m, dt, P, PZ, scale);
  P[(order - 1) * (m + 1)]! += trendNoise[t]!;
  const half = (dt * dt) / 2;
  for (let i: number = order; i < m; i += 2) {
    const upper = i * m;
    const lower = upper + m;
    const g = scale * PZ[i]!;
    const h = scale * PZ[i + 1]!;
    // Both numbers of an oscillation decay alike.
    const kept = decay[i]!;
    for (let j = 0; j < order; j++) {
      P[upper + j] = kept * (P[upper + j]! - g * PZ[j]!);
      P[lower + j] = kept * (P[lower + j]! - h * PZ[j]!);
    }
    for (let row = upper; row <= lower; row += m) {
      P[row]! += dt * P[row + 1]!;
      if (order === 3) {
        P[row]! += half * P[row + 2]!;
        P[row + 1]! += dt * P[row + 2]!;
      }
    }
    for (let j: number = order; j <= i; j += 2) {
      const both = kept * decay[j]!;
      const y = PZ[j]!;
      const z = PZ[j + 1]!;
      P[upper + j] = both * (P[upper + j]! - g * y);
      P[upper + j + 1] = both * (P[upper + j + 1]! - g * z);
      P[lower + j] = both * (P[lower + j]! - h * y);
      P[lower + j + 1] = both * (P[lower + j + 1]! - h * z);
    }
    P[upper + i]! += stateNoise[i]!;
    P[lower + i + 1]! += stateNoise[i + 1]!;
  }
}

/** The trend's own block of {@link carryCovariance}: level, velocity and, for order 3, acceleration. */
function carryTrend(
  order: 2 | 3,
  m: number,
  dt: number,
  P: Float64Array,
  PZ: Float64Array,
  scale: number,
): void {
  for (let i = 0; i < order; i++) {
    for (let j = 0; j <= i; j++) P[i * m + j]! -= scale * PZ[i]! * PZ[j]!;
  }
  // Cov(x, y) of x = level, velocity, acceleration, each plus dt times the next, and half dt² of the last.
  const velocity = m + 1;
  if (order === 2) {
    P[0]! += dt * (2 * P[m]! + dt * P[velocity]!);
    P[m]! += dt * P[velocity]!;
    return;
  }
  const half = (dt * dt) / 2;
  const acceleration = 2 * m + 2;
  const [la, va, aa] = [P[2 * m]!, P[2 * m + 1]!, P[acceleration]!];
  P[0]! += dt * (2 * P[m]! + dt * P[velocity]!) + half * (2 * la + 2 * dt * va + half * aa);
  P[m]! += dt * (P[velocity]! + la + dt * va) + half * (va + dt * aa);
  P[velocity]! += dt * (2 * va + dt * aa);
  P[2 * m]! += dt * va + half * aa;
  P[2 * m + 1]! += dt * aa;
}

/** x ← T x. */
export function transition({ order, dt, decay }: Layout, x: Float64Array): void {
  if (order === 3) {
    x[0]! += dt * x[1]! + ((dt * dt) / 2) * x[2]!;
    x[1]! += dt * x[2]!;
  } else x[0]! += dt * x[1]!;
  for (let i: number = order; i < x.length; i++) x[i]! *= decay[i]!;
}

/** x ← Tᵀ x. */
export function transposedTransition({ order, dt, decay }: Layout, x: Float64Array): void {
  if (order === 3) {
    x[2]! += dt * x[1]! + ((dt * dt) / 2) * x[0]!;
    x[1]! += dt * x[0]!;
  } else x[1]! += dt * x[0]!;
  for (let i: number = order; i < x.length; i++) x[i]! *= decay[i]!;
}
