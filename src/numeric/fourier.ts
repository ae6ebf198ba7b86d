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
  const cosines = new Float64Array(n >> 1);
  const sines = new Float64Array(n >> 1);
  for (let k = 0; k < n >> 1; k++) {
    const angle = (-Math.PI * k) / (n >> 1);
    cosines[k] = Math.cos(angle);
    sines[k] = Math.sin(angle);
  }
  return (re, im) => {
    reverseBits(re);
    reverseBits(im);
    for (let half = 1, every = n >> 1; half < n; half *= 2, every >>= 1) {
      // Block by block, so that a long transform stays in the cache.
      for (let start = 0; start < n; start += 2 * half) {
        for (let k = 0, root = 0, i = start; k < half; k++, root += every, i++) {
          const c = cosines[root]!;
          const s = sines[root]!;
          const tr = re[i + half]! * c - im[i + half]! * s;
          const ti = re[i + half]! * s + im[i + half]! * c;
          re[i + half] = re[i]! - tr;
          im[i + half] = im[i]! - ti;
          re[i]! += tr;
          im[i]! += ti;
        }
      }
    }
  };
}

/** One transform as {@link planFourier} does it; the length must be a power of two. */
export function fourierTransform(re: Float64Array, im: Float64Array): void {
  planFourier(re.length)(re, im);
}

/** Exchanges elements whose indices are each other's bits backwards. */
function reverseBits(values: Float64Array): void {
  const n = values.length;
  for (let i = 1, j = 0; i < n; i++) {
    let bit = n >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i >= j) continue;
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
