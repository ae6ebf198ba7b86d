import { nextPowerOfTwo, planFourier } from './fourier.js';

/** How a signal goes on beyond its ends while a symmetric kernel reaches out. */
export type Extension = 'odd' | 'even' | 'hold';

/**
 * Convolution with a symmetric kernel of odd length, without shift: output k is centred on
 * sample k.
 *
 * @param signal - length n
 * @param kernel - odd length; its middle is time 0
 * @param extension - `odd` point-mirrors (keeps slopes), `even` mirrors, `hold` repeats the end
 * @returns length n
 */
export function convolveCentred(
  signal: Float64Array,
  kernel: Float64Array,
  extension: Extension,
): Float64Array {
  const half = kernel.length >> 1;
  const padded = extend(signal, half, extension);
  const n = signal.length;
  const taps = kernel.length;
  const out = new Float64Array(n);
  let k = 0;
  // Four neighbours at a time: their sums do not wait for each other, and one new value serves all.
  for (; k + 4 <= n; k += 4) {
    let a = 0;
    let b = 0;
    let c = 0;
    let d = 0;
    let p = padded[k]!;
    let q = padded[k + 1]!;
    let r = padded[k + 2]!;
    for (let j = 0; j < taps; j++) {
      const weight = kernel[j]!;
      const s = padded[k + j + 3]!;
      a += weight * p;
      b += weight * q;
      c += weight * r;
      d += weight * s;
      p = q;
      q = r;
      r = s;
    }
    out[k] = a;
    out[k + 1] = b;
    out[k + 2] = c;
    out[k + 3] = d;
  }
  for (; k < n; k++) {
    let sum = 0;
    for (let j = 0; j < taps; j++) sum += kernel[j]! * padded[k + j]!;
    out[k] = sum;
  }
  return out;
}

/** From so many taps on transforms are quicker than sums (measured). */
const LONG_KERNEL = 128;
/** Transforms this many times as long as the kernel waste the least (measured). */
const BLOCK_IN_KERNELS = 6;

/**
 * Convolution of signals with one kernel, as {@link convolveCentred} does it with each: with a long
 * kernel by transforms of blocks that overlap, one block as the real part and the next as the imaginary
 * part. What is worked out from the kernel serves every call. A signal that is short beside the kernel
 * fits into a shorter block.
 *
 * Transforms round by some 10⁻¹⁵ of the largest value of both blocks, so that means of values that are
 * not negative may be, by that much.
 *
 * @param kernel - symmetric, odd length
 * @param longest - samples of the longest signal, where that is known
 * @returns takes any number of signals
 * @see Oppenheim and Schafer, Discrete-Time Signal Processing, section 8.7.3 (overlap-save)
 */
export function planConvolution(
  kernel: Float64Array,
  extension: Extension,
  longest = Number.POSITIVE_INFINITY,
): <Signals extends readonly Float64Array[]>(
  ...signals: Signals
) => { [Key in keyof Signals]: Float64Array } {
  type Each<Signals> = { [Key in keyof Signals]: Float64Array };
  const taps = kernel.length;
  if (taps < LONG_KERNEL) {
    return <Signals extends readonly Float64Array[]>(...signals: Signals) =>
      signals.map((signal) => convolveCentred(signal, kernel, extension)) as Each<Signals>;
  }
  const half = taps >> 1;
  const size = nextPowerOfTwo(Math.min(BLOCK_IN_KERNELS * taps, longest + 2 * half));
  const transform = planFourier(size);
  // Centred on zero, a symmetric kernel has a real spectrum.
  const gain = new Float64Array(size);
  for (let j = 0; j < taps; j++) gain[(j - half + size) % size] = kernel[j]! / size;
  transform(gain, new Float64Array(size));
  const hop = size - 2 * half;
  return <Signals extends readonly Float64Array[]>(...signals: Signals) => {
    const outs = signals.map((signal) => new Float64Array(signal.length));
    const blocks = signals.flatMap((signal, s) => {
      const padded = extend(signal, half, extension);
      const out = outs[s]!;
      return Array.from({ length: Math.ceil(signal.length / hop) }, (_, k) => ({
        values: padded.subarray(k * hop, k * hop + size),
        out: out.subarray(k * hop, (k + 1) * hop),
      }));
    });
    const re = new Float64Array(size);
    const im = new Float64Array(size);
    for (let k = 0; k < blocks.length; k += 2) {
      const first = blocks[k]!;
      const second = blocks[k + 1];
      re.fill(0).set(first.values);
      im.fill(0);
      if (second) im.set(second.values);
      transform(re, im);
      // The inverse transform is the conjugate of the transform of the conjugate.
      scaleConjugate(re, im, gain);
      transform(re, im);
      first.out.set(re.subarray(half, half + first.out.length));
      if (!second) continue;
      for (let i = 0; i < second.out.length; i++) second.out[i] = -im[half + i]!;
    }
    return outs as Each<Signals>;
  };
}

/** (re, im) ← gain · (re, −im). */
function scaleConjugate(re: Float64Array, im: Float64Array, gain: Float64Array): void {
  for (let k = 0; k < gain.length; k++) {
    re[k]! *= gain[k]!;
    im[k]! *= -gain[k]!;
  }
}

/** The signal with `count` values more at each end. Mirrors bounce when the signal is shorter. */
export function extend(signal: Float64Array, count: number, extension: Extension): Float64Array {
  const n = signal.length;
  const out = new Float64Array(n + 2 * count);
  out.set(signal, count);
  const first = signal[0]!;
  const last = signal[n - 1]!;
  const period = 2 * (n - 1);
  for (let k = 1; k <= count; k++) {
    // How far inside the mirror shows, and how often the end points were passed on the way.
    const phase = n === 1 ? 0 : k % period;
    const inside = extension === 'hold' ? 0 : Math.min(phase, period - phase);
    const before = signal[inside]!;
    const after = signal[n - 1 - inside]!;
    if (extension !== 'odd') {
      out[count - k] = before;
      out[count + n - 1 + k] = after;
      continue;
    }
    // Each whole period of the mirror shifts by twice the way from end to end.
    const shift = n === 1 ? 0 : 2 * Math.floor(k / period) * (last - first);
    out[count - k] =
      phase <= n - 1 ? 2 * first - before - shift : before - 2 * (last - first) - shift;
    out[count + n - 1 + k] =
      phase <= n - 1 ? 2 * last - after + shift : after + 2 * (last - first) + shift;
  }
  return out;
}

/** A kernel divided by its sum. */
export function normalisedKernel(kernel: Float64Array): Float64Array {
  const sum = kernel.reduce((total, value) => total + value, 0);
  return kernel.map((value) => value / sum);
}
