import { solveNormal } from '../numeric/leastSquares.js';
import { type SplineNormal, splineBasis, splineNormal } from '../numeric/splineBasis.js';
import {
  alignSigns,
  composeQuaternions,
  invertQuaternions,
  normalizeQuaternions,
  quaternionsFromRotationVectors,
  rotateVectors,
  rotationVectorsFromQuaternions,
} from '../rotation/arrays.js';
import { invertQuaternion, type Quaternion } from '../rotation/quaternion.js';
import { biweight, CHI3_QUANTILE_45, runningMedian, sortedAt } from './cleanTrack.js';
import { clockColumns, UNKNOWNS, type Unknown } from './clockColumns.js';
import { type Scores, sandwichCovariance } from './clockCovariance.js';
import { reducedNormal, withoutSlow } from './clockNormal.js';
import { type ClockState, limited, PRIOR, stepped, surprise } from './clockState.js';
import { type LoggedMotion, type LogRows, loggedMotion, orientationAt } from './loggedMotion.js';

/** A refined clock and what is known about it. */
export interface RefinedClock extends ClockState {
  /** Covariance of all {@link UNKNOWNS} in their order; zeros for what was not solved. */
  readonly covariance: readonly (readonly number[])[];
  /** Noise of a good frame, rad. */
  readonly noise: number;
  /** What the model leaves of each frame, rad, left of the motion; length 3n. */
  readonly residual: Float64Array;
  /** Distance of each frame from the model, rad. */
  readonly misses: Float64Array;
  readonly weights: Float64Array;
  /** The slow left factor A at each frame: world of the log → world of the picture. */
  readonly slow: Float64Array;
}

/** The two motions to compare. */
export interface ClockProblem {
  /** Picture times, s, even; and orientations, length 4n. */
  readonly times: Float64Array;
  readonly quaternions: Float64Array;
  readonly rows: LogRows;
}

/** What to solve for, and how often. */
export interface Refinement {
  readonly unknowns: readonly Unknown[];
  readonly iterations: number;
  /** Iterations in which offset and turn settle before the others are solved for. @default 2 */
  readonly settling?: number;
  /** Whether the deviations are wanted: they cost as much as an iteration. */
  readonly covariance?: boolean;
}

/** Knots of the slow factor, s: slower than any motion that tells the time. */
export const SLOW_KNOTS = 3;
/** No track is better than its printed digits and the samples between: rad, 0.001°. */
export const LEAST_NOISE = 2e-5;
/**
 * Refines offset, drift, axes and calibration by Gauss–Newton: R ≈ A M with M = C G(t_log) C⁻¹, where A
 * is a slow rotation that takes up the worlds and the tracker's drift. The residual is written left of
 * M, where A's change is a plain spline; written right of it the steps would leak into A and pull the
 * axes off by a degree. The spline is eliminated from the normal equations.
 *
 * @param start - from the coarse search
 * @param weights - trust in each frame
 */
export function refineClock(
  problem: ClockProblem,
  start: ClockState,
  weights: Float64Array,
  { unknowns, iterations, settling = 2, covariance = false }: Refinement,
): RefinedClock {
  const { times, quaternions } = problem;
  const n = times.length;
  const middle = (times[0]! + times[n - 1]!) / 2;
  const basis = splineBasis(times, SLOW_KNOTS);
  let state = start;
  let logged = loggedMotion(problem.rows, state);
  let trust = weights;
  let sigma = 1e-3;
  let slow: Float64Array | undefined;
  let residual: Float64Array = new Float64Array(3 * n);
  let misses: Float64Array = new Float64Array(n);
  let spread = UNKNOWNS.map(() => UNKNOWNS.map(() => 0));
  for (let iteration = 0; iteration < iterations; iteration++) {
    const at = logTimes(state, times, middle);
    const motion = motionAt(logged, at, state.axes);
    slow ??= slowFactor(
      quaternions,
      motion,
      splineNormal(
        basis,
        trust.map((w) => w + 1e-3),
      ),
    );
    // r = M Log((A M)⁻¹ R): what is left of a frame, in the frame left of M.
    const r = rotateVectors(
      motion,
      rotationVectorsFromQuaternions(
        composeQuaternions(invertQuaternions(composeQuaternions(slow, motion)), quaternions),
      ),
    );
    const solved = iteration < settling ? unknowns.filter(settles) : unknowns;
    const columns = clockColumns(solved, logged, motion, state.axes, at, times, middle);
    const spline = splineNormal(basis, trust);
    const reduced = reducedNormal(columns, r, trust, spline);
    const prior = solved.map((unknown) => Math.max((sigma / PRIOR[unknown]) ** 2, 1e-18));
    const solution = solveNormal(
      reduced.normal,
      reduced.right,
      prior,
      solved.map((unknown) => surprise(state, unknown)),
    );
    const x = solved.map((unknown, i) => limited(state, unknown, solution.x[i]!));
    const before = state;
    state = stepped(state, solved, x);
    if (state.gain !== before.gain || state.smoothing !== before.smoothing) {
      logged = loggedMotion(problem.rows, state);
    }
    // What is left goes into the slow factor as far as it is slow.
    const left = r.slice();
    columns.forEach((column, u) => {
      for (let i = 0; i < left.length; i++) left[i]! -= column[i]! * x[u]!;
    });
    const taken = new Float64Array(3 * n);
    for (let axis = 0; axis < 3; axis++) {
      spline.evaluate(spline.solve(spline.moments(left, 3, axis)), taken, 3, axis);
    }
    slow = composeQuaternions(slow, quaternionsFromRotationVectors(taken));
    residual = left.map((value, i) => value - taken[i]!);
    misses = lengthsOf(residual);
    sigma = Math.max(sortedAt(misses, 0.45) / CHI3_QUANTILE_45, LEAST_NOISE);
    if (covariance && iteration === iterations - 1) {
      const scores: Scores = {
        columns: columns.map((column, u) => withoutSlow(column, reduced.taken[u]!, spline)),
        residual,
        weights: trust,
        framesPerSecond: (n - 1) / (times[n - 1]! - times[0]!),
      };
      spread = spreadOut(sandwichCovariance(scores, reduced.normal, prior, sigma), solved);
    }
    trust = misses.map((miss) => biweight(miss / (4 * sigma)));
  }
  return {
    ...state,
    covariance: spread,
    noise: sigma,
    residual,
    misses,
    weights: trust,
    slow: slow!,
  };
}

/** Log times of picture times. */
export function logTimes(
  { offset, drift }: { readonly offset: number; readonly drift: number },
  times: Float64Array,
  middle: number,
): Float64Array {
  return times.map((t) => t + offset + drift * (t - middle));
}

/** M = C G(t) C⁻¹ at log times. */
export function motionAt(logged: LoggedMotion, at: Float64Array, axes: Quaternion): Float64Array {
  const g = orientationAt(logged, at);
  return alignSigns(composeQuaternions(composeQuaternions(axes, g), invertQuaternion(axes)));
}

function lengthsOf(vectors: Float64Array): Float64Array {
  return Float64Array.from({ length: vectors.length / 3 }, (_, k) =>
    Math.hypot(vectors[3 * k]!, vectors[3 * k + 1]!, vectors[3 * k + 2]!),
  );
}

/** A first slow factor from R M⁻¹: a median over 0.8 s, then the spline through it. */
function slowFactor(
  quaternions: Float64Array,
  motion: Float64Array,
  spline: SplineNormal,
): Float64Array {
  const ratio = composeQuaternions(quaternions, invertQuaternions(motion));
  const rough = runningMedian(ratio, 24);
  const out = new Float64Array(ratio.length);
  for (let component = 0; component < 4; component++) {
    spline.evaluate(spline.solve(spline.moments(rough, 4, component)), out, 4, component);
  }
  return normalizeQuaternions(out);
}

function settles(unknown: Unknown): boolean {
  return unknown === 'offset' || unknown.startsWith('turn');
}

/** A covariance with rows and columns of zeros for what was not solved. */
function spreadOut(
  covariance: readonly (readonly number[])[],
  solved: readonly Unknown[],
): number[][] {
  return UNKNOWNS.map((a) =>
    UNKNOWNS.map((b) => covariance[solved.indexOf(a)]?.[solved.indexOf(b)] ?? 0),
  );
}
