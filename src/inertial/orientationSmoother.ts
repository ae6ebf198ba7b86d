import { factorCholesky, solveCholesky } from '../numeric/cholesky.js';
import type { Quaternion } from '../rotation/quaternion.js';
import {
  type FilteredNodes,
  filterForward,
  type NodeKnowledge,
  REST_NOISE,
  type SmootherModel,
  velocityNoise,
} from './forwardFilter.js';
import { correctState, errorBetween, partOf, STATE_NUMBERS } from './motionState.js';
import {
  afterUpdate,
  backOverTransition,
  backOverUpdate,
  gainOf,
  multiplySymmetric,
  newUpdate,
  quadraticForm,
  restoreCovariance,
  STATE,
  STATES,
  transposedTransition,
  type Update,
  updateCovariance,
} from './stateCovariance.js';
import type { StrapdownSamples } from './strapdown.js';

/** What is known at the nodes after smoothing. */
export interface SmoothedNodes {
  /** All of it, see `motionState.ts`; length 13(K + 1). */
  readonly states: Float64Array;
  /** Orientation body→world, length 4(K + 1). */
  readonly quaternions: Float64Array;
  /** Velocity, m/s, length 3(K + 1). */
  readonly velocity: Float64Array;
  /** Gyro bias, rad/s, length 3(K + 1). */
  readonly gyroBias: Float64Array;
  /** Accelerometer bias, m/s², length 3(K + 1). */
  readonly forceBias: Float64Array;
  /** Variances of the accelerometer bias, which is constant, m²/s⁴; length 3. */
  readonly forceBiasVariance: Float64Array;
}

/** The same with how well it is known. */
export interface SmoothedWithVariances extends SmoothedNodes {
  /** Variances of the twelve errors of a state, length 12(K + 1). */
  readonly variances: Float64Array;
}

/**
 * Orientation, velocity and sensor biases over a log from both directions in time: an
 * error-state Kalman filter forward and the Rauch–Tung–Striebel recursion backward, on nodes some
 * 50 ms apart. The only measurement is that a hand-held camera goes nowhere for long: its velocity
 * is zero with a standard deviation that may vary along the log. A random walk of the attitude
 * under a white velocity makes a fourth-order low-pass without phase of the horizontal force, so
 * neither start nor end has a transient.
 *
 * @param samples - the log
 * @param nodes - sample index of each node, increasing, first 0 and last n − 1; length K + 1
 * @param start - orientation at the first sample, body→world
 * @param knowledge - what else is known at the nodes
 * @see Rauch, Tung, Striebel, "Maximum likelihood estimates of linear dynamic systems", AIAA
 *   Journal 3(8), 1965
 */
export function smoothOrientation(
  samples: StrapdownSamples,
  nodes: Int32Array,
  start: Quaternion,
  knowledge: NodeKnowledge,
  model: SmootherModel,
): SmoothedNodes {
  return smoothedNodes(filterForward(samples, nodes, start, knowledge, model), knowledge, model);
}

/** {@link smoothOrientation} with variances, which cost half as much again. */
export function smoothWithVariances(
  samples: StrapdownSamples,
  nodes: Int32Array,
  start: Quaternion,
  knowledge: NodeKnowledge,
  model: SmootherModel,
): SmoothedWithVariances {
  const filtered = filterForward(samples, nodes, start, knowledge, model);
  return {
    ...smoothedNodes(filtered, knowledge, model),
    variances: smoothedVariances(filtered, knowledge, model),
  };
}

function smoothedNodes(
  filtered: FilteredNodes,
  knowledge: NodeKnowledge,
  model: SmootherModel,
): SmoothedNodes {
  const states = smoothedStates(filtered, knowledge, model);
  return {
    states,
    quaternions: partOf(states, 'orientation'),
    velocity: partOf(states, 'velocity'),
    gyroBias: partOf(states, 'gyroBias'),
    forceBias: partOf(states, 'forceBias'),
    forceBiasVariance: Float64Array.from([9, 10, 11], (i) => filtered.last[i * STATES + i]!),
  };
}

/** What the nodes ahead say to each: x = x_f + P_f Fᵀ P_p⁻¹ (x⁺ − x_p⁺). */
function smoothedStates(
  { states: filtered, predicted, covariances, transitions }: FilteredNodes,
  knowledge: NodeKnowledge,
  model: SmootherModel,
): Float64Array {
  const m = STATES;
  const states = filtered.slice();
  const last = states.length / STATE_NUMBERS - 1;
  const P = new Float64Array(m * m);
  const factor = new Float64Array(m * m);
  const ahead = new Float64Array(m);
  const change = new Float64Array(m);
  const updates = newUpdates();
  restoreCovariance(covariances, last, P);
  for (let k = last - 1; k >= 0; k--) {
    factor.set(P);
    factorCholesky(factor, m);
    errorBetween(predicted, states, k + 1, ahead);
    solveCholesky(factor, m, ahead, 1);
    transposedTransition(ahead, transitions, k + 1);
    restoreCovariance(covariances, k, P);
    multiplySymmetric(P, ahead, change);
    // The covariance after a measurement is (I − K H) P.
    measurementsAt(k, P, knowledge, model, updates);
    afterUpdate(change, STATE.velocity, updates.velocity);
    if (rests(knowledge, k)) afterUpdate(change, STATE.gyroBias, updates.rest);
    correctState(states, k, change);
  }
  return states;
}

/** Gains of a node's measurements: the velocity, and where it rests the mean rate after it. */
interface Updates {
  readonly velocity: Update;
  readonly rest: Update;
  /** The covariance between the two. */
  readonly between: Float64Array;
}

function newUpdates(): Updates {
  return { velocity: newUpdate(), rest: newUpdate(), between: new Float64Array(STATES * STATES) };
}

/** Whether the mean rate up to a node is measured there. */
function rests({ resting }: NodeKnowledge, k: number): boolean {
  return k > 0 && resting[k] === 1;
}

/** The gains at a node whose covariance before all measurements is P. */
function measurementsAt(
  k: number,
  P: Float64Array,
  knowledge: NodeKnowledge,
  model: SmootherModel,
  { velocity, rest, between }: Updates,
): void {
  const noise = velocityNoise(knowledge, model, k);
  if (rests(knowledge, k)) {
    between.set(P);
    updateCovariance(between, STATE.velocity, noise, velocity);
    gainOf(between, STATE.gyroBias, REST_NOISE, rest);
  } else {
    gainOf(P, STATE.velocity, noise, velocity);
  }
}

/**
 * Variances of the smoothed states without inverses: P − P Λ P, where Λ gathers from the end what the
 * measurements from each node on say.
 *
 * @see Bierman, "Fixed interval smoothing with discrete measurements", Int. J. Control 18(1), 1973
 */
function smoothedVariances(
  { covariances, transitions }: FilteredNodes,
  knowledge: NodeKnowledge,
  model: SmootherModel,
): Float64Array {
  const m = STATES;
  const count = knowledge.velocityDeviation.length;
  const variances = new Float64Array(m * count);
  const L = new Float64Array(m * m);
  const P = new Float64Array(m * m);
  const updates = newUpdates();
  const room = new Float64Array(3 * m);
  for (let k = count - 1; k >= 0; k--) {
    restoreCovariance(covariances, k, P);
    // Back over the measurements, the last one first.
    measurementsAt(k, P, knowledge, model, updates);
    if (rests(knowledge, k)) backOverUpdate(L, STATE.gyroBias, updates.rest, room);
    backOverUpdate(L, STATE.velocity, updates.velocity, room);
    for (let i = 0; i < m; i++) {
      // Where the future tells almost everything, rounding may leave less than nothing.
      variances[m * k + i] = Math.max(P[i * m + i]! - quadraticForm(L, P, i * m), 0);
    }
    if (k > 0) backOverTransition(L, transitions, k);
  }
  return variances;
}
