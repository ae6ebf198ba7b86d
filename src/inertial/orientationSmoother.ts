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
import { newSegment, propagateSegment, type StrapdownSamples } from './strapdown.js';

/** States: attitude error, velocity, gyro bias, accelerometer bias; three each. */
const STATES = 12;

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
}

/** What the log says at the nodes besides its samples; length K + 1 each. */
export interface NodeKnowledge {
  /** Standard deviation of the zero velocity, m/s. */
  readonly velocityDeviation: Float64Array;
  /** Whether the camera rests on something still, so that its mean rate is the gyro's bias. */
  readonly resting: Uint8Array;
  /** Further attitude variance gathered since the node before (gaps, clipped rates), rad². */
  readonly lostAttitude: Float64Array;
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
  /** Variances of the twelve states, length 12(K + 1). */
  readonly variances: Float64Array;
  /** Mean vertical specific force over the log, m/s²: the gravity that the log itself shows. */
  readonly verticalForce: number;
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
 *   Journal 3(8), 1965; Solà, "Quaternion kinematics for the error-state Kalman filter", 2017,
 *   sections 5 and 7 (global angular errors)
 */
export function smoothOrientation(
  samples: StrapdownSamples,
  nodes: Int32Array,
  start: Quaternion,
  knowledge: NodeKnowledge,
  model: SmootherModel,
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
  const gains = new Float64Array(size * (K + 1));

  let q = start;
  const v = [0, 0, 0];
  const bg: number[] = [...model.gyroBias];
  const ba = [0, 0, 0];
  const P = startCovariance(model);
  const F = identity(m);
  const FP = new Float64Array(size);
  const factor = new Float64Array(size);
  const segment = newSegment();
  let vertical = 0;
  const apply = (dx: Float64Array) => {
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
      placeBlock(F, 0, 6, segment.attitudeByGyro);
      placeBlock(F, 3, 0, segment.velocityByAttitude);
      placeBlock(F, 3, 6, segment.velocityByGyro);
      placeBlock(F, 3, 9, segment.velocityByForce);
      multiplyByTransition(F, P, FP);
      // The gain of the backward pass, G = P Fᵀ (F P Fᵀ + Q)⁻¹, while P is still the filtered one.
      multiplyByTransposedTransition(FP, F, P);
      const attitudeNoise =
        model.rateNoise ** 2 * dt +
        model.rateNoisePerRate ** 2 * segment.turning +
        knowledge.lostAttitude[k]!;
      for (let i = 0; i < 3; i++) {
        P[i * m + i]! += attitudeNoise;
        P[(6 + i) * m + 6 + i]! += model.gyroBiasWalk ** 2 * dt;
      }
      factor.set(P);
      const gainTransposed = gains.subarray(size * k, size * (k + 1));
      gainTransposed.set(FP);
      factorCholesky(factor, m);
      solveCholesky(factor, m, gainTransposed, m);
    }
    predicted.set(P, size * k);
    predictedQuaternions.set(q, 4 * k);
    predictedVelocity.set(v, 3 * k);
    apply(updateBlock(P, 3, [-v[0]!, -v[1]!, -v[2]!], knowledge.velocityDeviation[k]!));
    if (k > 0 && knowledge.resting[k]) {
      const rate = meanRate(samples, nodes[k - 1]!, nodes[k]!);
      apply(updateBlock(P, 6, [rate[0] - bg[0]!, rate[1] - bg[1]!, rate[2] - bg[2]!], REST_RATE));
    }
    quaternions.set(q, 4 * k);
    velocity.set(v, 3 * k);
    gyroBias.set(bg, 3 * k);
    forceBias.set(ba, 3 * k);
    filtered.set(P, size * k);
  }

  const variances = new Float64Array(m * (K + 1));
  const smoothed = filtered.slice(size * K);
  const difference = new Float64Array(size);
  const product = new Float64Array(size);
  const e = new Float64Array(m);
  for (let i = 0; i < m; i++) variances[m * K + i] = smoothed[i * m + i]!;
  for (let k = K - 1; k >= 0; k--) {
    const ahead = quaternionAt(quaternions, k + 1);
    const expected = quaternionAt(predictedQuaternions, k + 1);
    e.set(rotationVectorFromQuaternion(multiplyQuaternions(ahead, invertQuaternion(expected))), 0);
    for (let i = 0; i < 3; i++) {
      e[3 + i] = velocity[3 * k + 3 + i]! - predictedVelocity[3 * k + 3 + i]!;
      e[6 + i] = gyroBias[3 * k + 3 + i]! - gyroBias[3 * k + i]!;
      e[9 + i] = forceBias[3 * k + 3 + i]! - forceBias[3 * k + i]!;
    }
    const gainTransposed = gains.subarray(size * (k + 1), size * (k + 2));
    const dx = new Float64Array(m);
    for (let j = 0; j < m; j++) {
      for (let i = 0; i < m; i++) dx[i]! += gainTransposed[j * m + i]! * e[j]!;
    }
    const here = quaternionAt(quaternions, k);
    quaternions.set(turned([dx[0]!, dx[1]!, dx[2]!], here), 4 * k);
    for (let i = 0; i < 3; i++) {
      velocity[3 * k + i]! += dx[3 + i]!;
      gyroBias[3 * k + i]! += dx[6 + i]!;
      forceBias[3 * k + i]! += dx[9 + i]!;
    }
    // P_s = P_f + G (P_s⁺ − P_p⁺) Gᵀ
    const ahead_ = size * (k + 1);
    for (let i = 0; i < size; i++) difference[i] = smoothed[i]! - predicted[ahead_ + i]!;
    product.fill(0);
    for (let i = 0; i < m; i++) {
      for (let j = 0; j < m; j++) {
        const d = difference[i * m + j]!;
        for (let c = 0; c < m; c++) product[i * m + c]! += d * gainTransposed[j * m + c]!;
      }
    }
    smoothed.set(filtered.subarray(size * k, size * (k + 1)));
    for (let j = 0; j < m; j++) {
      for (let i = 0; i < m; i++) {
        const g = gainTransposed[j * m + i]!;
        for (let c = 0; c < m; c++) smoothed[i * m + c]! += g * product[j * m + c]!;
      }
    }
    for (let i = 0; i < m; i++) variances[m * k + i] = smoothed[i * m + i]!;
  }
  // By the smoothed states: on its way forward the filter has still to find the vertical.
  vertical = 0;
  for (let k = 0; k < K; k++) {
    const start = quaternions.subarray(4 * k, 4 * k + 4);
    const rate = gyroBias.subarray(3 * k, 3 * k + 3);
    const force = forceBias.subarray(3 * k, 3 * k + 3);
    propagateSegment(samples, nodes[k]!, nodes[k + 1]!, start, rate, force, segment);
    vertical += segment.impulse[1]!;
  }
  const duration = samples.times[nodes[K]!]! - samples.times[0]!;
  return {
    quaternions,
    velocity,
    gyroBias,
    forceBias,
    variances,
    verticalForce: vertical / duration,
  };
}

/**
 * Orientation at every sample: integrated from each smoothed node, the small gap at the next node
 * spread evenly over the samples between.
 *
 * @returns unit quaternions, body→world; length 4n
 */
export function orientationBetweenNodes(
  samples: StrapdownSamples,
  nodes: Int32Array,
  smoothed: SmoothedNodes,
): Float64Array {
  const path = new Float64Array(4 * samples.times.length);
  const segment = newSegment();
  for (let k = 0; k + 1 < nodes.length; k++) {
    const from = nodes[k]!;
    const to = nodes[k + 1]!;
    const start = smoothed.quaternions.subarray(4 * k, 4 * k + 4);
    const bg = smoothed.gyroBias.subarray(3 * k, 3 * k + 3);
    propagateSegment(samples, from, to, start, bg, NO_BIAS, segment, path);
    const closing = rotationVectorFromQuaternion(
      multiplyQuaternions(
        quaternionAt(smoothed.quaternions, k + 1),
        invertQuaternion(quaternionAt(segment.end, 0)),
      ),
    );
    const span = samples.times[to]! - samples.times[from]!;
    for (let i = from + 1; i <= to; i++) {
      const share = (samples.times[i]! - samples.times[from]!) / span;
      const correction: Vector3 = [closing[0] * share, closing[1] * share, closing[2] * share];
      path.set(turned(correction, quaternionAt(path, i)), 4 * i);
    }
  }
  return path;
}

const NO_BIAS = [0, 0, 0];

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

/** FP = F P for F = I + four 3 × 3 blocks; only the rows of attitude and velocity change. */
function multiplyByTransition(F: Float64Array, P: Float64Array, FP: Float64Array): void {
  const m = STATES;
  FP.set(P);
  for (let i = 0; i < 6; i++) {
    for (let k = 0; k < m; k++) {
      const f = F[i * m + k]!;
      if (f === 0 || k === i) continue;
      for (let j = 0; j < m; j++) FP[i * m + j]! += f * P[k * m + j]!;
    }
  }
}

/** P = FP Fᵀ, made symmetric. */
function multiplyByTransposedTransition(FP: Float64Array, F: Float64Array, P: Float64Array): void {
  const m = STATES;
  for (let i = 0; i < m; i++) {
    for (let j = 0; j < m; j++) {
      let sum = FP[i * m + j]!;
      if (j < 6) {
        for (let k = 0; k < m; k++) if (k !== j) sum += FP[i * m + k]! * F[j * m + k]!;
      }
      P[i * m + j] = sum;
    }
  }
  symmetrise(P);
}

/** How far the mean rate between two nodes at rest strays from the bias, rad/s. */
const REST_RATE = 0.003;

/** Mean rate over the samples between two nodes, rad/s. */
function meanRate({ times, increments }: StrapdownSamples, from: number, to: number): Vector3 {
  const sum = [0, 0, 0];
  for (let i = 3 * from; i < 3 * to; i++) sum[i % 3]! += increments[i]!;
  const span = times[to]! - times[from]!;
  return [sum[0]! / span, sum[1]! / span, sum[2]! / span];
}

/**
 * Kalman update with a measurement of three neighbouring states; P is updated in place.
 *
 * @param at - the first of the three states
 * @param innovation - measured less expected
 * @param deviation - standard deviation of the measurement
 * @returns change of all states
 */
function updateBlock(
  P: Float64Array,
  at: number,
  innovation: Vector3,
  deviation: number,
): Float64Array {
  const m = STATES;
  const S = new Float64Array(9);
  for (let i = 0; i < 3; i++) {
    for (let j = 0; j < 3; j++) S[3 * i + j] = P[(at + i) * m + at + j]!;
    S[4 * i]! += deviation ** 2;
  }
  factorCholesky(S, 3);
  // Kᵀ = S⁻¹ H P, from the rows of the measured states.
  const rows = P.slice(at * m, (at + 3) * m);
  const gainTransposed = rows.slice();
  solveCholesky(S, 3, gainTransposed, m);
  const dx = new Float64Array(m);
  for (let r = 0; r < 3; r++) {
    for (let i = 0; i < m; i++) {
      const g = gainTransposed[r * m + i]!;
      dx[i]! += g * innovation[r]!;
      for (let j = 0; j < m; j++) P[i * m + j]! -= g * rows[r * m + j]!;
    }
  }
  symmetrise(P);
  return dx;
}

function symmetrise(P: Float64Array): void {
  for (let i = 1; i < STATES; i++) {
    for (let j = 0; j < i; j++) {
      const mean = 0.5 * (P[i * STATES + j]! + P[j * STATES + i]!);
      P[i * STATES + j] = mean;
      P[j * STATES + i] = mean;
    }
  }
}

function placeBlock(F: Float64Array, row: number, column: number, block: Float64Array): void {
  for (let i = 0; i < 3; i++) {
    for (let j = 0; j < 3; j++) F[(row + i) * STATES + column + j] = block[3 * i + j]!;
  }
}

function identity(m: number): Float64Array {
  const I = new Float64Array(m * m);
  for (let i = 0; i < m; i++) I[i * m + i] = 1;
  return I;
}
