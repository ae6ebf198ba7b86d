import {
  composeQuaternions,
  invertQuaternions,
  quaternionsFromRotationVectors,
  rotationVectorsFromQuaternions,
} from '../rotation/arrays.js';
import { inverseRightJacobianInto, rightJacobianInto } from '../rotation/rightJacobian.js';
import { splinePenalty } from './classicFilters.js';
import {
  type Bound,
  boundsOf,
  type CorrectionLimit,
  fractionsOfBounds,
} from './correctionLimit.js';
import { piecesNearBounds, takeOver } from './limitPieces.js';
import type { LimitProblem } from './limitProblem.js';
import { solveWithinLimit } from './limitSolver.js';
import { shrunk } from './shrunkCorrection.js';

/** Share of the cost that each round may lie above the least one; rounds start next to the last solution. */
const GAPS = [0.01, 0.003, 0.001];
/** Share of a correction within the limit from which the search starts, so as to start clear of it. */
const STEP_BACK = 0.98;
/**
 * Samples are watched that come this share of the way to a bound: by the wanted corrections in the first
 * round, by those last found in the others, which so also watch what was overlooked (our judgement).
 */
const WATCHED = { first: 0.5, later: 0.8 };
/** What was overlooked, or left its straight line, by this share of the way asks for a further round (our judgement). */
const OVERSTEPPED = 1e-5;
/** In the last of so many rounds all samples are watched; three do as a rule (our judgement). */
const MOST_ROUNDS = 8;

/**
 * The corrections of the calmest path within a limit, see {@link limitPath}. Only stretches near the
 * limit are solved; the rest keeps the wanted correction.
 *
 * @param e - wanted corrections, rotation vectors, length 3n
 * @returns corrections within the limit, length 3n; cost O(n)
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
  const start = shrunk(e, limit, sampleRate);
  const penalty = splinePenalty(1 / shortestMove, sampleRate);
  const fractions = fractionsOfBounds(e, bounds);
  for (const piece of piecesNearBounds(fractions, sampleRate, shortestMove)) {
    const { from, to } = piece;
    const part = (values: Float64Array, size: number) => values.subarray(size * from, size * to);
    const solution = solvePiece(
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
    takeOver(out, solution, piece);
  }
  return out;
}

/**
 * The calmest corrections of a piece. Rotations only add up near by, so the problem is solved anew
 * around each solution. Most samples stay far from their bounds: only the others are watched.
 *
 * @param start - corrections within the bounds, length 3n
 */
function solvePiece(
  measured: Float64Array,
  wanted: Float64Array,
  start: Float64Array,
  bounds: readonly Bound[],
  penalty: number,
): Float64Array {
  const n = start.length / 3;
  let base: Float64Array = wanted;
  let e: Float64Array = start.map((value) => STEP_BACK * value);
  // Deviations from the base at which the search starts.
  let x = between(base, correctedBy(measured, e));
  let watched = samplesBeyond(WATCHED.first, fractionsOfBounds(between(measured, wanted), bounds));
  let multipliers: Float64Array | undefined;
  for (let round = 1; ; round++) {
    const jacobians = jacobiansAt(e, x, watched);
    const problem: LimitProblem = {
      target: between(base, wanted),
      watched,
      correction: offsets(e, jacobians, x, watched),
      jacobians,
      bounds: bounds.map((bound) => boundAt(bound, watched)),
      jerkOfBase: multipliers ? jerkBeyond(base, wanted) : new Float64Array(3 * n),
      penalty,
    };
    const known = multipliers && picked(multipliers, watched, bounds.length);
    const found = solveWithinLimit(problem, x, GAPS[round - 1] ?? GAPS.at(-1)!, known);
    multipliers = spread(found.multipliers, watched, bounds.length, n);
    base = composeQuaternions(base, quaternionsFromRotationVectors(found.x));
    e = between(measured, base);
    x = new Float64Array(3 * n);
    const fractions = fractionsOfBounds(e, bounds);
    const isKept = samplesBeyond(1 + OVERSTEPPED, fractions).length === 0;
    if (round === MOST_ROUNDS || (isKept && round >= GAPS.length)) break;
    watched = samplesBeyond(round + 1 === MOST_ROUNDS ? -1 : WATCHED.later, fractions);
  }
  return keptWithin(e, bounds);
}

/** Samples further than this share of the way to a bound. */
function samplesBeyond(share: number, fractions: Float64Array): Int32Array {
  const samples = new Int32Array(fractions.length);
  let count = 0;
  for (let k = 0; k < fractions.length; k++) if (fractions[k]! > share) samples[count++] = k;
  return samples.subarray(0, count);
}

function boundAt({ parts, centre, most }: Bound, watched: Int32Array): Bound {
  const at = (values: Float64Array) => picked(values, watched, 1);
  return { parts, ...(centre && { centre: centre.map(at) }), most: at(most) };
}

/** The values of some samples, so many for each. */
function picked(values: Float64Array, samples: Int32Array, size: number): Float64Array {
  const out = new Float64Array(size * samples.length);
  for (let i = 0, p = 0; p < samples.length; p++) {
    for (let j = size * samples[p]!, end = j + size; j < end; j++) out[i++] = values[j]!;
  }
  return out;
}

/** The reverse: zero for the other samples. */
function spread(values: Float64Array, samples: Int32Array, size: number, n: number): Float64Array {
  const out = new Float64Array(size * n);
  for (let i = 0, p = 0; p < samples.length; p++) {
    for (let j = size * samples[p]!, end = j + size; j < end; j++) out[j] = values[i++]!;
  }
  return out;
}

/** Rotation vectors from one path to another, length 3n. */
function between(from: Float64Array, to: Float64Array): Float64Array {
  return rotationVectorsFromQuaternions(composeQuaternions(invertQuaternions(from), to));
}

function correctedBy(measured: Float64Array, e: Float64Array): Float64Array {
  return composeQuaternions(measured, quaternionsFromRotationVectors(e));
}

/**
 * de/dx of some samples at deviations x whose corrections are e: Exp(e) = C⁻¹ B Exp(x), so
 * Jᵣ(e) de = Jᵣ(x) dx.
 */
function jacobiansAt(e: Float64Array, x: Float64Array, samples: Int32Array): Float64Array {
  const out = new Float64Array(9 * samples.length);
  const right = new Float64Array(9);
  const inverse = new Float64Array(9);
  for (let p = 0; p < samples.length; p++) {
    const k = 3 * samples[p]!;
    rightJacobianInto(right, 0, x[k]!, x[k + 1]!, x[k + 2]!);
    inverseRightJacobianInto(inverse, 0, e[k]!, e[k + 1]!, e[k + 2]!);
    for (let i = 0; i < 3; i++) {
      for (let j = 0; j < 3; j++) {
        out[9 * p + 3 * i + j] =
          inverse[3 * i]! * right[j]! +
          inverse[3 * i + 1]! * right[3 + j]! +
          inverse[3 * i + 2]! * right[6 + j]!;
      }
    }
  }
  return out;
}

/** e₀ = e − J x of some samples: what the correction would be without any deviation, in straight lines. */
function offsets(
  e: Float64Array,
  jacobians: Float64Array,
  x: Float64Array,
  samples: Int32Array,
): Float64Array {
  const out = picked(e, samples, 3);
  for (let p = 0; p < samples.length; p++) {
    const k = 3 * samples[p]!;
    for (let i = 3 * p, j = 9 * p; i < 3 * p + 3; i++, j += 3) {
      out[i]! -=
        jacobians[j]! * x[k]! + jacobians[j + 1]! * x[k + 1]! + jacobians[j + 2]! * x[k + 2]!;
    }
  }
  return out;
}

/** Corrections that rounding or a round's straight lines carried out of a bound, taken back onto it. */
function keptWithin(e: Float64Array, bounds: readonly Bound[]): Float64Array {
  const fractions = fractionsOfBounds(e, bounds);
  return e.map((value, i) => value / Math.max(1, fractions[Math.floor(i / 3)]!));
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
