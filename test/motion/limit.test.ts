import { describe, expect, test } from 'vitest';
import { readCorrections, toCsv } from '../../src/handoff/csv.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { shrinkToLimit } from '../../src/motion/limit.js';
import {
  alignSigns,
  anglesOfQuaternions,
  angularDistances,
  composeQuaternions,
  invertQuaternions,
  quaternionsFromRotationVectors,
} from '../../src/rotation/arrays.js';
import { refusal } from '../refusal.js';
import { fc } from '../seed.js';
import { rotations } from '../turns.js';

const deg = RADIANS_PER_DEGREE;
const SAMPLE_RATE = 15;

/** Any orientations, any others wanted, and a limit for each from a thousandth of a degree on. */
const cases = fc
  .array(fc.tuple(rotations, rotations, fc.integer({ min: 1, max: 60_000 })), {
    minLength: 2,
    maxLength: 60,
  })
  .map((list) => ({
    measured: alignSigns(Float64Array.from(list.flatMap(([q]) => q))),
    wanted: alignSigns(Float64Array.from(list.flatMap(([, q]) => q))),
    limit: Float64Array.from(list, ([, , most]) => (most / 1000) * deg),
  }));

const correction = (measured: Float64Array, path: Float64Array) =>
  alignSigns(composeQuaternions(invertQuaternions(path), measured));

describe('a path within a limit', () => {
  test('is never further from the measured one than the limit, to the last bit', () => {
    fc.assert(
      fc.property(cases, ({ measured, wanted, limit }) => {
        const { quaternions } = shrinkToLimit(measured, wanted, limit, SAMPLE_RATE);
        const angles = anglesOfQuaternions(correction(measured, quaternions));
        angles.forEach((angle, k) => {
          expect(angle).toBeLessThanOrEqual(limit[k]!);
        });
      }),
    );
  });

  test('nor is it when the corrections went through a file', () => {
    fc.assert(
      fc.property(cases, ({ measured, wanted, limit }) => {
        const { quaternions } = shrinkToLimit(measured, wanted, limit, SAMPLE_RATE);
        const times = limit.map((_, k) => k / SAMPLE_RATE);
        const corrections = { times, quaternions: correction(measured, quaternions) };
        const read = readCorrections(toCsv({ corrections }));
        anglesOfQuaternions(read.quaternions).forEach((angle, k) => {
          expect(angle).toBeLessThanOrEqual(limit[k]!);
        });
      }),
    );
  });

  test('is the wanted one itself where the limit is never felt', () => {
    fc.assert(
      fc.property(cases, ({ measured, wanted }) => {
        const wide = new Float64Array(wanted.length / 4).fill(Math.PI + 1e-8);
        const free = shrinkToLimit(measured, wanted, wide, SAMPLE_RATE);
        expect(free.quaternions).toBe(wanted);
        expect(free.limited).toBe(0);
      }),
    );
  });
});

describe('around a jolt of 12° against a limit of 5°', () => {
  const n = 20 * SAMPLE_RATE;
  const jolt = (k: number) => 12 * deg * Math.exp(-(((k - n / 2) / 6) ** 2)) + 1 * deg;
  const measured = quaternionsFromRotationVectors(new Float64Array(3 * n));
  const wanted = quaternionsFromRotationVectors(
    Float64Array.from({ length: 3 * n }, (_, i) => (i % 3 === 1 ? jolt((i - 1) / 3) : 0)),
  );
  const limit = new Float64Array(n).fill(5 * deg);
  const { quaternions, limited } = shrinkToLimit(measured, wanted, limit, SAMPLE_RATE);
  const shares = angularDistances(measured, quaternions).map((angle, k) => angle / jolt(k));
  const over = [...shares.keys()].filter((k) => jolt(k) > 5 * deg);

  test('the samples that had to give way are counted', () => {
    expect(limited).toBe(over.length);
  });

  test('two seconds away the path is the wanted one', () => {
    // A minimum over 1 s to either side, averaged over as much; 31 weights add up to 1.
    const away = 2 * SAMPLE_RATE;
    shares.forEach((share, k) => {
      if (k >= over[0]! - away && k <= over.at(-1)! + away) return;
      expect(Math.abs(share - 1)).toBeLessThan(100 * Number.EPSILON);
    });
  });

  test('the correction never gives way faster than it does in a second, and is never turned round', () => {
    // The Hann window of 31 samples has no weight above 1/16; shares lie between 5/13 and 1.
    shares.slice(1).forEach((share, k) => {
      expect(share).toBeGreaterThan(0);
      expect(Math.abs(share - shares[k]!)).toBeLessThanOrEqual(1 / 16);
    });
  });
});

test.each([0, -1, Number.NaN])('a limit of %d is refused and its frame named', (most) => {
  const q = quaternionsFromRotationVectors(Float64Array.of(0, 0, 0, 0.1, 0, 0));
  const limit = Float64Array.of(1, most);
  expect(() => shrinkToLimit(q, q, limit, SAMPLE_RATE)).toThrow(
    refusal('argument/invalid', `a limit of ${most} rad`),
  );
});
