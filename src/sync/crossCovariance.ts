import { type FourierPlan, nextPowerOfTwo, planFourier } from '../numeric/fourier.js';

/** The transform of a real signal at frequencies 0 … size/2. */
interface HalfSpectrum {
  readonly re: Float64Array;
  readonly im: Float64Array;
}

/**
 * H[3i + j][l] = Σ_k v_i[k] g_j[k + first + l]: how two vectors over time vary together, at each lag.
 * Two real signals share one transform on the way in and two on the way out: eight in all.
 *
 * @param v - length 3n
 * @param g - length 3m
 * @param first - the first lag, may be negative
 * @param lags - how many
 */
export function crossCovariances3(
  v: Float64Array,
  g: Float64Array,
  first: number,
  lags: number,
): Float64Array[] {
  const size = nextPowerOfTwo((v.length + g.length) / 3);
  const transform = planFourier(size);
  const [v0, v1] = spectraOfTwo(v, 0, v, 1, size, transform);
  const [v2, g0] = spectraOfTwo(v, 2, g, 0, size, transform);
  const [g1, g2] = spectraOfTwo(g, 1, g, 2, size, transform);
  const pairs = [v0, v1, v2].flatMap((a) => [g0, g1, g2].map((b) => [a, b] as const));
  const out: Float64Array[] = [];
  const re = new Float64Array(size);
  const im = new Float64Array(size);
  for (let p = 0; p < 9; p += 2) {
    joinProducts(pairs[p]!, pairs[p + 1], re, im);
    transform(re, im);
    out.push(atLags(re, first, lags, 1 / size));
    if (p + 1 < 9) out.push(atLags(im, first, lags, -1 / size));
  }
  return out;
}

/** The values of a circular correlation at consecutive lags, scaled: its size is a power of two. */
function atLags(values: Float64Array, first: number, lags: number, scale: number): Float64Array {
  const mask = values.length - 1;
  const out = new Float64Array(lags);
  for (let l = 0; l < lags; l++) out[l] = values[(first + l) & mask]! * scale;
  return out;
}

/** The transforms of two real signals, as the even and the odd part of one of both. */
function spectraOfTwo(
  a: Float64Array,
  axisA: number,
  b: Float64Array,
  axisB: number,
  size: number,
  transform: FourierPlan,
): [HalfSpectrum, HalfSpectrum] {
  const re = new Float64Array(size);
  const im = new Float64Array(size);
  for (let k = 0; 3 * k < a.length; k++) re[k] = a[3 * k + axisA]!;
  for (let k = 0; 3 * k < b.length; k++) im[k] = b[3 * k + axisB]!;
  transform(re, im);
  const half = size / 2 + 1;
  const empty = () => ({ re: new Float64Array(half), im: new Float64Array(half) });
  const [one, two] = [empty(), empty()];
  for (let k = 0; k < half; k++) {
    const mirror = (size - k) % size;
    one.re[k] = (re[k]! + re[mirror]!) / 2;
    one.im[k] = (im[k]! - im[mirror]!) / 2;
    two.re[k] = (im[k]! + im[mirror]!) / 2;
    two.im[k] = (re[mirror]! - re[k]!) / 2;
  }
  return [one, two];
}

/**
 * Writes the conjugate of conj(V) G of one pair plus i times that of another, at all frequencies: the
 * forward transform then has both results, the second with a minus.
 */
function joinProducts(
  [v, g]: readonly [HalfSpectrum, HalfSpectrum],
  other: readonly [HalfSpectrum, HalfSpectrum] | undefined,
  re: Float64Array,
  im: Float64Array,
): void {
  const size = re.length;
  for (let k = 0; k <= size / 2; k++) {
    const a = v.re[k]! * g.re[k]! + v.im[k]! * g.im[k]!;
    const b = v.re[k]! * g.im[k]! - v.im[k]! * g.re[k]!;
    let c = 0;
    let d = 0;
    if (other) {
      const [w, h] = other;
      c = w.re[k]! * h.re[k]! + w.im[k]! * h.im[k]!;
      d = w.re[k]! * h.im[k]! - w.im[k]! * h.re[k]!;
    }
    const mirror = (size - k) % size;
    // (a + ib) + i (c + id) here and (a − ib) + i (c − id) at the mirrored frequency, conjugated.
    re[mirror] = a + d;
    im[mirror] = b - c;
    re[k] = a - d;
    im[k] = -(b + c);
  }
}
