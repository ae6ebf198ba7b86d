import { expect, test } from 'vitest';
import { framesOf, orientationsOf } from '../../src/handoff/poses.js';
import { quaternionAt } from '../../src/rotation/arrays.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';
import { anyResults, matrixOf, product, resultOf } from './results.js';

test('the measured motion is S K, the others are as the result holds them', () => {
  fc.assert(
    fc.property(anyResults, (parts) => {
      const result = resultOf(parts);
      expect(orientationsOf(result, 'intended')).toBe(result.intended.quaternions);
      expect(orientationsOf(result, 'correction')).toBe(result.corrections.quaternions);
      const measured = orientationsOf(result, 'measured');
      parts.intended.forEach((s, k) => {
        const wanted = product(matrixOf(s), matrixOf(parts.corrections[k]!)).flat();
        // One product of four terms each way: some ten roundings.
        const found = matrixOf(quaternionAt(measured, k)).flat();
        expect(largestGap(found, wanted)).toBeLessThan(20 * Number.EPSILON);
      });
      for (let i = 4; i < measured.length; i += 4) {
        const dot = [0, 1, 2, 3].reduce(
          (sum, c) => sum + measured[i + c]! * measured[i - 4 + c]!,
          0,
        );
        expect(dot).toBeGreaterThanOrEqual(0);
      }
    }),
  );
});

test('frames without numbers are counted from 0', () => {
  const result = resultOf({
    intended: [
      [0, 0, 0, 1],
      [0, 0, 0, 1],
    ],
    corrections: [
      [0, 0, 0, 1],
      [0, 0, 0, 1],
    ],
  });
  expect(framesOf(result)).toEqual(Int32Array.of(40, 41));
  const { frames: _, ...corrections } = result.corrections;
  expect(framesOf({ corrections })).toEqual(Int32Array.of(0, 1));
});
