import type { StructuralModel } from './structuralModel.js';

/** Variance of the unknown start of the trend, in units of the signal squared: large against any angle in radians. */
export const DIFFUSE = 10;
/** The first innovations only find the start and say nothing about the model. */
export const START = 3;

/** A product of variances within these bounds can be multiplied by one more without overflow. */
export const SMALL = 1e-150;
export const LARGE = 1e150;

/** The model spelled out for the loops. */
export interface Layout {
  readonly order: 2 | 3;
  readonly size: number;
  readonly dt: number;
  /** Cosine and sine of each oscillator, damped, at each sample: [k][t]. */
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
  oscillators.forEach(({ variance, damping }, k) => {
    const i = order + 2 * k;
    startVariance.fill(variance, i, i + 2);
    stateNoise.fill(variance * (1 - damping * damping), i, i + 2);
  });
  const always = new Float64Array(n).fill(1);
  return {
    order,
    size,
    dt,
    cosines: oscillators.map(({ cosine }) => cosine),
    sines: oscillators.map(({ sine }) => sine),
    weights: oscillators.map(({ weight }) => weight ?? always),
    startVariance,
    stateNoise,
    trendNoise: model.trendNoise.map((q) => q * dt),
    noise: model.noise,
  };
}

/** What a pass of the filter leaves for the smoother, at each sample. */
export interface FilterRecord {
  readonly innovations: Float64Array;
  readonly variances: Float64Array;
  /** Gains carried over one sample, T P Zᵀ/F; length n · size. */
  readonly gains: Float64Array;
}

/**
 * One pass of the Kalman filter; returns the log likelihood and fills the record, if given. Only the
 * lower triangle of the covariance P is kept.
 */
export function filterStructure(
  signal: Float64Array,
  layout: Layout,
  record: FilterRecord | undefined,
): number {
  const { order, size: m, cosines, weights } = layout;
  const oscillators = cosines.length;
  const n = signal.length;
  const a = new Float64Array(m);
  a[0] = signal[0]!;
  const P = new Float64Array(m * m);
  for (let i = 0; i < m; i++) P[i * m + i] = layout.startVariance[i]!;
  const PZ = new Float64Array(m);
  let squares = 0;
  let logarithms = 0;
  let product = 1;
  for (let t = 0; t < n; t++) {
    // Innovation, P Zᵀ and the innovation's variance.
    let innovation = signal[t]! - a[0]!;
    for (let i = 0; i < m; i++) PZ[i] = P[i * m]!;
    for (let k = 0; k < oscillators; k++) {
      const at = order + 2 * k;
      const z = weights[k]![t]!;
      innovation -= z * a[at]!;
      for (let i = 0; i < at; i++) PZ[i]! += z * P[at * m + i]!;
      for (let i = at; i < m; i++) PZ[i]! += z * P[i * m + at]!;
    }
    let variance = PZ[0]! + layout.noise;
    for (let k = 0; k < oscillators; k++) variance += weights[k]![t]! * PZ[order + 2 * k]!;
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
    transition(layout, t, a);
    carryCovariance(layout, t, P, PZ, scale);
    if (!record) continue;
    for (let i = 0; i < m; i++) PZ[i]! *= scale;
    transition(layout, t, PZ);
    record.innovations[t] = innovation;
    record.variances[t] = variance;
    record.gains.set(PZ, t * m);
  }
  return -0.5 * (squares + logarithms + Math.log(product));
}

/**
 * P ← T (P − P Zᵀ Z P/F) Tᵀ + Q over the blocks of the lower triangle: each oscillation's pair of rows
 * meets the trend's columns, which shear, and the pairs before it, which turn.
 *
 * @param scale - 1/F
 */
function carryCovariance(
  { order, size: m, dt, cosines, sines, stateNoise, trendNoise }: Layout,
  t: number,
  P: Float64Array,
  PZ: Float64Array,
  scale: number,
): void {
  carryTrend(order, m, dt, P, PZ, scale);
  P[(order - 1) * (m + 1)]! += trendNoise[t]!;
  const half = (dt * dt) / 2;
  for (let k = 0, i = order; i < m; k++, i += 2) {
    const c = cosines[k]![t]!;
    const s = sines[k]![t]!;
    const upper = i * m;
    const lower = upper + m;
    const g = PZ[i]! * scale;
    const h = PZ[i + 1]! * scale;
    for (let j = 0; j < order; j++) {
      const z = PZ[j]!;
      const u = P[upper + j]! - g * z;
      const v = P[lower + j]! - h * z;
      P[upper + j] = c * u + s * v;
      P[lower + j] = c * v - s * u;
    }
    for (let row = upper; row <= lower; row += m) {
      P[row]! += dt * P[row + 1]!;
      if (order === 3) {
        P[row]! += half * P[row + 2]!;
        P[row + 1]! += dt * P[row + 2]!;
      }
    }
    for (let l = 0, j = order; j <= i; l++, j += 2) {
      const cl = cosines[l]![t]!;
      const sl = sines[l]![t]!;
      const y = PZ[j]!;
      const z = PZ[j + 1]!;
      // The block on the diagonal is symmetric; its upper corner is not kept.
      const corner = j === i ? P[lower + j]! : P[upper + j + 1]!;
      const p = P[upper + j]! - g * y;
      const q = corner - g * z;
      const r = P[lower + j]! - h * y;
      const w = P[lower + j + 1]! - h * z;
      const pu = c * p + s * r;
      const qu = c * q + s * w;
      const ru = c * r - s * p;
      const wu = c * w - s * q;
      P[upper + j] = cl * pu + sl * qu;
      P[upper + j + 1] = cl * qu - sl * pu;
      P[lower + j] = cl * ru + sl * wu;
      P[lower + j + 1] = cl * wu - sl * ru;
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
export function transition(
  { order, dt, cosines, sines }: Layout,
  t: number,
  x: Float64Array,
): void {
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
export function transposedTransition(
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
export function addObservation(layout: Layout, t: number, value: number, x: Float64Array): void {
  x[0]! += value;
  for (let k = 0; k < layout.cosines.length; k++) {
    x[layout.order + 2 * k]! += layout.weights[k]![t]! * value;
  }
}
