import { describe, expect, test } from 'vitest';
import { correctState, errorBetween, meanOf, stateOf } from '../../src/inertial/motionState.js';
import { rotateVector, type Vector3 } from '../../src/rotation/quaternion.js';
import { apart, largestGap } from '../apart.js';
import { fc } from '../seed.js';
import { rotations, vectors } from '../turns.js';

const states = fc
  .tuple(rotations, vectors, vectors, vectors)
  .map(([q, velocity, gyroBias, accelerationBias]) =>
    stateOf(q, velocity, gyroBias, accelerationBias),
  );
const two = (a: Float64Array, b: Float64Array) => Float64Array.from([...a, ...b]);
const orientationOf = (state: Float64Array) =>
  [state[0]!, state[1]!, state[2]!, state[3]!] as const;

/** A vector turned about an axis, by Rodrigues' formula: no quaternion enters. */
function turned(v: Vector3, turn: Vector3): Vector3 {
  const angle = Math.hypot(...turn);
  if (angle === 0) return v;
  const [x, y, z] = turn.map((t) => t / angle) as [number, number, number];
  const cross = [y * v[2] - z * v[1], z * v[0] - x * v[2], x * v[1] - y * v[0]] as const;
  const along = (x * v[0] + y * v[1] + z * v[2]) * (1 - Math.cos(angle));
  return [x, y, z].map(
    (a, i) => v[i]! * Math.cos(angle) + cross[i]! * Math.sin(angle) + a * along,
  ) as unknown as Vector3;
}

describe('the error of a state', () => {
  test('turns it in the world, after its orientation, and adds to the rest', () => {
    fc.assert(
      fc.property(states, vectors, vectors, vectors, vectors, vectors, (state, ...drawn) => {
        const [seen, ...errors] = drawn;
        const corrected = two(state, state);
        correctState(corrected, 1, Float64Array.from(errors.flat()));
        expect(corrected.slice(0, 13)).toEqual(state);
        const inWorld = rotateVector(orientationOf(state), seen);
        const found = rotateVector(orientationOf(corrected.slice(13)), seen);
        // Some thirty products of numbers below 4.
        expect(largestGap(found, turned(inWorld, errors[0]!))).toBeLessThan(120 * Number.EPSILON);
        const rest = [...errors[1]!, ...errors[2]!, ...errors[3]!];
        expect([...corrected.slice(17)]).toEqual(rest.map((error, i) => state[4 + i]! + error));
      }),
    );
  });

  test('between two states takes the one to the other', () => {
    fc.assert(
      fc.property(states, states, (from, to) => {
        const error = new Float64Array(12);
        errorBetween(two(from, from), two(to, to), 1, error);
        // The shortest turn, half a turn at most.
        expect(Math.hypot(error[0]!, error[1]!, error[2]!)).toBeLessThan(Math.PI + 1e-12);
        const found = from.slice();
        correctState(found, 0, error);
        // A logarithm and an exponential of turns up to π.
        expect(apart(orientationOf(found), orientationOf(to))).toBeLessThan(100 * Number.EPSILON);
        expect(largestGap(found.slice(4), to.slice(4))).toBeLessThan(4 * Number.EPSILON);
      }),
    );
  });

  test('of a sensor over all states is their mean', () => {
    const all = two(
      stateOf([0, 0, 0, 1], [9, 9, 9], [1, 2, 3], [4, 5, 6]),
      stateOf([0, 0, 0, 1], [9, 9, 9], [3, 6, 9], [0, 1, 2]),
    );
    expect(meanOf(all, 'gyroBias')).toEqual([2, 4, 6]);
    expect(meanOf(all, 'accelerationBias')).toEqual([2, 3, 4]);
  });
});
