import { expect, test } from 'vitest';
import { velocityDeviation } from '../../src/inertial/carriedVelocity.js';
import { PART, STATE_NUMBERS } from '../../src/inertial/motionState.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';

/** States of a pass in which only the velocities, three numbers for each node, are not zero. */
function statesOf(velocities: Float64Array): Float64Array {
  const states = new Float64Array((velocities.length / 3) * STATE_NUMBERS);
  for (let i = 0, k = PART.velocity; i < velocities.length; i += 3, k += STATE_NUMBERS) {
    states.set(velocities.subarray(i, i + 3), k);
  }
  return states;
}

/** So many nodes, evenly over seconds. */
const nodes = (count: number, duration: number) =>
  Float64Array.from({ length: count }, (_, k) => (k * duration) / (count - 1));

test('at first a carried camera is as fast everywhere, and slower the rarer the nodes', () => {
  expect(velocityDeviation(undefined, nodes(3, 2))).toEqual(Float64Array.of(1.4, 1.4, 1.4));
  // Four nodes for each: what each says is worth half as much.
  expect(velocityDeviation(undefined, nodes(5, 1))).toEqual(new Float64Array(5).fill(2.8));
});

/** Mean under a raised cosine over 2 half + 1 places, mirrored at the ends, as it is written. */
function hannMean(values: Float64Array, half: number): Float64Array {
  const n = values.length;
  const mirrored = (k: number) => values[k < 0 ? -k : k < n ? k : 2 * (n - 1) - k]!;
  return values.map((_, k) => {
    let sum = 0;
    for (let j = -half; j <= half; j++) {
      sum += 0.5 * (1 + Math.cos((Math.PI * j) / half)) * mirrored(k + j);
    }
    return sum / half;
  });
}

test('later it follows the horizontal speed of the pass before, over half a minute to either side', () => {
  const component = fc.integer({ min: -300, max: 300 });
  const speeds = fc.array(fc.tuple(component, component, component), {
    minLength: 40,
    maxLength: 90,
  });
  fc.assert(
    fc.property(speeds, fc.integer({ min: 20, max: 200 }), (list, duration) => {
      const count = list.length;
      const velocity = Float64Array.from(list.flat(), (value) => value / 100);
      const found = velocityDeviation(statesOf(velocity), nodes(count, duration));
      // Half a window of 30 s in nodes; never longer than the log.
      const half = Math.min(Math.round((30 * (count - 1)) / duration), count - 1);
      const squares = Float64Array.from(
        { length: count },
        (_, k) => (velocity[3 * k]! ** 2 + velocity[3 * k + 2]! ** 2) / 2,
      );
      const expected = hannMean(squares, half).map(
        (mean) =>
          Math.min(Math.max(1.3 * Math.sqrt(mean), 0.15), 20) * Math.sqrt((count - 1) / duration),
      );
      // Running sums of 180 squares below 9 round by 180² · 9 epsilons; a root of 0.013 or more
      // magnifies that by 1.3/(2 · 0.11), and 4.5 nodes a second by their root.
      expect(largestGap(found, expected)).toBeLessThan(180 ** 2 * 9 * 120 * Number.EPSILON);
    }),
  );
});

test('it is never firmer than 0.15 m/s nor softer than 20 m/s', () => {
  const at = (speed: number) =>
    velocityDeviation(statesOf(new Float64Array(60).fill(speed)), nodes(20, 19));
  expect(Math.max(...at(0.1))).toBe(0.15);
  expect(Math.min(...at(16))).toBe(20);
});
