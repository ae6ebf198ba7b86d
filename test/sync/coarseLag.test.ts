import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../bench/accuracy/random.js';
import { bandNoise } from '../../bench/accuracy/spectralNoise.js';
import { rotateVectors } from '../../src/rotation/arrays.js';
import { matrixFromQuaternion } from '../../src/rotation/matrix.js';
import { invertQuaternion, type Quaternion } from '../../src/rotation/quaternion.js';
import { COARSE_RATE, findLags } from '../../src/sync/coarseLag.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';
import { rotations } from '../turns.js';

const random = seededRandom('rates among the moonflowers');
const BAND = { lowHz: 0.5, highHz: 4, order: 4 };
const LENGTH = 120 * COARSE_RATE;
const AXES = [0, 1, 2].map(() => bandNoise(random, LENGTH, COARSE_RATE, BAND, 0.2));
/** Two minutes of rates about the camera's axes, rad/s. */
const RATES = Float64Array.from({ length: 3 * LENGTH }, (_, i) => AXES[i % 3]![Math.floor(i / 3)]!);
const CLIP = 30 * COARSE_RATE;

const clipFrom = (row: number) => RATES.subarray(3 * row, 3 * (row + CLIP));
const inSensor = (axes: Quaternion) => rotateVectors(invertQuaternion(axes), RATES);

describe('the coarse lag', () => {
  test('is found to the sample, with the axes, wherever the clip lies and however the sensor', () => {
    const rows = fc.integer({ min: 0, max: LENGTH - CLIP });
    fc.assert(
      fc.property(rows, rotations, (row, axes) => {
        const [best] = findLags(clipFrom(row), inSensor(axes), 7, 6);
        expect(best!.lag).toBeCloseTo(7 + row / COARSE_RATE, 9);
        // Only the cut ends of the clip differ: the filter forgets them in half a second (0.3 Hz)
        // of thirty on either side, where half of the signal is off.
        expect(largestGap(best!.axes, matrixFromQuaternion(axes))).toBeLessThan(1 / 30);
        expect(best!.score).toBeGreaterThan(1 - 1 / 30);
        expect(best!.score).toBeLessThan(1 + 1e-9);
      }),
      { numRuns: 10 },
    );
  });

  test('the candidates come best first and are different optima', () => {
    const found = findLags(clipFrom(200), RATES, 0, 6);
    expect(found).toHaveLength(6);
    const scores = found.map(({ score }) => score);
    expect(scores).toEqual([...scores].sort((a, b) => b - a));
    found.forEach((one, i) => {
      for (const other of found.slice(0, i)) {
        expect(Math.abs(one.lag - other.lag)).toBeGreaterThan(0.12);
      }
    });
  });

  test('rates seen in a mirror are never taken for a turn of the axes', () => {
    const mirrored = RATES.map((value, i) => (i % 3 === 0 ? -value : value));
    const [best] = findLags(clipFrom(200), mirrored, 0, 1);
    // Three axes of equal power: a mirror explains 1 + 1 − 1 of three, its ends and chance aside.
    expect(best!.score).toBeLessThan(0.45);
  });

  test('a log shorter than the clip has no lag', () => {
    expect(findLags(clipFrom(0), clipFrom(0).subarray(3), 0, 6)).toEqual([]);
  });

  test('a clip as long as the log has one', () => {
    expect(findLags(clipFrom(0), clipFrom(0), 2, 6).map(({ lag }) => lag)).toEqual([2]);
  });
});
