import { inverse, Matrix } from 'ml-matrix';
import { describe, expect, test } from 'vitest';
import { newFilteredNodes } from '../../src/inertial/forwardFilter.js';
import { orientationAt, PART, STATE_NUMBERS } from '../../src/inertial/motionState.js';
import {
  impulsesBetweenNodes,
  nearlyImpulsesBetweenNodes,
} from '../../src/inertial/nodeImpulses.js';
import type { NodeKnowledge } from '../../src/inertial/nodeKnowledge.js';
import { smoothWithVariances } from '../../src/inertial/orientationSmoother.js';
import { pathBetweenNodes } from '../../src/inertial/pathBetweenNodes.js';
import { smoothedVariances } from '../../src/inertial/smoothedVariances.js';
import type { SmootherModel } from '../../src/inertial/smootherModel.js';
import type { StrapdownSamples } from '../../src/inertial/strapdownSamples.js';
import { quaternionAt } from '../../src/rotation/arrays.js';
import {
  IDENTITY,
  invertQuaternion,
  multiplyQuaternions,
  type Vector3,
} from '../../src/rotation/quaternion.js';
import {
  quaternionFromRotationVector,
  rotationVectorFromQuaternion,
} from '../../src/rotation/rotationVector.js';
import { apart, largestGap } from '../apart.js';
import { fc } from '../seed.js';
import { vectors } from '../turns.js';

const GRAVITY = 9.8;
const K = 8;
const PER_NODE = 5;
const STEP = 0.01;
const SPAN = PER_NODE * STEP;
const M = 12;

const MODEL: SmootherModel = {
  startTilt: 0.1,
  startVelocity: 0.3,
  gyroBias: [0, 0, 0],
  gyroBiasDeviation: 0.02,
  accelerationBiasDeviation: 0.05,
  rateNoise: 2e-3,
  rateNoisePerRate: 1e-3,
  gyroBiasWalk: 3e-3,
  gravity: GRAVITY,
  verticalDoubt: 3,
};
/** The deviations that the smoother itself sets: heading at the start, mean rate at rest. */
const HEADING = 1e-4;
const REST_RATE = 0.003;

/**
 * Signals this small leave nothing but linear algebra: what is of second order is 1e-8 of what is
 * compared, times factors below 100 from node to node.
 */
const SMALL = 1e-8;
const LINEAR = 1e-6;

const nodes = Int32Array.from({ length: K + 1 }, (_, k) => k * PER_NODE);
const count = K * PER_NODE + 1;

/** An upright camera that turns at a constant rate and feels a constant horizontal force. */
function steady(rate: Vector3, force: Vector3): StrapdownSamples {
  const repeated = (v: Vector3) =>
    Float64Array.from({ length: 3 * (count - 1) }, (_, i) => v[i % 3]!);
  return {
    times: Float64Array.from({ length: count }, (_, k) => k * STEP),
    rate: Float64Array.from([...rate, ...repeated(rate)]),
    sampling: 'interval',
    acceleration: Float64Array.from([
      0,
      0,
      0,
      ...repeated([force[0], force[1] + GRAVITY, force[2]]),
    ]),
    firstShare: 0,
  };
}

const each = <T>(one: fc.Arbitrary<T>) => fc.array(one, { minLength: K + 1, maxLength: K + 1 });
const knowledges: fc.Arbitrary<NodeKnowledge> = fc.record({
  velocityDeviation: each(fc.integer({ min: 5, max: 200 })).map((all) =>
    Float64Array.from(all, (x) => x / 100),
  ),
  resting: each(fc.integer({ min: 0, max: 1 })).map((all) => Uint8Array.from(all)),
  lostAttitude: each(fc.constantFrom(0, 0, 1e-4, 1e-2)).map((all) => Float64Array.from(all)),
  lostVelocity: each(fc.constantFrom(0, 0, 1e-3, 1)).map((all) => Float64Array.from(all)),
  // A restart takes its attitude from the force, which is no linear algebra.
  restart: fc.constant(new Uint8Array(K + 1)),
});
const small = vectors.map(([x, y, z]): Vector3 => [x * SMALL, y * SMALL, z * SMALL]);

function smoothed(samples: StrapdownSamples, knowledge: NodeKnowledge, model = MODEL) {
  const filtered = newFilteredNodes(K + 1);
  const states = new Float64Array(STATE_NUMBERS * (K + 1));
  const result = smoothWithVariances(samples, nodes, IDENTITY, knowledge, model, filtered, states);
  const variances = new Float64Array(M * (K + 1));
  smoothedVariances(filtered, knowledge, model, (k, varianceOf) => {
    for (let error = 0; error < M; error++) variances[M * k + error] = varianceOf(error);
  });
  return { ...result, variances, filtered };
}

/** A vector of the k-th state. */
function partAt(states: Float64Array, k: number, part: keyof typeof PART): Vector3 {
  const at = STATE_NUMBERS * k + PART[part];
  return [states[at]!, states[at + 1]!, states[at + 2]!];
}

/**
 * The same knowledge in one piece: the joint covariance of all states at all nodes, conditioned on
 * all measurements at once. No filter and no recursion enter.
 */
function inOnePiece(rate: Vector3, force: Vector3, knowledge: NodeKnowledge) {
  // In the upright camera θ turns gravity into acceleration: θ × (0, g, 0) = g (−θz, 0, θx).
  const F = Matrix.eye(M);
  for (const [row, column, sign] of [
    [3, 2, -1],
    [5, 0, 1],
  ] as const) {
    F.set(row, column, sign * GRAVITY * SPAN);
    F.set(row, column + 6, (-sign * GRAVITY * SPAN ** 2) / 2);
  }
  for (let i = 0; i < 3; i++) {
    F.set(i, 6 + i, -SPAN);
    F.set(3 + i, 9 + i, -SPAN);
  }
  const three = (value: number) => [value, value, value];
  const prior = [
    ...[MODEL.startTilt, HEADING, MODEL.startTilt],
    ...three(MODEL.startVelocity),
    ...three(MODEL.gyroBiasDeviation),
    ...three(MODEL.accelerationBiasDeviation),
  ].map((deviation) => deviation ** 2);
  const noise = (k: number) => [
    ...three(MODEL.rateNoise ** 2 * SPAN + knowledge.lostAttitude[k]!),
    ...three(knowledge.lostVelocity[k]!),
    ...three(MODEL.gyroBiasWalk ** 2 * SPAN),
    ...three(0),
  ];
  const A = Matrix.zeros(M * (K + 1), M * (K + 1));
  for (let j = 0; j <= K; j++) {
    let power = Matrix.eye(M);
    for (let k = j; k <= K; k++) {
      A.setSubMatrix(power, M * k, M * j);
      power = F.mmul(power);
    }
  }
  const sources = Array.from({ length: K + 1 }, (_, k) => (k === 0 ? prior : noise(k))).flat();
  const joint = A.mmul(Matrix.diag(sources)).mmul(A.transpose());
  const nominal = velocityAlone(rate, force);
  const measured = Array.from({ length: K + 1 }, (_, k) =>
    [0, 1, 2].flatMap((i) => [
      {
        at: M * k + 3 + i,
        value: -nominal(k)[i]!,
        deviation: knowledge.velocityDeviation[k]! * (i === 1 ? MODEL.verticalDoubt : 1),
      },
      ...(k > 0 && knowledge.resting[k]
        ? [{ at: M * k + 6 + i, value: rate[i]!, deviation: REST_RATE }]
        : []),
    ]),
  ).flat();
  const seen = measured.map(({ at }) => at);
  const all = Array.from({ length: M * (K + 1) }, (_, i) => i);
  const cross = joint.selection(all, seen);
  const own = joint
    .selection(seen, seen)
    .add(Matrix.diag(measured.map(({ deviation }) => deviation ** 2)));
  const gain = cross.mmul(inverse(own));
  const variances = joint.clone().sub(gain.mmul(cross.transpose())).diagonal();
  const change = gain.mmul(Matrix.columnVector(measured.map(({ value }) => value))).to1DArray();
  const part = (k: number, state: number) =>
    change.slice(M * k + state, M * k + state + 3) as unknown as Vector3;
  return { part, nominal, variances };
}

/** Velocity at the nodes by the force and the turned gravity alone, t f + t²/2 ω × (0, g, 0). */
function velocityAlone([x, , z]: Vector3, force: Vector3): (k: number) => number[] {
  return (k) => {
    const t = k * SPAN;
    const turned = [-z, 0, x].map((rate) => (rate * GRAVITY * t * t) / 2);
    return force.map((f, i) => f * t + turned[i]!);
  };
}

describe('filter and recursion', () => {
  test('give the mean of all that is known at once', () => {
    fc.assert(
      fc.property(small, small, knowledges, (rate, force, knowledge) => {
        const result = smoothed(steady(rate, force), knowledge);
        const { part, nominal } = inOnePiece(rate, force, knowledge);
        const alike = (found: ArrayLike<number>, expected: ArrayLike<number>) =>
          expect(largestGap(found, expected)).toBeLessThan(LINEAR * SMALL);
        for (let k = 0; k <= K; k++) {
          const turned = rotationVectorFromQuaternion(orientationAt(result.states, k));
          alike(
            turned,
            part(k, 0).map((x, i) => x + rate[i]! * k * SPAN),
          );
          alike(
            partAt(result.states, k, 'velocity'),
            part(k, 3).map((x, i) => x + nominal(k)[i]!),
          );
          alike(partAt(result.states, k, 'gyroBias'), part(k, 6));
          alike(partAt(result.states, k, 'accelerationBias'), part(k, 9));
        }
      }),
      { numRuns: 30 },
    );
  });

  test('give its variances', () => {
    fc.assert(
      fc.property(small, small, knowledges, (rate, force, knowledge) => {
        const found = smoothed(steady(rate, force), knowledge);
        const expected = inOnePiece(rate, force, knowledge).variances;
        const alike = (variances: Float64Array, all: readonly number[]) => {
          const shares = Array.from(variances, (variance, i) => variance / all[i]! - 1);
          expect(Math.max(...shares.map(Math.abs))).toBeLessThan(LINEAR);
        };
        alike(found.variances, expected);
        alike(found.middleVariances, expected.slice((M * K) / 2, (M * K) / 2 + M));
        alike(
          found.tiltVariance,
          Array.from({ length: K + 1 }, (_, k) => expected[M * k]! + expected[M * k + 2]!),
        );
      }),
      { numRuns: 30 },
    );
  });

  test('leave positive variances however the camera turns', () => {
    fc.assert(
      fc.property(vectors, vectors, knowledges, (rate, force, knowledge) => {
        const { variances } = smoothed(steady(rate, force), knowledge);
        expect(Math.min(...variances)).toBeGreaterThan(0);
      }),
      { numRuns: 50 },
    );
  });

  test('know every state at least as well when an attitude is not lost', () => {
    const still = steady([0, 0, 0], [0, 0, 0]);
    fc.assert(
      fc.property(knowledges, fc.integer({ min: 1, max: K }), (knowledge, k) => {
        const lostAttitude = knowledge.lostAttitude.slice();
        lostAttitude[k]! += 0.01;
        const lost = smoothed(still, { ...knowledge, lostAttitude }).variances;
        const kept = smoothed(still, knowledge).variances;
        // Equal where it does not matter, up to rounding between variances from 1e-8 to 1.
        kept.forEach((variance, i) => {
          expect(variance).toBeLessThanOrEqual(lost[i]! * (1 + 1e-8));
        });
      }),
      { numRuns: 50 },
    );
  });
});

test('the impulses between nodes are what the log shows, less the accelerometer bias', () => {
  const knowledge: NodeKnowledge = {
    velocityDeviation: new Float64Array(K + 1).fill(1),
    resting: new Uint8Array(K + 1),
    lostAttitude: new Float64Array(K + 1),
    lostVelocity: new Float64Array(K + 1),
    restart: new Uint8Array(K + 1),
  };
  const samples = steady([0, 0, 0], [0, 0.02, 0]);
  const model = { ...MODEL, accelerationBiasDeviation: 1e-9 };
  const { states } = smoothed(samples, knowledge, model);
  const impulses = impulsesBetweenNodes(samples, nodes, states);
  expect([...impulses.subarray(0, 3)]).toEqual([0, 0, 0]);
  for (let k = 1; k <= K; k++) {
    // A bias held at zero within 1e-9, and a sum of five terms.
    expect(Math.abs(impulses[3 * k + 1]! / SPAN - GRAVITY - 0.02)).toBeLessThan(1e-9);
  }
});

test('impulses from what the filter has integrated are nearly those of the states themselves', () => {
  fc.assert(
    fc.property(vectors, vectors, knowledges, (rate, force, knowledge) => {
      const samples = steady(rate, force);
      const { states, filtered } = smoothed(samples, knowledge);
      const exact = impulsesBetweenNodes(samples, nodes, states);
      const nearly = nearlyImpulsesBetweenNodes(samples, nodes, filtered, states);
      // Turned by up to 1e-3 rad more, a mean force of at most 12 m/s² loses half the square of it.
      expect(largestGap(exact, nearly)).toBeLessThan(0.5 * 1e-6 * 12 * SPAN);
    }),
    { numRuns: 50 },
  );
});

test('between the nodes the path is the integrated rate, with the gap at the next node spread evenly', () => {
  fc.assert(
    fc.property(vectors, vectors, knowledges, (rate, force, knowledge) => {
      const samples = steady(rate, force);
      const result = smoothed(samples, knowledge);
      const path = pathBetweenNodes(samples, nodes, result.states);
      for (let k = 0; k < K; k++) {
        const here = orientationAt(result.states, k);
        const bias = partAt(result.states, k, 'gyroBias');
        const left = (i: number) => {
          const t = i * STEP;
          const turn = quaternionFromRotationVector(
            rate.map((x, axis) => (x - bias[axis]!) * t) as unknown as Vector3,
          );
          const plain = invertQuaternion(multiplyQuaternions(here, turn));
          const at = quaternionAt(path, nodes[k]! + i);
          return rotationVectorFromQuaternion(multiplyQuaternions(at, plain));
        };
        const gap = left(PER_NODE);
        for (let i = 0; i <= PER_NODE; i++) {
          // Some ten products of 8 epsilons each.
          const expected = gap.map((x) => (x * i) / PER_NODE);
          expect(largestGap(left(i), expected)).toBeLessThan(80 * Number.EPSILON);
        }
        const next = quaternionAt(path, nodes[k + 1]!);
        expect(apart(next, orientationAt(result.states, k + 1))).toBeLessThan(40 * Number.EPSILON);
      }
    }),
    { numRuns: 50 },
  );
});
