import { solveNormal } from '../numeric/leastSquares.js';
import { splineBasis, splineFitter } from '../numeric/splineBasis.js';
import {
  alignSigns,
  composeQuaternions,
  invertQuaternions,
  normalizeQuaternions,
  quaternionAt,
  quaternionsFromRotationVectors,
  rotateVectors,
  rotationVectorsFromQuaternions,
} from '../rotation/arrays.js';
import {
  invertQuaternion,
  multiplyQuaternions,
  normalizeQuaternion,
  type Quaternion,
  rotateVector,
  type Vector3,
} from '../rotation/quaternion.js';
import { quaternionFromRotationVector } from '../rotation/rotationVector.js';
import { interpolateTrack } from '../track/resample.js';
import { biweight, CHI3_QUANTILE_45, runningMedian, sortedAt } from './cleanTrack.js';

/** Clock and axes of a log against a picture. */
export interface ClockState {
  /** Log time less picture time in the middle of the clip, s. */
  readonly offset: number;
  /** Change of the offset per second of picture time. */
  readonly drift: number;
  /** Sensor axes to camera axes. */
  readonly axes: Quaternion;
}

/** A refined clock and what is known about it. */
export interface RefinedClock extends ClockState {
  /** Covariance of offset (s), drift and the turn of the axes (rad), 5 × 5. */
  readonly covariance: readonly (readonly number[])[];
  /** Noise of a good frame, rad. */
  readonly noise: number;
  /** Distance of each frame from the model, rad. */
  readonly misses: Float64Array;
  readonly weights: Float64Array;
  /** The slow left factor A at each frame: world of the log → world of the picture. */
  readonly slow: Float64Array;
  /** The log's motion in camera axes at each frame, M. */
  readonly motion: Float64Array;
  /** Constant rate error that the slow factor shows, rad/s in sensor axes. */
  readonly gyroBias: Vector3;
}

/** The two motions to compare. */
export interface ClockProblem {
  /** Picture times, s, even; and orientations, length 4n. */
  readonly times: Float64Array;
  readonly quaternions: Float64Array;
  /** Log times and the orientation integrated from its rates, sensor axes. */
  readonly logTimes: Float64Array;
  readonly logQuaternions: Float64Array;
  /** Angular rate of the log at its times, rad/s. */
  readonly logRate: Float64Array;
}

/** Knots of the slow factor, s: slower than any motion that tells the time. */
const SLOW_KNOTS = 3;
/** No clock of a logger drifts faster: 500 ppm standard deviation. */
const DRIFT_PRIOR = 500e-6;
/** No track is better than its printed digits and the samples between: rad, 0.001°. */
const LEAST_NOISE = 2e-5;
/** Largest steps of one iteration. */
const STEP = { offset: 0.05, drift: 2e-3, turn: 0.3 };

/**
 * Refines offset, drift and axes by Gauss–Newton: R ≈ A M with M = C G(t_log) C⁻¹, where A is a slow
 * rotation that takes up the worlds, the gyro's bias and the tracker's drift. The residual is written
 * left of M, where A's change is a plain spline; written right of it the steps would leak into A and
 * pull the axes off by a degree.
 *
 * @param start - from the coarse search
 * @param weights - trust in each frame
 * @param withDrift - whether the clip is long enough to tell
 */
export function refineClock(
  problem: ClockProblem,
  start: ClockState,
  weights: Float64Array,
  withDrift: boolean,
  iterations: number,
): RefinedClock {
  const { times, quaternions } = problem;
  const n = times.length;
  const middle = (times[0]! + times[n - 1]!) / 2;
  const basis = splineBasis(times, SLOW_KNOTS);
  let { offset, drift, axes } = start;
  let trust = weights;
  let sigma = 1e-3;
  let slow: Float64Array | undefined;
  let motion = new Float64Array(0) as Float64Array;
  let misses = new Float64Array(n) as Float64Array;
  let covariance: readonly (readonly number[])[] = [];
  for (let iteration = 0; iteration < iterations; iteration++) {
    const at = times.map((t) => t + offset + drift * (t - middle));
    motion = motionAt(problem, at, axes);
    const rate = rotateVectors(axes, rateAt(problem, at));
    slow ??= slowFactor(composeQuaternions(quaternions, invertQuaternions(motion)), basis, trust);
    // r = M Log((A M)⁻¹ R), and its derivatives by offset, drift and turn of the axes.
    const r = rotateVectors(
      motion,
      rotationVectorsFromQuaternions(
        composeQuaternions(invertQuaternions(composeQuaternions(slow, motion)), quaternions),
      ),
    );
    const byOffset = rotateVectors(motion, rate);
    const columns = jacobianColumns(byOffset, motion, times, middle);
    const slowest = splineFitter(basis, trust);
    const project = (signal: Float64Array) => {
      const slowPart = slowest(signal);
      return signal.map((value, k) => value - slowPart[k]!);
    };
    const residualAxes = axesOf(r);
    const projected = residualAxes.map(project);
    const projectedColumns = columns.map((column) => axesOf(column).map(project));
    const solve = withDrift && iteration > 1;
    const unknowns = solve ? [0, 1, 2, 3, 4] : [0, 2, 3, 4];
    const prior = unknowns.map((u) => (u === 1 ? (sigma / DRIFT_PRIOR) ** 2 : 1e-18));
    const { normal, right } = normalEquations(
      unknowns.map((u) => projectedColumns[u]!),
      projected,
      trust,
    );
    const solution = solveNormal(
      normal,
      right,
      prior,
      unknowns.map((u) => (u === 1 ? drift : 0)),
    );
    const x = [0, 0, 0, 0, 0];
    unknowns.forEach((u, i) => {
      const most = u === 0 ? STEP.offset : u === 1 ? STEP.drift : STEP.turn;
      x[u] = Math.min(Math.max(solution.x[i]!, -most), most);
    });
    offset += x[0]!;
    drift += x[1]!;
    axes = normalizeQuaternion(
      multiplyQuaternions(quaternionFromRotationVector([x[2]!, x[3]!, x[4]!]), axes),
    );
    // What is left goes into the slow factor as far as it is slow.
    const left = r.map(
      (value, i) => value - columns.reduce((sum, column, u) => sum + column[i]! * x[u]!, 0),
    );
    const leftAxes = axesOf(left);
    const taken = leftAxes.map(slowest);
    const vectors = Float64Array.from(
      { length: 3 * n },
      (_, i) => taken[i % 3]![Math.floor(i / 3)]!,
    );
    slow = composeQuaternions(slow, quaternionsFromRotationVectors(vectors));
    misses = Float64Array.from({ length: n }, (_, k) =>
      Math.hypot(...leftAxes.map((axis, i) => axis[k]! - taken[i]![k]!)),
    );
    sigma = Math.max(sortedAt(misses, 0.45) / CHI3_QUANTILE_45, LEAST_NOISE);
    trust = misses.map((miss) => biweight(miss / (4 * sigma)));
    covariance = spread(solution.inverse, unknowns, sigma);
  }
  return {
    offset,
    drift,
    axes,
    covariance,
    noise: sigma,
    misses,
    weights: trust,
    slow: slow!,
    motion,
    gyroBias: biasOf(slow!, motion, axes, times),
  };
}

/** M = C G(t) C⁻¹ at log times. */
function motionAt(
  { logTimes, logQuaternions }: ClockProblem,
  at: Float64Array,
  axes: Quaternion,
): Float64Array {
  const g = interpolateTrack(
    { times: logTimes, quaternions: logQuaternions, up: 'unknown', warnings: [] },
    at,
  );
  return alignSigns(composeQuaternions(composeQuaternions(axes, g), invertQuaternion(axes)));
}

/** Rates of the log on straight lines between its rows, held at the ends. */
function rateAt({ logTimes, logRate }: ClockProblem, at: Float64Array): Float64Array {
  const last = logTimes.length - 1;
  const out = new Float64Array(3 * at.length);
  let k = 0;
  at.forEach((time, m) => {
    while (k < last - 1 && logTimes[k + 1]! <= time) k++;
    const share = Math.min(
      Math.max((time - logTimes[k]!) / (logTimes[k + 1]! - logTimes[k]!), 0),
      1,
    );
    for (let axis = 0; axis < 3; axis++) {
      const a = logRate[3 * k + axis]!;
      out[3 * m + axis] = a + share * (logRate[3 * k + 3 + axis]! - a);
    }
  });
  return out;
}

/** A first slow factor from R M⁻¹: a median over 0.8 s, then the spline through it. */
function slowFactor(
  ratio: Float64Array,
  basis: ReturnType<typeof splineBasis>,
  weights: Float64Array,
): Float64Array {
  const n = ratio.length / 4;
  const rough = runningMedian(ratio, 24);
  const slowest = splineFitter(
    basis,
    weights.map((weight) => weight + 1e-3),
  );
  const out = new Float64Array(ratio.length);
  for (let component = 0; component < 4; component++) {
    const fitted = slowest(Float64Array.from({ length: n }, (_, k) => rough[4 * k + component]!));
    for (let k = 0; k < n; k++) out[4 * k + component] = fitted[k]!;
  }
  return normalizeQuaternions(out);
}

/** Derivatives of the model left of M: by offset, drift, and the turn of the axes, I − M. */
function jacobianColumns(
  byOffset: Float64Array,
  motion: Float64Array,
  times: Float64Array,
  middle: number,
): Float64Array[] {
  const n = times.length;
  const byDrift = byOffset.map((value, i) => value * (times[Math.floor(i / 3)]! - middle));
  const byTurn = (
    [
      [1, 0, 0],
      [0, 1, 0],
      [0, 0, 1],
    ] as const
  ).map((axis) => {
    const still = Float64Array.from({ length: 3 * n }, (_, i) => axis[i % 3]!);
    const turned = rotateVectors(motion, still);
    return still.map((value, i) => value - turned[i]!);
  });
  return [byOffset, byDrift, ...byTurn];
}

function axesOf(vectors: Float64Array): Float64Array[] {
  const n = vectors.length / 3;
  return [0, 1, 2].map((axis) =>
    Float64Array.from({ length: n }, (_, k) => vectors[3 * k + axis]!),
  );
}

/** JᵀWJ and JᵀWr over frames and axes. */
function normalEquations(
  columns: readonly (readonly Float64Array[])[],
  residual: readonly Float64Array[],
  weights: Float64Array,
): { normal: number[][]; right: number[] } {
  const dot = (a: readonly Float64Array[], b: readonly Float64Array[]) => {
    let sum = 0;
    for (let axis = 0; axis < 3; axis++) {
      const u = a[axis]!;
      const v = b[axis]!;
      for (let k = 0; k < weights.length; k++) sum += weights[k]! * u[k]! * v[k]!;
    }
    return sum;
  };
  return {
    normal: columns.map((a) => columns.map((b) => dot(a, b))),
    right: columns.map((a) => dot(a, residual)),
  };
}

/** The covariance with rows and columns of zeros for what was not solved. */
function spread(
  inverse: readonly (readonly number[])[],
  unknowns: readonly number[],
  sigma: number,
): number[][] {
  const out = Array.from({ length: 5 }, () => new Array<number>(5).fill(0));
  unknowns.forEach((u, i) => {
    unknowns.forEach((v, j) => {
      out[u]![v] = sigma * sigma * inverse[i]![j]!;
    });
  });
  return out;
}

/** b = −C⁻¹ mean(M⁻¹ A⁻¹ dA/dt): the slow factor turns steadily under a constant bias. */
function biasOf(
  slow: Float64Array,
  motion: Float64Array,
  axes: Quaternion,
  times: Float64Array,
): Vector3 {
  const n = times.length;
  const sum = [0, 0, 0];
  for (let k = 0; k + 1 < n; k++) {
    const step = rotationVectorsFromQuaternions(
      Float64Array.from(
        multiplyQuaternions(invertQuaternion(quaternionAt(slow, k)), quaternionAt(slow, k + 1)),
      ),
    );
    const inCamera = rotateVector(invertQuaternion(quaternionAt(motion, k)), [
      step[0]!,
      step[1]!,
      step[2]!,
    ]);
    for (let i = 0; i < 3; i++) sum[i]! += inCamera[i]! / (times[k + 1]! - times[k]!) / (n - 1);
  }
  const [x, y, z] = rotateVector(invertQuaternion(axes), [sum[0]!, sum[1]!, sum[2]!]);
  return [-x, -y, -z];
}
