import { TwinkeelError } from '../error.js';
import { convolveCentred, normalisedKernel } from '../numeric/convolution.js';
import { hannWindow } from '../numeric/fourier.js';
import {
  composeQuaternions,
  invertQuaternions,
  quaternionsFromRotationVectors,
  rotationVectorsFromQuaternions,
} from '../rotation/arrays.js';
import {
  type Bound,
  boundsOf,
  type CorrectionLimit,
  fractionOfBound,
  withinBy,
} from './correctionLimit.js';
import { nearestWithinLimit } from './limitSolver.js';

/** A path within the limit, and how often the limit was felt. */
export interface LimitedPath {
  readonly quaternions: Float64Array;
  /** Samples at which the wanted path lies beyond the limit. */
  readonly limited: number;
}

/** Half the time over which the simple limit fades in and out, s (our judgement). */
const FADE = 1;
/** Kept clear of the limit so that rounding can never cross it, rad. */
const CLEARANCE = 1e-9;

/**
 * The path nearest to the wanted one whose correction never exceeds the limit, and which leaves
 * the wanted path as smoothly as it can: S = C Exp(e), minimising
 * Σ|e − E|² + λ Σ|Δ³(e − E)|² subject to |e| ≤ limit, |eᵢ| ≤ axis limit, and the optical axes and
 * the line between the lenses turned no further than theirs.
 *
 * @param measured - C, camera→world, length 4n
 * @param wanted - S, camera→world, length 4n
 * @param sampleRate - Hz
 * @throws TwinkeelError `argument/invalid` for a limit that is not above zero
 */
export function limitPath(
  measured: Float64Array,
  wanted: Float64Array,
  limit: CorrectionLimit,
  sampleRate: number,
): LimitedPath {
  return limitWith(measured, wanted, limit, (e, inside) =>
    nearestWithinLimit(e, shrunk(e, inside, sampleRate), inside, sampleRate),
  );
}

/**
 * The same without a solver: the correction is scaled by a share g that is never above what the
 * limit needs. The least need within a second to either side, averaged over the same second, is
 * smooth and can only be smaller. Further from the wanted path than {@link limitPath}, but O(n) and
 * sure to end.
 */
export function shrinkToLimit(
  measured: Float64Array,
  wanted: Float64Array,
  limit: CorrectionLimit,
  sampleRate: number,
): LimitedPath {
  return limitWith(measured, wanted, limit, (e, inside) => shrunk(e, inside, sampleRate));
}

function limitWith(
  measured: Float64Array,
  wanted: Float64Array,
  limit: CorrectionLimit,
  solve: (e: Float64Array, inside: CorrectionLimit) => Float64Array,
): LimitedPath {
  const e = rotationVectorsFromQuaternions(composeQuaternions(invertQuaternions(measured), wanted));
  checkBounds(boundsOf(limit, e));
  const inside = withinBy(limit, CLEARANCE);
  const limited = neededShare(e, boundsOf(inside, e)).reduce(
    (count, share) => count + (share < 1 ? 1 : 0),
    0,
  );
  if (limited === 0) return { quaternions: wanted, limited };
  return {
    quaternions: composeQuaternions(measured, quaternionsFromRotationVectors(solve(e, inside))),
    limited,
  };
}

/** The correction scaled by a smooth share that keeps it within the limit. */
function shrunk(e: Float64Array, limit: CorrectionLimit, sampleRate: number): Float64Array {
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
function neededShare(e: Float64Array, bounds: readonly Bound[]): Float64Array {
  return Float64Array.from({ length: e.length / 3 }, (_, k) => {
    const share = bounds.reduce(
      (least, bound) => Math.min(least, 1 / fractionOfBound(e, k, bound)),
      1,
    );
    return Number.isNaN(share) ? 1 : share;
  });
}

function checkBounds(bounds: readonly Bound[]): void {
  for (const { most } of bounds) {
    const k = most.findIndex((value) => !(value > 2 * CLEARANCE));
    if (k >= 0) {
      throw new TwinkeelError('argument/invalid', {
        frame: k,
        found: `a limit of ${most[k]} rad`,
        expected: 'a limit above zero',
        remedy: 'leave the limit out to do without one',
      });
    }
  }
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
