import { expect, test } from 'vitest';
import { velocityDeviation } from '../../src/inertial/carriedVelocity.js';
import type { SmoothedNodes } from '../../src/inertial/orientationSmoother.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';

const NODES_PER_SECOND = 20;

test('at first a carried camera is as fast everywhere, and slower the rarer the nodes', () => {
  expect(velocityDeviation(undefined, 3, 1, 1)).toEqual(Float64Array.of(1.4, 1.4, 1.4));
  expect(velocityDeviation(undefined, 2, 1, 4)).toEqual(Float64Array.of(5.6, 5.6));
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
      const found = velocityDeviation(
        { velocity } as SmoothedNodes,
        count,
        duration,
        NODES_PER_SECOND,
      );
      // Half a window of 30 s in nodes; never longer than the log.
      const half = Math.min(Math.round((30 * (count - 1)) / duration), count - 1);
      const squares = Float64Array.from(
        { length: count },
        (_, k) => (velocity[3 * k]! ** 2 + velocity[3 * k + 2]! ** 2) / 2,
      );
      const expected = hannMean(squares, half).map(
        (mean) => Math.min(Math.max(1.3 * Math.sqrt(mean), 0.15), 20) * NODES_PER_SECOND,
      );
      // Running sums of 180 squares below 9 round by 180² · 9 epsilons; a root of 0.013 or more
      // magnifies that by 1.3 · 20/(2 · 0.11).
      expect(largestGap(found, expected)).toBeLessThan(180 ** 2 * 9 * 120 * Number.EPSILON);
    }),
  );
});

test('it is never firmer than 0.15 m/s nor softer than 20 m/s', () => {
  const at = (speed: number) =>
    velocityDeviation({ velocity: new Float64Array(60).fill(speed) } as SmoothedNodes, 20, 1, 1);
  expect(Math.max(...at(0.1))).toBe(0.15);
  expect(Math.min(...at(16))).toBe(20);
});
