import {
  composeQuaternions,
  invertQuaternions,
  quaternionsFromRotationVectors,
  rotationVectorsFromQuaternions,
} from '../rotation/arrays.js';
import { inverseRightJacobianInto, rightJacobianInto } from '../rotation/rightJacobian.js';
import { splinePenalty } from './classicFilters.js';
import { type Bound, boundsOf, type CorrectionLimit, fractionOfBound } from './correctionLimit.js';
import type { LimitProblem } from './limitProblem.js';
import { type Found, solveWithinLimit } from './limitSolver.js';
import { shrunk } from './shrunkCorrection.js';

/** Seconds, and shortest moves, kept free around what lies beyond the limit, for the path to swing out and back. */
const MARGIN = { seconds: 3, moves: 2 };
/** A sample is close to a bound from this share of the way on (our judgement). */
const CLOSE = 0.9;
/** Share of the cost that each round may lie above the least one; rounds start next to the last solution. */
const GAPS = [0.01, 0.003, 0.001];
/** Share of a correction within the limit from which the search starts, so as to start clear of it. */
const STEP_BACK = 0.98;

/**
 * The corrections of the calmest path within a limit, see {@link limitPath}. Only stretches near the
 * limit are solved; the rest keeps the wanted correction.
 *
 * @param e - wanted corrections, rotation vectors, length 3n
 * @returns corrections within the limit, length 3n
 */
export function calmestWithin(
  measured: Float64Array,
  wanted: Float64Array,
  e: Float64Array,
  limit: CorrectionLimit,
  sampleRate: number,
  shortestMove: number,
): Float64Array {
  const bounds = boundsOf(limit, e);
  const out = e.slice();
  const n = e.length / 3;
  const start = shrunk(e, limit, sampleRate);
  const penalty = splinePenalty(1 / shortestMove, sampleRate);
  const margin = Math.round(Math.max(MARGIN.seconds, MARGIN.moves * shortestMove) * sampleRate);
  for (const { from, to } of stretchesNearBounds(e, bounds, margin)) {
    const part = (values: Float64Array, size: number) => values.subarray(size * from, size * to);
    const solution = solveStretch(
      part(measured, 4),
      part(wanted, 4),
      part(start, 3),
      bounds.map(({ parts, centre, most }) => ({
        parts,
        ...(centre && { centre: centre.map((list) => part(list, 1)) }),
        most: part(most, 1),
      })),
      penalty,
    );
    // In the outer half of a margin the path glides from what is wanted and back to it. Both keep
    // every bound there and bounds are convex, so what lies between does too.
    for (let k = from; k < to; k++) {
      const fromStart = from === 0 ? Number.POSITIVE_INFINITY : k - from;
      const toEnd = to === n ? Number.POSITIVE_INFINITY : to - 1 - k;
      const u = Math.min(1, Math.min(fromStart, toEnd) / (margin / 2));
      const share = u * u * u * (10 - 15 * u + 6 * u * u);
      for (let i = 3 * k; i < 3 * k + 3; i++) {
        out[i] = e[i]! + share * (solution[i - 3 * from]! - e[i]!);
      }
    }
  }
  return out;
}

/**
 * Stretches that hold every sample close to a bound and the margin around it, without those in which
 * nothing lies beyond a bound: there the wanted corrections are the calmest.
 */
function stretchesNearBounds(
  e: Float64Array,
  bounds: readonly Bound[],
  margin: number,
): { from: number; to: number }[] {
  const n = e.length / 3;
  const stretches: { from: number; to: number; beyond: boolean }[] = [];
  for (let k = 0; k < n; k++) {
    const most = largestFraction(e, k, bounds);
    if (!(most > CLOSE)) continue;
    const from = Math.max(0, k - margin);
    const to = Math.min(n, k + margin + 1);
    let last = stretches[stretches.length - 1];
    if (last && from <= last.to) last.to = to;
    else {
      last = { from, to, beyond: false };
      stretches.push(last);
    }
    last.beyond ||= most > 1;
  }
  return stretches.filter(({ beyond }) => beyond);
}

/**
 * The calmest corrections of a stretch. Rotations only add up near by, so the problem is solved anew
 * around each solution.
 *
 * @param start - corrections within the bounds, length 3n
 */
function solveStretch(
  measured: Float64Array,
  wanted: Float64Array,
  start: Float64Array,
  bounds: readonly Bound[],
  penalty: number,
): Float64Array {
  let base: Float64Array = wanted;
  let e: Float64Array = start.map((value) => STEP_BACK * value);
  let found: Found | undefined;
  for (const gap of GAPS) {
    // Deviations x from the base at which the round starts.
    const x = rotationVectorsFromQuaternions(
      composeQuaternions(invertQuaternions(base), correctedBy(measured, e)),
    );
    const jacobians = jacobiansAt(e, x);
    const problem: LimitProblem = {
      target: rotationVectorsFromQuaternions(composeQuaternions(invertQuaternions(base), wanted)),
      correction: offsets(e, jacobians, x),
      jacobians,
      bounds,
      jerkOfBase: found ? jerkBeyond(base, wanted) : new Float64Array(x.length),
      penalty,
    };
    found = solveWithinLimit(problem, x, gap, found?.multipliers);
    base = composeQuaternions(base, quaternionsFromRotationVectors(found.x));
    e = rotationVectorsFromQuaternions(composeQuaternions(invertQuaternions(measured), base));
  }
  return keptWithin(e, bounds);
}

function correctedBy(measured: Float64Array, e: Float64Array): Float64Array {
  return composeQuaternions(measured, quaternionsFromRotationVectors(e));
}

/** de/dx at deviations x whose corrections are e: Exp(e) = C⁻¹ B Exp(x), so Jᵣ(e) de = Jᵣ(x) dx. */
function jacobiansAt(e: Float64Array, x: Float64Array): Float64Array {
  const n = x.length / 3;
  const out = new Float64Array(9 * n);
  const right = new Float64Array(9);
  const inverse = new Float64Array(9);
  for (let k = 0; k < n; k++) {
    rightJacobianInto(right, 0, x[3 * k]!, x[3 * k + 1]!, x[3 * k + 2]!);
    inverseRightJacobianInto(inverse, 0, e[3 * k]!, e[3 * k + 1]!, e[3 * k + 2]!);
    for (let i = 0; i < 3; i++) {
      for (let j = 0; j < 3; j++) {
        out[9 * k + 3 * i + j] =
          inverse[3 * i]! * right[j]! +
          inverse[3 * i + 1]! * right[3 + j]! +
          inverse[3 * i + 2]! * right[6 + j]!;
      }
    }
  }
  return out;
}

/** e₀ = e − J x: what the correction would be without any deviation, in straight lines. */
function offsets(e: Float64Array, jacobians: Float64Array, x: Float64Array): Float64Array {
  return e.map((value, i) => {
    const j = 9 * Math.floor(i / 3) + 3 * (i % 3);
    const k = i - (i % 3);
    return (
      value - jacobians[j]! * x[k]! - jacobians[j + 1]! * x[k + 1]! - jacobians[j + 2]! * x[k + 2]!
    );
  });
}

/** Corrections that rounding or a round's straight lines carried out of a bound, taken back onto it. */
function keptWithin(e: Float64Array, bounds: readonly Bound[]): Float64Array {
  const out = e.slice();
  for (let k = 0; 3 * k < out.length; k++) {
    const most = largestFraction(e, k, bounds);
    if (most < 1) continue;
    for (let i = 3 * k; i < 3 * k + 3; i++) out[i]! /= most;
  }
  return out;
}

function largestFraction(e: Float64Array, k: number, bounds: readonly Bound[]): number {
  let most = 0;
  for (const bound of bounds) most = Math.max(most, fractionOfBound(e, k, bound));
  return most;
}

/** Second differences of a path's rate beyond those of the wanted path; from the fourth sample on. */
function jerkBeyond(path: Float64Array, wanted: Float64Array): Float64Array {
  const rates = stepsOf(path);
  stepsOf(wanted).forEach((step, i) => {
    rates[i]! -= step;
  });
  return rates.map((rate, i) => (i < 9 ? 0 : rate - 2 * rates[i - 3]! + rates[i - 6]!));
}

/** Rotation vector from the sample before to each sample; the first is zero. */
function stepsOf(path: Float64Array): Float64Array {
  const steps = rotationVectorsFromQuaternions(
    composeQuaternions(invertQuaternions(path.subarray(0, -4)), path.subarray(4)),
  );
  const out = new Float64Array(path.length * 0.75);
  out.set(steps, 3);
  return out;
}
