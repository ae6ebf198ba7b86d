import { TwinkeelError } from '../error.js';
import {
  composeQuaternions,
  invertQuaternions,
  quaternionsFromRotationVectors,
  rotationVectorsFromQuaternions,
} from '../rotation/arrays.js';
import { calmestWithin } from './calmestWithin.js';
import { type Bound, boundsOf, type CorrectionLimit, withinBy } from './correctionLimit.js';
import { neededShare, shrunk } from './shrunkCorrection.js';

/** A path within the limit, and how often the limit was felt. */
export interface LimitedPath {
  readonly quaternions: Float64Array;
  /** Samples at which the wanted path lies beyond the limit. */
  readonly limited: number;
}

/** Kept clear of the limit so that rounding can never cross it, rad. */
const CLEARANCE = 1e-9;

/**
 * The calmest path within the limit, and is nearest to the wanted one where that leaves a
 * choice: S minimises Σ|Log(W⁻¹S)|² + λ Σ|jerk(S) − jerk(W)|² subject to |e| ≤ limit and
 * |eᵢ| ≤ axis limit for S = C Exp(e), and the optical axes and the line between the lenses turned no
 * further than theirs. λ is that of the calm path itself: it halves a deviation that comes and goes
 * once in a shortest move, so that the longer the shortest move, the calmer the ride within the limit.
 *
 * @param measured - C, camera→world, length 4n
 * @param wanted - W, camera→world, length 4n
 * @param sampleRate - Hz
 * @param shortestMove - s
 * @throws TwinkeelError `argument/invalid` for a limit that is not above zero
 */
export function limitPath(
  measured: Float64Array,
  wanted: Float64Array,
  limit: CorrectionLimit,
  sampleRate: number,
  shortestMove = 2,
): LimitedPath {
  return limitWith(measured, wanted, limit, (e, inside) =>
    calmestWithin(measured, wanted, e, inside, sampleRate, shortestMove),
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
  const e = correctionsTo(measured, wanted);
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

/** e with S = C Exp(e). */
function correctionsTo(measured: Float64Array, path: Float64Array): Float64Array {
  return rotationVectorsFromQuaternions(composeQuaternions(invertQuaternions(measured), path));
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
