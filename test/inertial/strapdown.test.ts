import { describe, expect, test } from 'vitest';
import { stateOf } from '../../src/inertial/motionState.js';
import { newSegment, type Segment } from '../../src/inertial/segment.js';
import { carryPath, carrySegment, propagateSegment } from '../../src/inertial/strapdown.js';
import type { StrapdownSamples } from '../../src/inertial/strapdownSamples.js';
import { quaternionAt, vectorAt } from '../../src/rotation/arrays.js';
import {
  IDENTITY,
  invertQuaternion,
  multiplyQuaternions,
  normalizeQuaternion,
  type Quaternion,
  type Vector3,
} from '../../src/rotation/quaternion.js';
import {
  quaternionFromRotationVector,
  rotationVectorFromQuaternion,
} from '../../src/rotation/rotationVector.js';
import { integrateRate } from '../../src/track/integrate.js';
import { apart, largestGap } from '../apart.js';
import { fc } from '../seed.js';
import { rotations, vectors } from '../turns.js';

const STEPS = 20;
const STEP = 0.01;
const SPAN = STEPS * STEP;
/** Longest turn of a step with its bias and its coning, rad, and largest force with its bias, m/s². */
const TURN = 0.03;
const FORCE = 16;

const scaled = (v: Vector3, by: number): Vector3 => [v[0] * by, v[1] * by, v[2] * by];
const series = (length: number) =>
  fc
    .array(vectors, { minLength: STEPS, maxLength: STEPS })
    .map((all) => Float64Array.from(all.flatMap((v) => scaled(v, length / Math.sqrt(3)))));

interface Drawn {
  readonly increments: Float64Array;
  readonly force: Float64Array;
  readonly start: Quaternion;
  readonly gyroBias: Vector3;
  readonly accelerationBias: Vector3;
}

const drawn: fc.Arbitrary<Drawn> = fc.record({
  increments: series(0.9 * TURN),
  force: series(FORCE - 0.5),
  start: rotations,
  gyroBias: vectors.map((v) => scaled(v, 0.1)),
  accelerationBias: vectors.map((v) => scaled(v, 0.2)),
});

const times = Float64Array.from({ length: STEPS + 1 }, (_, k) => k * STEP);

/** Samples with given turns, as means of the rate, and a given mean force from each to the next. */
const samplesOf = (
  at: Float64Array,
  increments: Float64Array,
  force: Float64Array,
): StrapdownSamples => ({
  times: at,
  rate: Float64Array.from([0, 0, 0, ...increments], (x) => x / STEP),
  sampling: 'interval',
  acceleration: Float64Array.from([0, 0, 0, ...force]),
  firstShare: 0,
});

function carried(
  { increments, force, start, gyroBias, accelerationBias }: Drawn,
  from = 0,
  to = STEPS,
): Segment {
  const segment = newSegment();
  const states = stateOf(start, [0, 0, 0], gyroBias, accelerationBias);
  const stretch = { from, to, states, k: 0 };
  propagateSegment(samplesOf(times, increments, force), stretch, segment);
  return segment;
}

// Central differences over ±1e-4 leave out (1e-4)² SPAN³/6 ‖f‖, 1e-9, and round at 1e-4 of
// STEPS · 4 · FORCE · SPAN epsilons, 1e-9 as well.
const DELTA = 1e-4;
const DIFFERENCE = 2e-9;

/** Columns of the change of attitude (rotation vector of the world) and velocity by a parameter. */
function numerical(change: (axis: number, by: number) => Segment) {
  const attitude = new Float64Array(9);
  const velocity = new Float64Array(9);
  for (let axis = 0; axis < 3; axis++) {
    const [plus, minus] = [change(axis, DELTA), change(axis, -DELTA)];
    const turned = rotationVectorFromQuaternion(
      multiplyQuaternions(quaternionAt(plus.end, 0), invertQuaternion(quaternionAt(minus.end, 0))),
    );
    for (let row = 0; row < 3; row++) {
      attitude[3 * row + axis] = turned[row]! / (2 * DELTA);
      velocity[3 * row + axis] = (plus.impulse[row]! - minus.impulse[row]!) / (2 * DELTA);
    }
  }
  return { attitude, velocity };
}

const shifted = (v: Vector3, axis: number, by: number): Vector3 => [
  v[0] + (axis === 0 ? by : 0),
  v[1] + (axis === 1 ? by : 0),
  v[2] + (axis === 2 ? by : 0),
];

describe('the sensitivities are the numerical differences', () => {
  test('to the gyro bias, up to what the middle of a step stands for', () => {
    // A step turns by the mean of R along it, which is shorter across the turn φ by a factor
    // sin(φ/2)/(φ/2) ≥ 1 − φ²/24 than the R in its middle. The attitude sums this over the span.
    const attitudeBound = (SPAN * TURN ** 2) / 24;
    // In the middle of a step the attitude has gone half of it, by R a quarter of the way on
    // average and not by that in the middle: φ/4 · STEP/2 off for every step.
    const velocityBound =
      FORCE * ((SPAN ** 2 * TURN ** 2) / 48 + (SPAN * STEP * TURN) / 8 + SPAN * STEP * TURN ** 2);
    fc.assert(
      fc.property(drawn, (log) => {
        const segment = carried(log);
        const { attitude, velocity } = numerical((axis, by) =>
          carried({ ...log, gyroBias: shifted(log.gyroBias, axis, by) }),
        );
        expect(largestGap(segment.attitudeByGyro, attitude)).toBeLessThan(
          attitudeBound + DIFFERENCE,
        );
        expect(largestGap(segment.velocityByGyro, velocity)).toBeLessThan(
          velocityBound + DIFFERENCE,
        );
      }),
    );
  });

  test('to the attitude at the start, which turns the whole impulse', () => {
    fc.assert(
      fc.property(drawn, (log) => {
        const { velocity } = numerical((axis, by) => {
          const turn = quaternionFromRotationVector(shifted([0, 0, 0], axis, by));
          return carried({ ...log, start: multiplyQuaternions(turn, log.start) });
        });
        // The difference of a turn by ±δ leaves out δ²/6 of the impulse, at most FORCE · SPAN.
        const bound = (DELTA ** 2 / 6) * FORCE * SPAN + DIFFERENCE;
        const [x, y, z] = vectorAt(carried(log).impulse, 0);
        expect(largestGap([0, z, -y, -z, 0, x, y, -x, 0], velocity)).toBeLessThan(bound);
      }),
    );
  });

  test('to the accelerometer bias, exactly', () => {
    fc.assert(
      fc.property(drawn, (log) => {
        const { attitude, velocity } = numerical((axis, by) =>
          carried({ ...log, accelerationBias: shifted(log.accelerationBias, axis, by) }),
        );
        expect(largestGap(carried(log).attitudeByGyro, velocity)).toBeLessThan(DIFFERENCE);
        expect(largestGap(attitude, new Float64Array(9))).toBe(0);
      }),
    );
  });
});

test('two segments one after the other are one segment', () => {
  fc.assert(
    fc.property(drawn, fc.integer({ min: 1, max: STEPS - 1 }), (log, middle) => {
      const whole = carried(log);
      const first = carried(log, 0, middle);
      const second = carried({ ...log, start: quaternionAt(first.end, 0) }, middle, STEPS);
      const sum = (a: Float64Array, b: Float64Array) => a.map((x, i) => x + b[i]!);
      // Products of numbers below 4: STEPS sums of up to 4 terms each.
      const rounding = STEPS * 4 * 4 * Number.EPSILON;
      expect(apart(quaternionAt(whole.end, 0), quaternionAt(second.end, 0))).toBe(0);
      expect(largestGap(whole.impulse, sum(first.impulse, second.impulse))).toBeLessThan(rounding);
      expect(
        largestGap(whole.attitudeByGyro, sum(first.attitudeByGyro, second.attitudeByGyro)),
      ).toBeLessThan(rounding);
      // The attitude error that the first leaves acts on the velocity of the second.
      const [x, y, z] = vectorAt(second.impulse, 0);
      const G = first.attitudeByGyro;
      const carriedOn = [0, 1, 2].flatMap((row) =>
        [0, 1, 2].map((column) => {
          const [tx, ty, tz] = [G[column]!, G[3 + column]!, G[6 + column]!];
          const turned = [ty * z - tz * y, tz * x - tx * z, tx * y - ty * x];
          const i = 3 * row + column;
          return first.velocityByGyro[i]! + second.velocityByGyro[i]! + turned[row]!;
        }),
      );
      expect(largestGap(whole.velocityByGyro, carriedOn)).toBeLessThan(rounding);
      expect(Math.abs(whole.turning - first.turning - second.turning)).toBeLessThan(rounding);
    }),
  );
});

test('without a bias the orientations are those of the integrated rates', () => {
  fc.assert(
    fc.property(drawn, ({ increments, force, start }) => {
      const samples = samplesOf(times, increments, force);
      const path = new Float64Array(4 * times.length);
      const unit = normalizeQuaternion(start);
      const stretch = { from: 0, to: STEPS, states: stateOf(unit), k: 0 };
      carryPath(samples, stretch, newSegment(), path);
      const integrated = integrateRate(times, samples.rate, unit, 'interval');
      for (let k = 0; k <= STEPS; k++) {
        // Two half steps against a whole one: three products of 8 epsilons for each step.
        const bound = k * 24 * Number.EPSILON;
        expect(apart(quaternionAt(path, k), quaternionAt(integrated, k))).toBeLessThanOrEqual(
          bound,
        );
      }
    }),
  );
});

test('the impulse is the same without the sensitivities, over more intervals than are at hand at a time', () => {
  const many = 300;
  const random = Float64Array.from({ length: 3 * many }, (_, i) => Math.sin(1.7 * i) * 0.01);
  const samples = samplesOf(
    Float64Array.from({ length: many + 1 }, (_, k) => k * STEP),
    random,
    random.map((x) => 900 * x),
  );
  const bias = [0.01, -0.02, 0.03];
  const states = stateOf(IDENTITY, [0, 0, 0], bias, bias);
  const stretch = { from: 0, to: many, states, k: 0 };
  const [lean, whole] = [newSegment(), newSegment()];
  carrySegment(samples, stretch, lean);
  propagateSegment(samples, stretch, whole);
  expect(lean.impulse).toEqual(whole.impulse);
  expect(lean.end).toEqual(whole.end);
  const path = new Float64Array(4 * (many + 1));
  carryPath(samples, stretch, lean, path);
  expect(lean.end).toEqual(whole.end);
  expect(path.slice(-4)).toEqual(whole.end);
});

test('at rest the force of gravity adds up to its size times the time', () => {
  const force = Float64Array.from({ length: 3 * STEPS }, (_, i) => (i % 3 === 1 ? 9.81 : 0));
  const still = { increments: new Float64Array(3 * STEPS), force, start: IDENTITY };
  const { impulse, end, turning } = carried({
    ...still,
    gyroBias: [0, 0, 0],
    accelerationBias: [0, 0, 0],
  });
  expect(end).toEqual(Float64Array.of(...IDENTITY));
  expect(turning).toBe(0);
  // A sum of STEPS products.
  expect(largestGap(impulse, [0, 9.81 * SPAN, 0])).toBeLessThan(2 * STEPS * Number.EPSILON);
});

test('a constant spin gathers the square of its rate', () => {
  const increments = Float64Array.from({ length: 3 * STEPS }, (_, i) => [0.01, 0.02, 0.02][i % 3]!);
  const force = new Float64Array(3 * STEPS);
  const none: Vector3 = [0, 0, 0];
  const spin = { increments, force, start: IDENTITY, gyroBias: none, accelerationBias: none };
  // 0.03 rad in 0.01 s is 3 rad/s.
  expect(Math.abs(carried(spin).turning - 9 * SPAN)).toBeLessThan(STEPS * 9 * Number.EPSILON);
});
