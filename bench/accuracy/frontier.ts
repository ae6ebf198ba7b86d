/**
 * How calm a path is and what that cost, without knowing what was meant; and the frontier of the
 * plainest good smoother: a third-order penalised spline on the quaternions with one cut-off for
 * the whole clip, roll levelled. For each cut-off it gives one pair of cost and shake; a method is
 * judged by its shake as a ratio to the frontier's at the same cost.
 *
 * @see Whittaker, "On a new method of graduation", Proc. Edinburgh Math. Soc. 41, 1923; Eilers, "A
 *   perfect smoother", Analytical Chemistry 75(14), 2003
 */
import { splineFilter } from '../../src/motion/classicFilters.js';
import { levelPath } from '../../src/motion/horizon.js';
import { extend } from '../../src/numeric/convolution.js';
import { fourierTransform, nextPowerOfTwo } from '../../src/numeric/fourier.js';
import {
  composeQuaternions,
  invertQuaternions,
  normalizeQuaternions,
  rotateVectors,
  rotationVectorsFromQuaternions,
} from '../../src/rotation/arrays.js';

/** Magnitudes of one path beside the measured one. */
export interface Calmness {
  /** Root mean square angular rate within 0.6–12 Hz, °/s: what is seen as shaking. */
  readonly shake: number;
  /** The same within 3–12 Hz, °/s. */
  readonly tremor: number;
  /** Root mean square of the second difference of the rate, °/s³. */
  readonly jerk: number;
  /** Root mean square angle between the directions of view before and after, degrees. */
  readonly cost: number;
}

/** One point of the frontier. */
export interface FrontierPoint extends Calmness {
  /** Hz at which the spline leaves half the amplitude. */
  readonly cutoff: number;
}

const DEGREES = 180 / Math.PI;

export function calmnessOf(
  measured: Float64Array,
  path: Float64Array,
  frameRate: number,
): Calmness {
  const rates = bodyRates(path, frameRate);
  return {
    shake: bandRms(rates, frameRate, 0.6, 12),
    tremor: bandRms(rates, frameRate, 3, 12),
    jerk: jerkRms(rates, frameRate),
    cost: viewMoved(measured, path),
  };
}

/** The frontier at 34 cut-offs from 0.05 to 6 Hz. */
export function frontierOf(measured: Float64Array, frameRate: number): FrontierPoint[] {
  return Array.from({ length: 34 }, (_, k) => {
    const cutoff = 0.05 * 120 ** (k / 33);
    const path = levelPath(splineOfQuaternions(measured, frameRate, cutoff), 1);
    return { cutoff, ...calmnessOf(measured, path, frameRate) };
  });
}

/** A figure of the frontier at a cost, its logarithm interpolated in straight lines. */
export function frontierAt(
  frontier: readonly FrontierPoint[],
  cost: number,
  figure: 'shake' | 'tremor' | 'jerk',
): number {
  const points = [...frontier].sort((a, b) => a.cost - b.cost);
  const after = points.findIndex((point) => point.cost >= cost);
  if (after === 0) return points[0]![figure];
  if (after < 0) return points[points.length - 1]![figure];
  const [a, b] = [points[after - 1]!, points[after]!];
  const share = (cost - a.cost) / (b.cost - a.cost);
  const log = (point: FrontierPoint) => Math.log(Math.max(point[figure], 1e-6));
  return Math.exp((1 - share) * log(a) + share * log(b));
}

/** The penalised spline of each component of sign-continuous quaternions, made unit again. */
export function splineOfQuaternions(
  quaternions: Float64Array,
  frameRate: number,
  cutoff: number,
): Float64Array {
  const n = quaternions.length / 4;
  const out = new Float64Array(quaternions.length);
  for (let component = 0; component < 4; component++) {
    const signal = Float64Array.from({ length: n }, (_, k) => quaternions[4 * k + component]!);
    const smooth = splineFilter(signal, frameRate, cutoff);
    for (let k = 0; k < n; k++) out[4 * k + component] = smooth[k]!;
  }
  return normalizeQuaternions(out);
}

/** Angular rate from each frame to the next in the path's own axes, °/s, one array per axis. */
function bodyRates(path: Float64Array, frameRate: number): Float64Array[] {
  const n = path.length / 4 - 1;
  const steps = rotationVectorsFromQuaternions(
    composeQuaternions(invertQuaternions(path.subarray(0, 4 * n)), path.subarray(4)),
  );
  return [0, 1, 2].map((axis) =>
    Float64Array.from({ length: n }, (_, k) => steps[3 * k + axis]! * DEGREES * frameRate),
  );
}

/**
 * Root mean square of what a Butterworth band-pass of order 4, forward and backward, lets through;
 * its gain |H|² is applied to the spectrum of the point-mirrored signal.
 */
function bandRms(
  axes: readonly Float64Array[],
  sampleRate: number,
  low: number,
  high: number,
): number {
  let sum = 0;
  const n = axes[0]!.length;
  for (const axis of axes) {
    const pad = Math.min(n - 1, Math.round(4 * sampleRate));
    const size = nextPowerOfTwo(n + 2 * pad);
    const re = new Float64Array(size);
    const im = new Float64Array(size);
    re.set(extend(axis, pad, 'odd'));
    fourierTransform(re, im);
    for (let k = 0; k < size; k++) {
      const f = (Math.min(k, size - k) * sampleRate) / size;
      const gain = f === 0 ? 0 : 1 / (1 + ((f * f - low * high) / (f * (high - low))) ** 8);
      // The inverse transform is the forward one of the conjugate.
      re[k]! *= gain;
      im[k]! *= -gain;
    }
    fourierTransform(re, im);
    for (let k = pad; k < pad + n; k++) sum += (re[k]! / size) ** 2;
  }
  return Math.sqrt(sum / n);
}

function jerkRms(axes: readonly Float64Array[], sampleRate: number): number {
  let sum = 0;
  const n = axes[0]!.length - 2;
  for (const axis of axes) {
    for (let k = 0; k < n; k++) sum += (axis[k]! - 2 * axis[k + 1]! + axis[k + 2]!) ** 2;
  }
  return Math.sqrt(sum / n) * sampleRate ** 2;
}

function viewMoved(a: Float64Array, b: Float64Array): number {
  const n = a.length / 4;
  const forward = Float64Array.from({ length: 3 * n }, (_, i) => (i % 3 === 2 ? -1 : 0));
  const [f, g] = [rotateVectors(a, forward), rotateVectors(b, forward)];
  let sum = 0;
  for (let i = 0; i < 3 * n; i += 3) {
    const cross = Math.hypot(
      f[i + 1]! * g[i + 2]! - f[i + 2]! * g[i + 1]!,
      f[i + 2]! * g[i]! - f[i]! * g[i + 2]!,
      f[i]! * g[i + 1]! - f[i + 1]! * g[i]!,
    );
    const dot = f[i]! * g[i]! + f[i + 1]! * g[i + 1]! + f[i + 2]! * g[i + 2]!;
    sum += Math.atan2(cross, dot) ** 2;
  }
  return Math.sqrt(sum / n) * DEGREES;
}
