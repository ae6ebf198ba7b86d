import type { Quaternion, Vector3 } from '../rotation/quaternion.js';
import { levelled } from './levelling.js';
import { correctState, PART, STATE_NUMBERS, stateOf } from './motionState.js';
import type { NodeKnowledge } from './nodeKnowledge.js';
import { REST_NOISE, rests, velocityNoise } from './nodeMeasurements.js';
import {
  carryCovariance,
  keepTransition,
  TRANSITION_NUMBERS,
  type Transitions,
} from './nodeTransitions.js';
import { newSegment, type Segment } from './segment.js';
import type { SmootherModel } from './smootherModel.js';
import {
  COVARIANCE_NUMBERS,
  keepCovariance,
  type Noise,
  newUpdate,
  STATE,
  STATES,
  type Update,
  updateCovariance,
} from './stateCovariance.js';
import { propagateSegment } from './strapdown.js';
import { meanRate, type StrapdownSamples } from './strapdownSamples.js';

/** What the filter knows at the nodes on its way forward. */
export interface FilteredNodes {
  /** States after each node's measurements, {@link STATE_NUMBERS} for each. */
  readonly states: Float64Array;
  /** States before them. */
  readonly predicted: Float64Array;
  /** Covariances before them; see `restoreCovariance`. */
  readonly covariances: Float64Array;
  /** How each node follows from the one before. */
  readonly transitions: Transitions;
  /** Covariance after the last measurement, 12 × 12. */
  readonly last: Float64Array;
}

/**
 * Memory for what the filter knows, a kilobyte for each node: used again from pass to pass. It is one
 * piece, which goes back to the system as a whole when it is let go.
 */
export function newFilteredNodes(count: number): FilteredNodes {
  const parts = {
    states: STATE_NUMBERS * count,
    predicted: STATE_NUMBERS * count,
    covariances: COVARIANCE_NUMBERS * count,
    transitions: TRANSITION_NUMBERS * count,
    last: STATES * STATES,
  };
  const memory = new Float64Array(Object.values(parts).reduce((sum, length) => sum + length, 0));
  let from = 0;
  const next = (length: number) => {
    from += length;
    return memory.subarray(from - length, from);
  };
  return {
    states: next(parts.states),
    predicted: next(parts.predicted),
    covariances: next(parts.covariances),
    transitions: next(parts.transitions),
    last: next(parts.last),
  };
}

/**
 * An error-state Kalman filter over the nodes of a log. Its only measurement everywhere is that a
 * hand-held camera goes nowhere for long; where it rests, its mean rate is the gyro's bias.
 *
 * @param nodes - sample index of each node, increasing, first 0 and last n − 1; length K + 1
 * @param start - orientation at the first sample, body→world
 * @param filtered - receives what is found
 * @see Solà, "Quaternion kinematics for the error-state Kalman filter", 2017, sections 5 and 7 on global
 *   angular errors
 */
export function filterForward(
  samples: StrapdownSamples,
  nodes: Int32Array,
  start: Quaternion,
  knowledge: NodeKnowledge,
  model: SmootherModel,
  filtered: FilteredNodes,
): void {
  const { states, predicted, covariances, last: P } = filtered;
  const segment = newSegment();
  const correction = newCorrection();
  setStartCovariance(model, P);
  states.set(stateOf(start, [0, 0, 0], model.gyroBias));
  for (let k = 0; k < nodes.length; k++) {
    if (k > 0) carryOn(samples, nodes, k, knowledge, model, filtered, segment);
    keepCovariance(P, covariances, k);
    const at = STATE_NUMBERS * k;
    for (let i = at; i < at + STATE_NUMBERS; i++) predicted[i] = states[i]!;
    measure(filtered, k, STATE.velocity, velocityNoise(knowledge, model, k), ZERO, correction);
    if (rests(knowledge, k)) {
      const rate = meanRate(samples, nodes[k - 1]!, nodes[k]!, segment);
      measure(filtered, k, STATE.gyroBias, REST_NOISE, rate, correction);
    }
  }
}

const ZERO: Vector3 = [0, 0, 0];

/** State and covariance from the node before to the k-th. */
function carryOn(
  samples: StrapdownSamples,
  nodes: Int32Array,
  k: number,
  knowledge: NodeKnowledge,
  model: SmootherModel,
  { states, transitions, last: P }: FilteredNodes,
  segment: Segment,
): void {
  const from = nodes[k - 1]!;
  const to = nodes[k]!;
  const duration = samples.times[to]! - samples.times[from]!;
  propagateSegment(samples, { from, to, states, k: k - 1 }, segment);
  const at = STATE_NUMBERS * k;
  for (let i = 0; i < 4; i++) states[at + i] = segment.end[i]!;
  for (let i = at + 4; i < at + STATE_NUMBERS; i++) states[i] = states[i - STATE_NUMBERS]!;
  for (let i = 0; i < 3; i++) states[at + PART.velocity + i]! += segment.impulse[i]!;
  states[at + PART.velocity + 1]! -= model.gravity * duration;
  if (knowledge.restart[k]) startAnew(samples, to, states, k);
  keepTransition(transitions, k, segment);
  carryCovariance(P, transitions, k);
  addNoise(P, duration, segment.turning, knowledge, model, k);
}

/** Levels a state by the force that follows, at rest. */
function startAnew(
  samples: StrapdownSamples,
  sample: number,
  states: Float64Array,
  k: number,
): void {
  const own = states.subarray(STATE_NUMBERS * k, STATE_NUMBERS * (k + 1));
  own.set(levelled(samples, sample, own));
  own.fill(0, PART.velocity, PART.gyroBias);
}

/** What may have changed unseen from a node to the next. */
function addNoise(
  P: Float64Array,
  duration: number,
  turning: number,
  { lostAttitude, lostVelocity }: NodeKnowledge,
  { rateNoise, rateNoisePerRate, gyroBiasWalk }: SmootherModel,
  k: number,
): void {
  const attitude = rateNoise ** 2 * duration + rateNoisePerRate ** 2 * turning + lostAttitude[k]!;
  addVariance(P, STATE.attitude, attitude);
  addVariance(P, STATE.velocity, lostVelocity[k]!);
  addVariance(P, STATE.gyroBias, gyroBiasWalk ** 2 * duration);
}

function addVariance(P: Float64Array, state: number, variance: number): void {
  for (let i = state; i < state + 3; i++) P[i * STATES + i]! += variance;
}

/** Memory for a correction, used again from node to node. */
interface Correction {
  readonly update: Update;
  readonly error: Float64Array;
}

function newCorrection(): Correction {
  return { update: newUpdate(), error: new Float64Array(STATES) };
}

/** A Kalman update of the k-th state with values of three neighbouring states. */
function measure(
  { states, last: P }: FilteredNodes,
  k: number,
  state: number,
  noise: Noise,
  values: Vector3,
  { update, error }: Correction,
): void {
  updateCovariance(P, state, noise, update);
  const { gain } = update;
  // A state has one number more than errors: four of a quaternion for three of a turn.
  const at = STATE_NUMBERS * k + state + 1;
  const x = values[0] - states[at]!;
  const y = values[1] - states[at + 1]!;
  const z = values[2] - states[at + 2]!;
  for (let i = 0; i < STATES; i++) {
    error[i] = gain[i]! * x + gain[STATES + i]! * y + gain[2 * STATES + i]! * z;
  }
  correctState(states, k, error);
}

function setStartCovariance(model: SmootherModel, P: Float64Array): void {
  const set = (state: number, deviation: number) => {
    P[state * STATES + state] = deviation ** 2;
  };
  P.fill(0);
  set(0, model.startTilt);
  set(1, HEADING_IS_FREE);
  set(2, model.startTilt);
  for (let i = 0; i < 3; i++) {
    set(STATE.velocity + i, model.startVelocity);
    set(STATE.gyroBias + i, model.gyroBiasDeviation);
    set(STATE.accelerationBias + i, model.accelerationBiasDeviation);
  }
}

/** Heading at the start is ours to choose, so it has no error: rad. */
const HEADING_IS_FREE = 1e-4;
