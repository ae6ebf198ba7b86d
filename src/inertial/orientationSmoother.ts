import { factorCholesky, solveCholesky } from '../numeric/cholesky.js';
import { quaternionAt } from '../rotation/arrays.js';
import {
  invertQuaternion,
  multiplyQuaternions,
  normalizeQuaternion,
  type Quaternion,
  type Vector3,
} from '../rotation/quaternion.js';
import {
  quaternionFromRotationVector,
  rotationVectorFromQuaternion,
} from '../rotation/rotationVector.js';
import { levelled } from './levelling.js';
import {
  backOverTransition,
  backOverUpdate,
  carryCovariance,
  gainOf,
  keepTransition,
  type Noise,
  newUpdate,
  STATE,
  STATES,
  type Transitions,
  transposedTransition,
  updateCovariance,
} from './stateCovariance.js';
import { newSegment, propagateSegment, type StrapdownSamples } from './strapdown.js';

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

/** What is known at the nodes after smoothing. */
export interface SmoothedNodes {
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
  /** Variances of the twelve states, length 12(K + 1); empty where they were not asked for. */
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
 * @param withVariances - whether the variances are wanted; they cost as much as the rest
 * @see Rauch, Tung, Striebel, "Maximum likelihood estimates of linear dynamic systems", AIAA
 *   Journal 3(8), 1965; Solà, "Quaternion kinematics for the error-state Kalman filter", 2017,
 *   sections 5 and 7 (global angular errors)
 */
export function smoothOrientation(
  samples: StrapdownSamples,
  nodes: Int32Array,
  start: Quaternion,
  knowledge: NodeKnowledge,
  model: SmootherModel,
  withVariances = true,
): SmoothedNodes {
  const K = nodes.length - 1;
  const m = STATES;
  const size = m * m;
  const quaternions = new Float64Array(4 * (K + 1));
  const velocity = new Float64Array(3 * (K + 1));
  const gyroBias = new Float64Array(3 * (K + 1));
  const forceBias = new Float64Array(3 * (K + 1));
  const predictedQuaternions = new Float64Array(4 * (K + 1));
  const predictedVelocity = new Float64Array(3 * (K + 1));
  const filtered = new Float64Array(size * (K + 1));
  const predicted = new Float64Array(size * (K + 1));
  const blocks = [0, 1, 2, 3].map(() => new Float64Array(9 * (K + 1))) as unknown as Transitions;

  let q = start;
  const v = new Float64Array(3);
  const bg = Float64Array.from(model.gyroBias);
  const ba = new Float64Array(3);
  const P = startCovariance(model);
  const segment = newSegment();
  const update = newUpdate();
  const dx = new Float64Array(m);
  const apply = (at: number, noise: Noise, x: number, y: number, z: number) => {
    updateCovariance(P, at, noise, update);
    const { gain } = update;
    for (let i = 0; i < m; i++) dx[i] = gain[i]! * x + gain[m + i]! * y + gain[2 * m + i]! * z;
    q = turned([dx[0]!, dx[1]!, dx[2]!], q);
    for (let i = 0; i < 3; i++) {
      v[i]! += dx[3 + i]!;
      bg[i]! += dx[6 + i]!;
      ba[i]! += dx[9 + i]!;
    }
  };

  for (let k = 0; k <= K; k++) {
    if (k > 0) {
      const from = nodes[k - 1]!;
      const to = nodes[k]!;
      propagateSegment(samples, from, to, q, bg, ba, segment);
      const dt = samples.times[to]! - samples.times[from]!;
      q = quaternionAt(segment.end, 0);
      for (let i = 0; i < 3; i++) v[i]! += segment.impulse[i]!;
      v[1]! -= model.gravity * dt;
      if (knowledge.restart[k]) {
        q = levelled(samples, to, q, bg, ba);
        v.fill(0);
      }
      keepTransition(blocks, k, segment);
      carryCovariance(P, blocks, k);
      const attitudeNoise =
        model.rateNoise ** 2 * dt +
        model.rateNoisePerRate ** 2 * segment.turning +
        knowledge.lostAttitude[k]!;
      for (let i = 0; i < 3; i++) {
        P[i * m + i]! += attitudeNoise;
        P[(3 + i) * m + 3 + i]! += knowledge.lostVelocity[k]!;
        P[(6 + i) * m + 6 + i]! += model.gyroBiasWalk ** 2 * dt;
      }
    }
    predicted.set(P, size * k);
    predictedQuaternions.set(q, 4 * k);
    predictedVelocity.set(v, 3 * k);
    apply(STATE.velocity, velocityNoise(knowledge, model, k), -v[0]!, -v[1]!, -v[2]!);
    if (k > 0 && knowledge.resting[k]) {
      const rate = meanRate(samples, nodes[k - 1]!, nodes[k]!);
      apply(STATE.gyroBias, REST_NOISE, rate[0] - bg[0]!, rate[1] - bg[1]!, rate[2] - bg[2]!);
    }
    quaternions.set(q, 4 * k);
    velocity.set(v, 3 * k);
    gyroBias.set(bg, 3 * k);
    forceBias.set(ba, 3 * k);
    filtered.set(P, size * k);
  }

  // What the nodes ahead say: x = x_f + P_f Fᵀ P_p⁻¹ (x⁺ − x_p⁺).
  const factor = new Float64Array(size);
  const e = new Float64Array(m);
  for (let k = K - 1; k >= 0; k--) {
    const ahead = quaternionAt(quaternions, k + 1);
    const expected = quaternionAt(predictedQuaternions, k + 1);
    e.set(rotationVectorFromQuaternion(multiplyQuaternions(ahead, invertQuaternion(expected))), 0);
    for (let i = 0; i < 3; i++) {
      e[3 + i] = velocity[3 * k + 3 + i]! - predictedVelocity[3 * k + 3 + i]!;
      e[6 + i] = gyroBias[3 * k + 3 + i]! - gyroBias[3 * k + i]!;
      e[9 + i] = forceBias[3 * k + 3 + i]! - forceBias[3 * k + i]!;
    }
    factor.set(predicted.subarray(size * (k + 1), size * (k + 2)));
    factorCholesky(factor, m);
    solveCholesky(factor, m, e, 1);
    transposedTransition(e, blocks, k + 1);
    for (let i = 0, at = size * k; i < m; i++) {
      let sum = 0;
      for (let j = 0; j < m; j++, at++) sum += filtered[at]! * e[j]!;
      dx[i] = sum;
    }
    const here = quaternionAt(quaternions, k);
    quaternions.set(turned([dx[0]!, dx[1]!, dx[2]!], here), 4 * k);
    for (let i = 0; i < 3; i++) {
      velocity[3 * k + i]! += dx[3 + i]!;
      gyroBias[3 * k + i]! += dx[6 + i]!;
      forceBias[3 * k + i]! += dx[9 + i]!;
    }
  }
  return {
    quaternions,
    velocity,
    gyroBias,
    forceBias,
    forceBiasVariance: Float64Array.from([9, 10, 11], (i) => P[i * m + i]!),
    variances: withVariances
      ? smoothedVariances(filtered, predicted, blocks, knowledge, model)
      : new Float64Array(0),
  };
}

/**
 * Variances of the smoothed states from the covariances before and after each node's measurements,
 * without inverses: P − P Λ P, where Λ gathers from the end what the measurements ahead say.
 *
 * @see Bierman, "Fixed interval smoothing with discrete measurements", Int. J. Control 18(1), 1973
 */
function smoothedVariances(
  filtered: Float64Array,
  predicted: Float64Array,
  blocks: Transitions,
  knowledge: NodeKnowledge,
  model: SmootherModel,
): Float64Array {
  const m = STATES;
  const size = m * m;
  const K = filtered.length / size - 1;
  const variances = new Float64Array(m * (K + 1));
  const L = new Float64Array(size);
  const P = new Float64Array(size);
  const update = newUpdate();
  const rest = newUpdate();
  const room = new Float64Array(3 * m);
  for (let k = K; k >= 0; k--) {
    const at = size * k;
    for (let i = 0; i < m; i++) {
      const first = at + i * m;
      let sum = 0;
      for (let a = 0; a < m; a++) {
        let inner = 0;
        for (let b = 0; b < m; b++) inner += L[a * m + b]! * filtered[first + b]!;
        sum += filtered[first + a]! * inner;
      }
      // Where the future tells almost everything, rounding may leave less than nothing.
      variances[m * k + i] = Math.max(filtered[first + i]! - sum, 0);
    }
    if (k === 0) break;
    // Back over the measurements, the last one first; each needs the covariance it met.
    P.set(predicted.subarray(at, at + size));
    const noise = velocityNoise(knowledge, model, k);
    if (knowledge.resting[k]) {
      updateCovariance(P, STATE.velocity, noise, update);
      gainOf(P, STATE.gyroBias, REST_NOISE, rest);
      backOverUpdate(L, STATE.gyroBias, rest, room);
    } else {
      gainOf(P, STATE.velocity, noise, update);
    }
    backOverUpdate(L, STATE.velocity, update, room);
    backOverTransition(L, blocks, k);
  }
  return variances;
}

/** Squared deviations of the zero velocity at a node, m²/s². */
function velocityNoise(
  { velocityDeviation }: NodeKnowledge,
  { verticalDoubt }: SmootherModel,
  node: number,
): Noise {
  const noise = velocityDeviation[node]! ** 2;
  return [noise, noise * verticalDoubt ** 2, noise];
}

/** How far the mean rate between two nodes at rest strays from the bias, rad²/s². */
const REST_NOISE: Noise = [0.003 ** 2, 0.003 ** 2, 0.003 ** 2];

/** q turned by a rotation vector of the world, renormalised. */
function turned(rotationVector: Vector3, q: Quaternion): Quaternion {
  return normalizeQuaternion(multiplyQuaternions(quaternionFromRotationVector(rotationVector), q));
}

function startCovariance(model: SmootherModel): Float64Array {
  const P = new Float64Array(STATES * STATES);
  const set = (state: number, deviation: number) => {
    P[state * STATES + state] = deviation ** 2;
  };
  set(0, model.startTilt);
  set(1, HEADING_IS_FREE);
  set(2, model.startTilt);
  for (let i = 0; i < 3; i++) {
    set(3 + i, model.startVelocity);
    set(6 + i, model.gyroBiasDeviation);
    set(9 + i, model.forceBiasDeviation);
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
