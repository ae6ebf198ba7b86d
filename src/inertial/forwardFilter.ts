import type { Quaternion, Vector3 } from '../rotation/quaternion.js';
import { levelled } from './levelling.js';
import { correctState, PART, STATE_NUMBERS, stateOf } from './motionState.js';
import {
  carryCovariance,
  keepCovariance,
  keepTransition,
  type Noise,
  newCovariances,
  newTransitions,
  newUpdate,
  STATE,
  STATES,
  type Transitions,
  updateCovariance,
} from './stateCovariance.js';
import { newSegment, propagateSegment, type Segment, type StrapdownSamples } from './strapdown.js';

/** Standard deviations and noise densities of the model, SI units. */
export interface SmootherModel {
  /** Attitude about the horizontal axes at the start, rad. */
  readonly startTilt: number;
  /** Velocity at the start, m/s. */
  readonly startVelocity: number;
  readonly gyroBias: Vector3;
  readonly gyroBiasDeviation: number;
  readonly forceBiasDeviation: number;
  /** White noise of the rate, rad/√s. */
  readonly rateNoise: number;
  /** Rate noise proportional to the rate itself (scale and axis errors), √s. */
  readonly rateNoisePerRate: number;
  /** Random walk of the gyro bias, rad/s/√s. */
  readonly gyroBiasWalk: number;
  /** Magnitude of gravity, m/s². */
  readonly gravity: number;
  /** How many times less the vertical velocity is known than the horizontal one. */
  readonly verticalDoubt: number;
}

/** What the log says at the nodes besides its samples; length K + 1 each. */
export interface NodeKnowledge {
  /** Standard deviation of the zero velocity, m/s. */
  readonly velocityDeviation: Float64Array;
  /** Whether the camera rests on something still, so that its mean rate is the gyro's bias. */
  readonly resting: Uint8Array;
  /** Further attitude variance gathered since the node before (holes, clipped rates), rad². */
  readonly lostAttitude: Float64Array;
  /** Further velocity variance gathered since the node before (holes, clipped forces), m²/s². */
  readonly lostVelocity: Float64Array;
  /** Whether the samples before say nothing of what comes: level anew by the force that follows. */
  readonly restart: Uint8Array;
}

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
 * An error-state Kalman filter over the nodes of a log. Its only measurement everywhere is that a
 * hand-held camera goes nowhere for long; where it rests, its mean rate is the gyro's bias.
 *
 * @param nodes - sample index of each node, increasing, first 0 and last n − 1; length K + 1
 * @param start - orientation at the first sample, body→world
 * @see Solà, "Quaternion kinematics for the error-state Kalman filter", 2017, sections 5 and 7 (global
 *   angular errors)
 */
export function filterForward(
  samples: StrapdownSamples,
  nodes: Int32Array,
  start: Quaternion,
  knowledge: NodeKnowledge,
  model: SmootherModel,
): FilteredNodes {
  const count = nodes.length;
  const states = new Float64Array(STATE_NUMBERS * count);
  const predicted = new Float64Array(STATE_NUMBERS * count);
  const covariances = newCovariances(count);
  const transitions = newTransitions(count);
  const P = startCovariance(model);
  const segment = newSegment();
  states.set(stateOf(start, [0, 0, 0], model.gyroBias));
  const measure = newMeasurement(states, P);
  for (let k = 0; k < count; k++) {
    if (k > 0) {
      carryState(samples, nodes, k, model, states, segment);
      if (knowledge.restart[k]) startAnew(samples, nodes[k]!, states, k);
      keepTransition(transitions, k, segment);
      carryCovariance(P, transitions, k);
      const duration = samples.times[nodes[k]!]! - samples.times[nodes[k - 1]!]!;
      addNoise(P, duration, segment.turning, knowledge, model, k);
    }
    keepCovariance(P, covariances, k);
    const at = STATE_NUMBERS * k;
    for (let i = at; i < at + STATE_NUMBERS; i++) predicted[i] = states[i]!;
    measure(k, STATE.velocity, velocityNoise(knowledge, model, k), ZERO);
    if (k > 0 && knowledge.resting[k]) {
      const rate = meanRate(samples, nodes[k - 1]!, nodes[k]!);
      measure(k, STATE.gyroBias, REST_NOISE, rate);
    }
  }
  return { states, predicted, covariances, transitions, last: P };
}

const ZERO: Vector3 = [0, 0, 0];

/** The state at a node from that at the node before. */
function carryState(
  samples: StrapdownSamples,
  nodes: Int32Array,
  k: number,
  { gravity }: SmootherModel,
  states: Float64Array,
  segment: Segment,
): void {
  const from = nodes[k - 1]!;
  const to = nodes[k]!;
  const at = STATE_NUMBERS * k;
  propagateSegment(samples, { from, to, states, k: k - 1 }, segment);
  for (let i = at; i < at + STATE_NUMBERS; i++) states[i] = states[i - STATE_NUMBERS]!;
  for (let i = 0; i < 4; i++) states[at + i] = segment.end[i]!;
  for (let i = 0; i < 3; i++) states[at + PART.velocity + i]! += segment.impulse[i]!;
  states[at + PART.velocity + 1]! -= gravity * (samples.times[to]! - samples.times[from]!);
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
  const add = (state: number, variance: number) => {
    for (let i = state; i < state + 3; i++) P[i * STATES + i]! += variance;
  };
  add(STATE.attitude, attitude);
  add(STATE.velocity, lostVelocity[k]!);
  add(STATE.gyroBias, gyroBiasWalk ** 2 * duration);
}

/** A Kalman update of the k-th state with values of three neighbouring states. */
function newMeasurement(states: Float64Array, P: Float64Array) {
  const update = newUpdate();
  const error = new Float64Array(STATES);
  const { gain } = update;
  return (k: number, state: number, noise: Noise, values: Vector3): void => {
    updateCovariance(P, state, noise, update);
    // A state has one number more than errors: four of a quaternion for three of a turn.
    const at = STATE_NUMBERS * k + state + 1;
    const x = values[0] - states[at]!;
    const y = values[1] - states[at + 1]!;
    const z = values[2] - states[at + 2]!;
    for (let i = 0; i < STATES; i++) {
      error[i] = gain[i]! * x + gain[STATES + i]! * y + gain[2 * STATES + i]! * z;
    }
    correctState(states, k, error);
  };
}

/** Squared deviations of the zero velocity at a node, m²/s². */
export function velocityNoise(
  { velocityDeviation }: NodeKnowledge,
  { verticalDoubt }: SmootherModel,
  node: number,
): Noise {
  const noise = velocityDeviation[node]! ** 2;
  return [noise, noise * verticalDoubt ** 2, noise];
}

/** How far the mean rate between two nodes at rest strays from the bias, rad²/s². */
export const REST_NOISE: Noise = [0.003 ** 2, 0.003 ** 2, 0.003 ** 2];

function startCovariance(model: SmootherModel): Float64Array {
  const P = new Float64Array(STATES * STATES);
  const set = (state: number, deviation: number) => {
    P[state * STATES + state] = deviation ** 2;
  };
  set(0, model.startTilt);
  set(1, HEADING_IS_FREE);
  set(2, model.startTilt);
  for (let i = 0; i < 3; i++) {
    set(STATE.velocity + i, model.startVelocity);
    set(STATE.gyroBias + i, model.gyroBiasDeviation);
    set(STATE.forceBias + i, model.forceBiasDeviation);
  }
  return P;
}

/** Heading at the start is ours to choose, so it has no error: rad. */
const HEADING_IS_FREE = 1e-4;

/** Mean rate over the samples between two nodes, rad/s. */
function meanRate({ times, increments }: StrapdownSamples, from: number, to: number): Vector3 {
  const sum = [0, 0, 0];
  for (let i = 3 * from; i < 3 * to; i++) sum[i % 3]! += increments[i]!;
  const span = times[to]! - times[from]!;
  return [sum[0]! / span, sum[1]! / span, sum[2]! / span];
}
