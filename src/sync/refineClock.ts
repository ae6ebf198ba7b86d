import { solveNormal } from '../numeric/leastSquares.js';
import {
  type SplineBasis,
  type SplineNormal,
  splineBasis,
  splineNormal,
} from '../numeric/splineBasis.js';
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
  const n = problem.times.length;
  const basis = splineBasis(problem.times, SLOW_KNOTS);
  let logged = loggedMotion(problem.rows, start);
  let fit: Fit = {
    state: start,
    trust: weights,
    noise: 1e-3,
    slow: undefined,
    residual: new Float64Array(3 * n),
    misses: new Float64Array(n),
  };
  let spread = UNKNOWNS.map(() => UNKNOWNS.map(() => 0));
  for (let iteration = 0; iteration < iterations; iteration++) {
    const solved = iteration < settling ? unknowns.filter(settles) : unknowns;
    const spline = splineNormal(basis, fit.trust);
    const compared = compare(problem, fit, logged, basis);
    const solution = solve(problem, fit, logged, compared, solved, spline);
    const next = stepOn(fit, compared, solution, solved, spline);
    if (covariance && iteration === iterations - 1) {
      spread = spreadOf(problem, fit.trust, solution, next, solved, spline);
    }
    if (next.state.gain !== fit.state.gain || next.state.smoothing !== fit.state.smoothing) {
      logged = loggedMotion(problem.rows, next.state);
    }
    fit = next;
  }
  const { state, trust, slow, ...left } = fit;
  return { ...state, ...left, covariance: spread, weights: trust, slow: slow! };
}

/** How far the refinement has come. */
interface Fit {
  readonly state: ClockState;
  /** Trust in each frame. */
  readonly trust: Float64Array;
  /** Noise of a good frame, rad. */
  readonly noise: number;
  /** The slow left factor A at each frame, once there is one. */
  readonly slow: Float64Array | undefined;
  readonly residual: Float64Array;
  readonly misses: Float64Array;
}

/** The two motions beside each other. */
interface Compared {
  /** Log times of the frames. */
  readonly at: Float64Array;
  /** M at the frames, length 4n. */
  readonly motion: Float64Array;
  readonly slow: Float64Array;
  /** r = M Log((A M)⁻¹ R): what is left of a frame, in the frame left of M; length 3n. */
  readonly left: Float64Array;
}

function compare(
  { times, quaternions }: ClockProblem,
  { state, trust, slow: known }: Fit,
  logged: LoggedMotion,
  basis: SplineBasis,
): Compared {
  const at = logTimes(state, times, middleOf(times));
  const motion = motionAt(logged, at, state.axes);
  const first = () =>
    slowFactor(
      quaternions,
      motion,
      splineNormal(
        basis,
        trust.map((w) => w + 1e-3),
      ),
    );
  const slow = known ?? first();
  const left = rotateVectors(
    motion,
    rotationVectorsFromQuaternions(
      composeQuaternions(invertQuaternions(composeQuaternions(slow, motion)), quaternions),
    ),
  );
  return { at, motion, slow, left };
}

/** One step of Gauss–Newton and what it was found from. */
interface Solution {
  /** Steps of the unknowns that are solved for. */
  readonly x: readonly number[];
  readonly columns: readonly Float64Array[];
  readonly reduced: ReturnType<typeof reducedNormal>;
  readonly prior: readonly number[];
}

function solve(
  { times }: ClockProblem,
  { state, trust, noise }: Fit,
  logged: LoggedMotion,
  { at, motion, left }: Compared,
  solved: readonly Unknown[],
  spline: SplineNormal,
): Solution {
  const columns = clockColumns(solved, logged, motion, state.axes, at, times, middleOf(times));
  const reduced = reducedNormal(columns, left, trust, spline);
  const prior = solved.map((unknown) => Math.max((noise / PRIOR[unknown]) ** 2, 1e-18));
  const { x } = solveNormal(
    reduced.normal,
    reduced.right,
    prior,
    solved.map((unknown) => surprise(state, unknown)),
  );
  return { x: solved.map((unknown, i) => limited(state, unknown, x[i]!)), columns, reduced, prior };
}

/** Takes a step; of what it leaves, the slow part goes into the slow factor. */
function stepOn(
  { state }: Fit,
  { slow, left }: Compared,
  { x, columns }: Solution,
  solved: readonly Unknown[],
  spline: SplineNormal,
): Fit {
  const rest = left.slice();
  columns.forEach((column, u) => {
    for (let i = 0; i < rest.length; i++) rest[i]! -= column[i]! * x[u]!;
  });
  const taken = new Float64Array(rest.length);
  for (let axis = 0; axis < 3; axis++) {
    spline.evaluate(spline.solve(spline.moments(rest, 3, axis)), taken, 3, axis);
  }
  const residual = rest.map((value, i) => value - taken[i]!);
  const misses = lengthsOf(residual);
  const noise = Math.max(sortedAt(misses, 0.45) / CHI3_QUANTILE_45, LEAST_NOISE);
  return {
    state: stepped(state, solved, x),
    slow: composeQuaternions(slow, quaternionsFromRotationVectors(taken)),
    residual,
    misses,
    noise,
    trust: misses.map((miss) => biweight(miss / (4 * noise))),
  };
}

/** Covariance of all unknowns, from the weights that the last step used and what it left. */
function spreadOf(
  { times }: ClockProblem,
  weights: Float64Array,
  { columns, reduced, prior }: Solution,
  { residual, noise }: Fit,
  solved: readonly Unknown[],
  spline: SplineNormal,
): number[][] {
  const n = times.length;
  const scores: Scores = {
    columns: columns.map((column, u) => withoutSlow(column, reduced.taken[u]!, spline)),
    residual,
    weights,
    framesPerSecond: (n - 1) / (times[n - 1]! - times[0]!),
  };
  return spreadOut(sandwichCovariance(scores, reduced.normal, prior, noise), solved);
}

const middleOf = (times: Float64Array) => (times[0]! + times[times.length - 1]!) / 2;

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
  const out = new Float64Array(vectors.length / 3);
  for (let k = 0, i = 0; k < out.length; k++, i += 3) {
    const x = vectors[i]!;
    const y = vectors[i + 1]!;
    const z = vectors[i + 2]!;
    out[k] = Math.sqrt(x * x + y * y + z * z);
  }
  return out;
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
