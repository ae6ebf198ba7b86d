/** Transforms arrays of one size in place, real parts first. */
export type FourierPlan = (re: Float64Array, im: Float64Array) => void;

/**
 * Discrete Fourier transform, X[k] = Σ x[j] exp(−2πi jk/n), for many arrays of one size: what depends
 * on the size only is worked out once.
 *
 * @param n - a power of two
 * @see Cooley and Tukey, "An algorithm for the machine calculation of complex Fourier series",
 *   Mathematics of Computation 19, 1965
 */
export function planFourier(n: number): FourierPlan {
  // The roots of the widest step serve all: every second, fourth … of them.
  const cosines = new Float64Array(n);
  const sines = new Float64Array(n);
  for (let k = 0; k < n; k++) {
    const angle = (-2 * Math.PI * k) / n;
    cosines[k] = Math.cos(angle);
    sines[k] = Math.sin(angle);
  }
  const exchanged = bitReversal(n);
  const odd = Math.round(Math.log2(n)) % 2 === 1;
  return (re, im) => {
    exchange(re, exchanged);
    exchange(im, exchanged);
    if (odd) addNeighbours(re, im);
    // Two steps of doubling at a time: a quarter fewer products, and half the way through memory.
    for (let quarter = odd ? 2 : 1; quarter < n; quarter *= 4) {
      joinFour(re, im, quarter, cosines, sines);
    }
  };
}

/** Transforms of single values become those of pairs. */
function addNeighbours(re: Float64Array, im: Float64Array): void {
  for (let i = 0; i + 1 < re.length; i += 2) {
    const u = re[i + 1]!;
    const v = im[i + 1]!;
    re[i + 1] = re[i]! - u;
    im[i + 1] = im[i]! - v;
    re[i]! += u;
    im[i]! += v;
  }
}

/**
 * Four transforms of a quarter each become one. With w = exp(−2πi k/(4 quarter)), and b and c
 * exchanged as reversed bits leave them, the values at k are
 * (a + w²b) ± (w c + w³d) and (a − w²b) ∓ i (w c − w³d).
 */
function joinFour(
  re: Float64Array,
  im: Float64Array,
  quarter: number,
  cosines: Float64Array,
  sines: Float64Array,
): void {
  const n = re.length;
  const every = n / (4 * quarter);
  // Block by block, so that a long transform stays in the cache.
  for (let start = 0; start < n; start += 4 * quarter) {
    for (let k = 0, root = 0; k < quarter; k++, root += every) {
      const i = start + k;
      const j = i + quarter;
      const l = j + quarter;
      const m = l + quarter;
      let c = cosines[2 * root]!;
      let s = sines[2 * root]!;
      const bRe = re[j]! * c - im[j]! * s;
      const bIm = re[j]! * s + im[j]! * c;
      c = cosines[root]!;
      s = sines[root]!;
      const cRe = re[l]! * c - im[l]! * s;
      const cIm = re[l]! * s + im[l]! * c;
      c = cosines[3 * root]!;
      s = sines[3 * root]!;
      const dRe = re[m]! * c - im[m]! * s;
      const dIm = re[m]! * s + im[m]! * c;
      const sumRe = re[i]! + bRe;
      const sumIm = im[i]! + bIm;
      const lessRe = re[i]! - bRe;
      const lessIm = im[i]! - bIm;
      re[i] = sumRe + cRe + dRe;
      im[i] = sumIm + cIm + dIm;
      re[l] = sumRe - cRe - dRe;
      im[l] = sumIm - cIm - dIm;
      re[j] = lessRe + cIm - dIm;
      im[j] = lessIm - cRe + dRe;
      re[m] = lessRe - cIm + dIm;
      im[m] = lessIm + cRe - dRe;
    }
  }
}

/** One transform as {@link planFourier} does it; the length must be a power of two. */
export function fourierTransform(re: Float64Array, im: Float64Array): void {
  planFourier(re.length)(re, im);
}

/** Pairs of indices that are each other's bits backwards, one after the other. */
function bitReversal(n: number): Uint32Array {
  const pairs = new Uint32Array(n);
  let count = 0;
  for (let i = 1, j = 0; i < n; i++) {
    let bit = n >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i >= j) continue;
    pairs[count++] = i;
    pairs[count++] = j;
  }
  return pairs.slice(0, count);
}

function exchange(values: Float64Array, pairs: Uint32Array): void {
  for (let p = 0; p < pairs.length; p += 2) {
    const i = pairs[p]!;
    const j = pairs[p + 1]!;
    const value = values[i]!;
    values[i] = values[j]!;
    values[j] = value;
  }
}

/** The smallest power of two that is not below `n`. */
export function nextPowerOfTwo(n: number): number {
  return 2 ** Math.ceil(Math.log2(Math.max(1, n)));
}

/**
 * Power spectral density by averaging Hann-windowed, mean-free segments that overlap by half.
 *
 * @param signal - evenly sampled
 * @param sampleRate - Hz
 * @param segment - samples per segment; shortened to the signal
 * @returns one-sided density per Hz at `frequencies`; its integral is the variance
 * @see Welch, "The use of fast Fourier transform for the estimation of power spectra", IEEE
 *   Trans. Audio and Electroacoustics 15(2), 1967
 */
export function powerDensity(
  signal: Float64Array,
  sampleRate: number,
  segment: number,
): { frequencies: Float64Array; density: Float64Array } {
  const length = Math.min(segment, signal.length);
  const size = nextPowerOfTwo(length);
  const window = hannWindow(length);
  const energy = window.reduce((sum, w) => sum + w * w, 0);
  const density = new Float64Array(size / 2 + 1);
  const hop = Math.max(1, length >> 1);
  let segments = 0;
  const transform = planFourier(size);
  const re = new Float64Array(size);
  const im = new Float64Array(size);
  for (let start = 0; start + length <= signal.length; start += hop) {
    const part = signal.subarray(start, start + length);
    const mean = part.reduce((sum, x) => sum + x, 0) / length;
    re.fill(0);
    im.fill(0);
    for (let i = 0; i < length; i++) re[i] = (part[i]! - mean) * window[i]!;
    transform(re, im);
    for (let k = 0; k < density.length; k++) density[k]! += re[k]! * re[k]! + im[k]! * im[k]!;
    segments++;
  }
  const scale = 2 / (energy * sampleRate * segments);
  for (let k = 0; k < density.length; k++) density[k]! *= scale;
  density[0]! /= 2;
  density[density.length - 1]! /= 2;
  return {
    frequencies: Float64Array.from(density, (_, k) => (k * sampleRate) / size),
    density,
  };
}

/** Hann window without its zero ends, length n. */
export function hannWindow(n: number): Float64Array {
  return Float64Array.from(
    { length: n },
    (_, k) => 0.5 - 0.5 * Math.cos((2 * Math.PI * (k + 1)) / (n + 1)),
  );
}
