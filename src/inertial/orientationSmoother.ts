import { factorCholesky } from '../numeric/cholesky.js';
import type { Quaternion, Vector3 } from '../rotation/quaternion.js';
import { type FilteredNodes, filterForward } from './forwardFilter.js';
import { correctState, errorBetween, STATE_NUMBERS } from './motionState.js';
import type { NodeKnowledge } from './nodeKnowledge.js';
import { measurementsAt, newMeasurements, rests } from './nodeMeasurements.js';
import { transposedTransition } from './nodeTransitions.js';
import { smoothedVariances } from './smoothedVariances.js';
import type { SmootherModel } from './smootherModel.js';
import {
  afterUpdate,
  multiplySymmetric,
  restoreCovariance,
  STATE,
  STATES,
  solveFactored,
} from './stateCovariance.js';
import type { StrapdownSamples } from './strapdownSamples.js';

/** What is known at the nodes after smoothing. */
export interface SmoothedNodes {
  /** All of it, see `motionState.ts`; length 13(K + 1). */
  readonly states: Float64Array;
  /** Variances of the accelerometer bias, which is constant, m²/s⁴. */
  readonly accelerationBiasVariance: Vector3;
}

/** The same with how well it is known. */
export interface SmoothedWithVariances extends SmoothedNodes {
  /** Variance of the attitude about the horizontal axes, both together, rad²; length K + 1. */
  readonly tiltVariance: Float64Array;
  /** Variances of the twelve errors of the state in the middle. */
  readonly middleVariances: Float64Array;
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
 * @param filtered - receives what the filter knows on its way forward
 * @param states - receives what is known after smoothing, and becomes the result's
 * @see Rauch, Tung, Striebel, "Maximum likelihood estimates of linear dynamic systems", AIAA
 *   Journal 3(8), 1965; held by the joint distribution of all states (test/inertial/orientationSmoother.test.ts)
 */
export function smoothOrientation(
  samples: StrapdownSamples,
  nodes: Int32Array,
  start: Quaternion,
  knowledge: NodeKnowledge,
  model: SmootherModel,
  filtered: FilteredNodes,
  states: Float64Array,
): SmoothedNodes {
  filterForward(samples, nodes, start, knowledge, model, filtered);
  smoothStates(filtered, knowledge, model, states);
  const first = STATE.accelerationBias;
  const variance = (error: number) => filtered.last[error * STATES + error]!;
  return {
    states,
    accelerationBiasVariance: [variance(first), variance(first + 1), variance(first + 2)],
  };
}

/** {@link smoothOrientation} with variances, which cost a quarter as much again. */
export function smoothWithVariances(
  samples: StrapdownSamples,
  nodes: Int32Array,
  start: Quaternion,
  knowledge: NodeKnowledge,
  model: SmootherModel,
  filtered: FilteredNodes,
  states: Float64Array,
): SmoothedWithVariances {
  const smoothed = smoothOrientation(samples, nodes, start, knowledge, model, filtered, states);
  const tiltVariance = new Float64Array(nodes.length);
  const middleVariances = new Float64Array(STATES);
  const middle = (nodes.length - 1) >> 1;
  smoothedVariances(filtered, knowledge, model, (k, varianceOf) => {
    tiltVariance[k] = varianceOf(STATE.attitude) + varianceOf(STATE.attitude + 2);
    if (k !== middle) return;
    for (let error = 0; error < STATES; error++) middleVariances[error] = varianceOf(error);
  });
  return { ...smoothed, tiltVariance, middleVariances };
}

/** What the nodes ahead say to each: x = x_f + P_f Fᵀ P_p⁻¹ (x⁺ − x_p⁺). */
function smoothStates(
  { states: filtered, predicted, covariances, transitions }: FilteredNodes,
  knowledge: NodeKnowledge,
  model: SmootherModel,
  states: Float64Array,
): void {
  const m = STATES;
  states.set(filtered);
  const last = states.length / STATE_NUMBERS - 1;
  const P = new Float64Array(m * m);
  const factor = new Float64Array(m * m);
  const ahead = new Float64Array(m);
  const change = new Float64Array(m);
  const measurements = newMeasurements();
  restoreCovariance(covariances, last, P);
  for (let k = last - 1; k >= 0; k--) {
    factor.set(P);
    factorCholesky(factor, m);
    errorBetween(predicted, states, k + 1, ahead);
    solveFactored(factor, ahead);
    transposedTransition(ahead, transitions, k + 1);
    restoreCovariance(covariances, k, P);
    multiplySymmetric(P, ahead, change);
    // The covariance after a measurement is (I − K H) P.
    measurementsAt(k, P, knowledge, model, measurements);
    afterUpdate(change, STATE.velocity, measurements.velocity);
    if (rests(knowledge, k)) afterUpdate(change, STATE.gyroBias, measurements.rest);
    correctState(states, k, change);
  }
}
