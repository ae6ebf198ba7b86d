import { describe, expect, test } from 'vitest';
import { clippedStretches } from '../../src/inertial/clippedStretches.js';
import { valueRanges } from '../../src/inertial/valueRanges.js';
import { fc } from '../seed.js';

/** More vectors than are looked at at a time, with coarse values that are often equal. */
const MANY = 2500;
const coarse = (seed: number, most: number) =>
  Float64Array.from({ length: 3 * MANY }, (_, i) =>
    Math.max(
      -most,
      Math.min(most, Math.round(40 * Math.sin(seed + 0.11 * Math.floor(i / 3) * (1 + (i % 3))))),
    ),
  );
const times = Float64Array.from({ length: MANY }, (_, k) => k / 100);

describe('over more values than are looked at at a time', () => {
  test('ranges are those of each axis as a whole', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 1000 }), (seed) => {
        const vectors = coarse(seed, 1000).map((x) => x / 7);
        valueRanges(vectors).forEach((range, axis) => {
          const own = [...vectors].filter((_, i) => i % 3 === axis);
          const steps = own.slice(1).map((x, k) => Math.abs(x - own[k]!));
          expect(range).toEqual({
            top: Math.max(0, ...own),
            bottom: Math.min(0, ...own),
            step: Math.min(...steps.filter((step) => step > 0)),
          });
        });
      }),
      { numRuns: 20 },
    );
  });

  test('a step is seen wherever it is', () => {
    for (const place of [1, 1023, 1024, 1025, MANY - 1]) {
      const rising = Float64Array.from({ length: 3 * MANY }, (_, i) => {
        const k = Math.floor(i / 3);
        return 10 * k - (k >= place ? 9 : 0);
      });
      expect(valueRanges(rising).map(({ step }) => step)).toEqual([1, 1, 1]);
    }
  });

  test('flat tops are the samples that belong to three equal ones at an end', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 1000 }), (seed) => {
        const vectors = coarse(seed, 25);
        const at = (k: number, axis: number) => vectors[3 * k + axis];
        const flat = Array.from(times, (_, k) =>
          [0, 1, 2].some((axis) =>
            [k - 2, k - 1, k].some(
              (first) =>
                Math.abs(at(first, axis) ?? 0) === 25 &&
                at(first, axis) === at(first + 1, axis) &&
                at(first, axis) === at(first + 2, axis),
            ),
          ),
        );
        const spans = clippedStretches(times, vectors, valueRanges(vectors));
        const inside = Array.from(times, (time) =>
          spans.some(({ from, to }) => time >= from && time <= to),
        );
        expect(flat.includes(true)).toBe(true);
        expect(inside).toEqual(flat);
      }),
      { numRuns: 20 },
    );
  });
});
