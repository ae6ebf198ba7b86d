import { TwinkeelError } from '../error.js';
import { convolveCentred, normalisedKernel } from '../numeric/convolution.js';
import { hannWindow } from '../numeric/fourier.js';
import {
  composeQuaternions,
  invertQuaternions,
  quaternionsFromRotationVectors,
  rotationVectorsFromQuaternions,
} from '../rotation/arrays.js';

/** Half the time over which the limit fades in and out, s (our judgement). */
const FADE = 1;
/** Kept clear of the limit so that rounding can never cross it, rad. */
const CLEARANCE = 1e-9;

/** A path within the limit, and where the limit was felt. */
export interface LimitedPath {
  readonly quaternions: Float64Array;
  /** Samples at which the path had to give way. */
  readonly limited: number;
}

/**
 * The nearest path of its kind whose correction never exceeds a limit: S = C Exp(g e) with e the
 * wanted correction and a share g that is never above what the limit needs. The least need within
 * a second to either side, averaged over the same second, is smooth and can only be smaller.
 *
 * @param measured - C, camera→world, length 4n
 * @param wanted - S, camera→world, length 4n
 * @param limit - largest angle between the two at each sample, rad, > 0; length n
 * @param sampleRate - Hz
 */
export function shrinkToLimit(
  measured: Float64Array,
  wanted: Float64Array,
  limit: Float64Array,
  sampleRate: number,
): LimitedPath {
  const e = rotationVectorsFromQuaternions(composeQuaternions(invertQuaternions(measured), wanted));
  let limited = 0;
  const need = limit.map((most, k) => {
    if (!(most > 0)) {
      throw new TwinkeelError('argument/invalid', {
        frame: k,
        found: `a limit of ${most} rad`,
        expected: 'a limit above zero',
        remedy: 'leave the limit out to do without one',
      });
    }
    const angle = Math.hypot(e[3 * k]!, e[3 * k + 1]!, e[3 * k + 2]!);
    if (angle <= most - CLEARANCE) return 1;
    limited++;
    return Math.max(0, most - CLEARANCE) / angle;
  });
  if (limited === 0) return { quaternions: wanted, limited };
  const half = Math.max(1, Math.round(FADE * sampleRate));
  const kernel = normalisedKernel(hannWindow(2 * half + 1));
  const share = convolveCentred(slidingMinimum(need, half), kernel, 'hold');
  for (let i = 0; i < e.length; i++)
    e[i]! *= Math.min(share[Math.floor(i / 3)]!, need[Math.floor(i / 3)]!);
  return {
    quaternions: composeQuaternions(measured, quaternionsFromRotationVectors(e)),
    limited,
  };
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
