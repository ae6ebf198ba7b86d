import { describe, expect, test } from 'vitest';
import { quaternionAt, vectorAt } from '../../src/rotation/arrays.js';
import {
  IDENTITY,
  multiplyQuaternions,
  normalizeQuaternion,
  type Quaternion,
} from '../../src/rotation/quaternion.js';
import { quaternionFromRotationVector } from '../../src/rotation/rotationVector.js';
import { integrateRate, rotationIncrements } from '../../src/track/integrate.js';
import { apart } from '../apart.js';
import { PRODUCT } from '../laws.js';
import { fc } from '../seed.js';
import { rotations } from '../turns.js';

const EPSILON = Number.EPSILON;

/** Rates of a walk through the night-blooming beds, up to `most` rad/s, at 100 rows per second. */
function walk(rows: number, most: number): { times: Float64Array; rate: Float64Array } {
  const waves = [2.1, 3.3, 1.7];
  return {
    times: Float64Array.from({ length: rows }, (_, k) => k / 100),
    rate: Float64Array.from(
      { length: 3 * rows },
      (_, i) => (most / 2) * Math.sin(waves[i % 3]! * Math.floor(i / 3) * 0.01 + i),
    ),
  };
}

describe.each(['instant', 'interval'] as const)(
  'integrateRate, rows that stand for an %s',
  (of) => {
    // 2, 600 and 1025 rows lie within one block of increments, in two and at the edge of a third;
    // 3 rad/s stays within the power series, 300 rad/s turns by up to 2.6 rad a step.
    test.each([
      [2, 3],
      [600, 3],
      [1025, 3],
      [1026, 300],
    ])('%d rows of up to %d rad/s are the product of single rotations', (rows, most) => {
      const { times, rate } = walk(rows, most);
      const steps = rotationIncrements(times, rate, of);
      fc.assert(
        fc.property(rotations, (start) => {
          const path = integrateRate(times, rate, start, of);
          let expected: Quaternion = start;
          for (let k = 0; k < rows; k++) {
            if (k > 0) {
              const step = quaternionFromRotationVector(vectorAt(steps, k - 1));
              expected = normalizeQuaternion(multiplyQuaternions(expected, step));
            }
            const q = quaternionAt(path, k);
            // A product and a norm on either side of every step; the steps are the same numbers.
            expect(apart(q, expected)).toBeLessThanOrEqual((k + 1) * 2 * (PRODUCT + 4) * EPSILON);
            expect(Math.abs(Math.hypot(...q) - 1)).toBeLessThan(3 * EPSILON);
          }
        }),
        { numRuns: 5 },
      );
    });

    test('the track starts with w ≥ 0, neighbours lie within 90°, and no zero is negative', () => {
      // A step by more than 180° has a negative real part.
      const times = Float64Array.of(0, 1, 2, 3);
      const rate = Float64Array.from({ length: 12 }, (_, i) => (i % 3 === 1 ? 4 : 0));
      fc.assert(
        fc.property(rotations, (start) => {
          const path = integrateRate(times, rate, start, of);
          expect(path[3]).toBeGreaterThanOrEqual(0);
          expect(path.some((component) => Object.is(component, -0))).toBe(false);
          for (let i = 4; i < path.length; i += 4) {
            const dot = [0, 1, 2, 3].reduce((sum, c) => sum + path[i + c]! * path[i - 4 + c]!, 0);
            expect(dot).toBeGreaterThanOrEqual(0);
          }
        }),
      );
    });

    test('without a start it starts at the identity, and without a rate it stays there', () => {
      const path = integrateRate(Float64Array.of(0, 1, 2), new Float64Array(9), undefined, of);
      for (let k = 0; k < 3; k++) expect(quaternionAt(path, k)).toEqual(IDENTITY);
    });
  },
);
