import { expect, test } from 'vitest';
import { quaternionAt } from '../../src/rotation/arrays.js';
import { type Corrections, correctionsAt } from '../../src/track/corrections.js';
import { apart } from '../apart.js';
import { turn } from '../turns.js';

const nod = (time: number) => turn([1, 0, 0], 0.02 * time).q;
const corrections: Corrections = {
  times: Float64Array.of(0, 1, 2, 3),
  quaternions: Float64Array.from([0, 1, 2, 3].flatMap((time) => [...nod(time)])),
};

test('corrections at their own times are the stored ones', () => {
  const same = correctionsAt(corrections, Float64Array.of(0, 1, 2, 3));
  expect(same).toBe(corrections.quaternions);
});

test('corrections at other times are interpolated, and held outside the clip', () => {
  const between = correctionsAt(corrections, Float64Array.of(-1, 1.5, 7));
  [0, 1.5, 3].forEach((time, k) => {
    expect(apart(quaternionAt(between, k), nod(time))).toBeLessThan(40 * Number.EPSILON);
  });
});
