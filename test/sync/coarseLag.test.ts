import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../bench/accuracy/random.js';
import { bandNoise } from '../../bench/accuracy/spectralNoise.js';
import { rotateVectors } from '../../src/rotation/arrays.js';
import { matrixFromQuaternion } from '../../src/rotation/matrix.js';
import { invertQuaternion, type Quaternion } from '../../src/rotation/quaternion.js';
import { COARSE_SAMPLE_RATE, findLags, inBand } from '../../src/sync/coarseLag.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';
import { rotations } from '../turns.js';

const random = seededRandom('rates among the moonflowers');
const BAND = { lowHz: 0.5, highHz: 4, order: 4 };
const LENGTH = 120 * COARSE_SAMPLE_RATE;
const AXES = [0, 1, 2].map(() => bandNoise(random, LENGTH, COARSE_SAMPLE_RATE, BAND, 0.2));
/** Two minutes of rates about the camera's axes, rad/s. */
const RATES = Float64Array.from({ length: 3 * LENGTH }, (_, i) => AXES[i % 3]![Math.floor(i / 3)]!);
const CLIP = 30 * COARSE_SAMPLE_RATE;

const clipFrom = (row: number) => inBand(RATES.subarray(3 * row, 3 * (row + CLIP)));
const whole = { count: 6, overlap: CLIP };
const inSensor = (axes: Quaternion) => inBand(rotateVectors(invertQuaternion(axes), RATES));

describe('the coarse lag', () => {
  test('is found to the sample, with the axes, wherever the clip lies and however the sensor', () => {
    const rows = fc.integer({ min: 0, max: LENGTH - CLIP });
    fc.assert(
      fc.property(rows, rotations, (row, axes) => {
        const [best] = findLags(clipFrom(row), inSensor(axes), whole);
        // The parabola through three samples of a peak is off by a few hundredths of one.
        expect(Math.abs(best!.lag - row)).toBeLessThan(0.1);
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
    // The same motion twice more, fainter.
    const echoes = RATES.map(
      (value, i) => value + 0.9 * (RATES[i - 3 * 500] ?? 0) + 0.8 * (RATES[i - 3 * 1100] ?? 0),
    );
    const found = findLags(clipFrom(200), inBand(echoes), whole);
    expect(found.slice(0, 3).map(({ lag }) => Math.round(lag))).toEqual([200, 700, 1300]);
    const weights = found.map(({ weight }) => weight);
    expect(weights).toEqual([...weights].sort((a, b) => b - a));
    found.forEach((one, i) => {
      for (const other of found.slice(0, i)) {
        expect(Math.abs(one.lag - other.lag)).toBeGreaterThan(0.12 * COARSE_SAMPLE_RATE);
      }
    });
  });

  test('rates seen in a mirror are never taken for a turn of the axes', () => {
    const mirrored = RATES.map((value, i) => (i % 3 === 0 ? -value : value));
    const [best] = findLags(clipFrom(200), inBand(mirrored), { ...whole, count: 1 });
    // Three axes of equal power: a mirror explains 1 + 1 − 1 of three, its ends and chance aside.
    expect(best!.score).toBeLessThan(0.45);
  });

  test('a clip as long as the log has one lag at which both share all of it', () => {
    const [found, ...others] = findLags(clipFrom(0), clipFrom(0), whole);
    expect(found!.lag).toBe(0);
    expect(others).toEqual([]);
  });

  test('a log shorter than that has none', () => {
    expect(findLags(clipFrom(0), clipFrom(0).subarray(3), whole)).toEqual([]);
  });

  test('a log that covers a part of the clip is found where it lies', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: CLIP / 2 }), rotations, (row, axes) => {
        const part = rotateVectors(
          invertQuaternion(axes),
          RATES.subarray(3 * (1000 + row), 3 * (1000 + row + CLIP / 2)),
        );
        const [best] = findLags(clipFrom(1000), inBand(part), { count: 6, overlap: CLIP / 4 });
        expect(Math.abs(best!.lag + row)).toBeLessThan(0.1);
      }),
      { numRuns: 10 },
    );
  });

  test('only lags between the given ones are looked at', () => {
    const found = findLags(clipFrom(200), inBand(RATES), { ...whole, from: 900, to: 1000 });
    expect(found.length).toBeGreaterThan(0);
    for (const { lag } of found) {
      expect(lag).toBeGreaterThan(899);
      expect(lag).toBeLessThan(1001);
    }
  });

  test('what nothing moves has no lag', () => {
    expect(
      findLags(new Float64Array(300), new Float64Array(900), { count: 6, overlap: 50 }),
    ).toEqual([]);
  });
});
