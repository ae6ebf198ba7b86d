import { DIFFUSE, type FilterRecord, LARGE, SMALL, START } from './structuralFilter.js';
import type { Oscillator, StructuralModel } from './structuralModel.js';

/**
 * One pass of the Kalman filter for a trend of order 2 and one oscillator, the model that is tried most
 * often: structuralFilter.ts with the ten different elements of the covariance as plain numbers, a fifth of
 * its time.
 *
 * @param signal - length n
 * @param record - filled for the smoother, if given
 * @returns the log likelihood, up to the same constant as of every other model; cost O(n)
 */
export function filterFourStates(
  signal: Float64Array,
  { sampleRate, trendNoise, noise }: StructuralModel,
  { variance, damping, cosine, sine, weight }: Oscillator,
  record?: FilterRecord,
): number {
  const dt = 1 / sampleRate;
  const stateNoise = variance * (1 - damping * damping);
  const squaredDamping = damping * damping;
  // The state: level x and velocity v of the trend, both numbers e and o of the oscillation.
  let x = signal[0]!;
  let v = 0;
  let e = 0;
  let o = 0;
  let xx = DIFFUSE;
  let xv = 0;
  let vv = DIFFUSE;
  let xe = 0;
  let xo = 0;
  let ve = 0;
  let vo = 0;
  let ee = variance;
  let eo = 0;
  let oo = variance;
  let squares = 0;
  let logarithms = 0;
  let product = 1;
  for (let t = 0; t < signal.length; t++) {
    const z = weight === undefined ? 1 : weight[t]!;
    const c = z * cosine[t]!;
    const s = z * sine[t]!;
    const innovation = signal[t]! - x - c * e - s * o;
    // P Zᵀ and the variance of the innovation.
    const px = xx + c * xe + s * xo;
    const pv = xv + c * ve + s * vo;
    const pe = xe + c * ee + s * eo;
    const po = xo + c * eo + s * oo;
    const total = px + c * pe + s * po + noise;
    const scale = 1 / total;
    if (t >= START) {
      squares += innovation * innovation * scale;
      product *= total;
      if (product < SMALL || product > LARGE) {
        logarithms += Math.log(product);
        product = 1;
      }
    }
    // Update, and carry over one sample: the trend shears, the oscillation decays.
    const gx = px * scale;
    const gv = pv * scale;
    const ge = pe * scale;
    const go = po * scale;
    if (record) {
      const { innovations, variances, gains } = record;
      innovations[t] = innovation;
      variances[t] = total;
      gains[4 * t] = gx + dt * gv;
      gains[4 * t + 1] = gv;
      gains[4 * t + 2] = damping * ge;
      gains[4 * t + 3] = damping * go;
    }
    v += gv * innovation;
    x += gx * innovation + dt * v;
    e = damping * (e + ge * innovation);
    o = damping * (o + go * innovation);
    vv -= gv * pv;
    xv -= gx * pv;
    ve -= gv * pe;
    vo -= gv * po;
    xx += dt * (2 * xv + dt * vv) - gx * px;
    xv += dt * vv;
    vv += trendNoise[t]! * dt;
    xe = damping * (xe - gx * pe + dt * ve);
    xo = damping * (xo - gx * po + dt * vo);
    ve *= damping;
    vo *= damping;
    ee = squaredDamping * (ee - ge * pe) + stateNoise;
    eo = squaredDamping * (eo - ge * po);
    oo = squaredDamping * (oo - go * po) + stateNoise;
  }
  return -0.5 * (squares + logarithms + Math.log(product));
}
