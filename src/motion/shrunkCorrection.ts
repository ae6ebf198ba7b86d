import { convolveCentred, normalisedKernel } from '../numeric/convolution.js';
import { hannWindow } from '../numeric/fourier.js';
import {
  type Bound,
  boundsOf,
  type CorrectionLimit,
  fractionsOfBounds,
} from './correctionLimit.js';

/** Half the time over which the simple limit fades in and out, s (our judgement). */
const FADE = 1;

/** The correction scaled by a smooth share that keeps it within the limit. */
export function shrunk(e: Float64Array, limit: CorrectionLimit, sampleRate: number): Float64Array {
  const need = neededShare(e, boundsOf(limit, e));
  const half = Math.max(1, Math.round(FADE * sampleRate));
  const kernel = normalisedKernel(hannWindow(2 * half + 1));
  const share = convolveCentred(slidingMinimum(need, half), kernel, 'hold');
  return e.map((value, i) => {
    const k = Math.floor(i / 3);
    return value * Math.min(share[k]!, need[k]!);
  });
}

/** The largest share of each correction that its limits allow, at most 1. */
export function neededShare(e: Float64Array, bounds: readonly Bound[]): Float64Array {
  return fractionsOfBounds(e, bounds).map((fraction) => (fraction > 1 ? 1 / fraction : 1));
}

/** Least value within `half` samples to either side, O(n) by a queue of rising candidates. */
function slidingMinimum(values: Float64Array, half: number): Float64Array {
  const n = values.length;
  const out = new Float64Array(n);
  const queue = new Int32Array(n);
  let head = 0;
  let tail = 0;
  for (let k = 0; k < n + half; k++) {
    if (k < n) {
      while (tail > head && values[queue[tail - 1]!]! >= values[k]!) tail--;
      queue[tail++] = k;
    }
    const centre = k - half;
    if (centre < 0) continue;
    while (queue[head]! < centre - half) head++;
    out[centre] = values[queue[head]!]!;
  }
  return out;
}
