import { describe, expect, test } from 'vitest';
import { AS_LOGGED, type LogRows, loggedMotion, vectorsAt } from '../../src/sync/loggedMotion.js';

const PER_SECOND = 200;
const times = Float64Array.from({ length: 10 * PER_SECOND }, (_, k) => k / PER_SECOND);
/** rad/s of a turn about y, and how fast it swings, rad/s. */
const SWING = 2 * Math.PI * 3;
const rows: LogRows = {
  times,
  rate: Float64Array.from({ length: 3 * times.length }, (_, i) =>
    i % 3 === 1 ? Math.sin(SWING * times[Math.floor(i / 3)]!) : 0,
  ),
  interval: 1 / PER_SECOND,
};
const smoothedBy = (smoothing: number) => loggedMotion(rows, { ...AS_LOGGED, smoothing });
/** Frames away from the ends, where the bell is whole. */
const inner = (values: Float64Array) => values.subarray(3 * PER_SECOND, 3 * 9 * PER_SECOND);
const largest = (values: Float64Array) => values.reduce((a, b) => Math.max(a, Math.abs(b)), 0);

describe('the motion that a log saw', () => {
  test('under a bell swings less, as the transform of the bell says', () => {
    // Deviations of 0.3 to 6 rows; three values stand for the bells below half a row.
    for (const deviation of [0.0015, 0.004, 0.01, 0.03]) {
      const share = Math.exp(-0.5 * (SWING * deviation) ** 2);
      const found = largest(inner(smoothedBy(deviation ** 2).rate)) / largest(inner(rows.rate));
      // Three values agree to fourth order; a bell of four deviations lacks 6e-5.
      const step = SWING / PER_SECOND;
      expect(Math.abs(found / share - 1)).toBeLessThan(Math.max(step ** 4 / 8, 1e-4));
    }
  });

  test('is sharp without a bell; a variance below zero is none', () => {
    const sharp = smoothedBy(0);
    expect(sharp.rate).toEqual(rows.rate);
    for (const variance of [-1e-12, -1e-6, -1e-3]) {
      const { rate, quaternions } = smoothedBy(variance);
      expect(rate).toEqual(sharp.rate);
      expect(quaternions).toEqual(sharp.quaternions);
    }
  });

  test('has its gain before its constant error', () => {
    const { rate } = loggedMotion(rows, { gain: [1, 2, 1], bias: [0.5, 0.25, 0], smoothing: 0 });
    const of = (k: number) => [...rate.subarray(3 * k, 3 * k + 3)];
    expect(of(33)).toEqual([-0.5, 2 * rows.rate[3 * 33 + 1]! - 0.25, 0]);
  });
});

test('vectors between rows lie on straight lines, however uneven the rows, and are held at the ends', () => {
  const uneven = Float64Array.from(
    { length: 400 },
    (_, k) => k + 0.8 * Math.sin(k) + (k > 200 ? 90 : 0),
  );
  const vectors = Float64Array.from({ length: 1200 }, (_, i) => Math.sin(i * i));
  const at = Float64Array.from({ length: 700 }, (_, m) => -5 + 0.73 * m);
  const found = vectorsAt(uneven, vectors, at, 0.25);
  at.forEach((moment, m) => {
    const time = Math.min(Math.max(moment + 0.25, uneven[0]!), uneven[399]!);
    const k = Math.min(uneven.filter((row) => row <= time).length - 1, 398);
    const share = (time - uneven[k]!) / (uneven[k + 1]! - uneven[k]!);
    for (let axis = 0; axis < 3; axis++) {
      const [a, b] = [vectors[3 * k + axis]!, vectors[3 * k + 3 + axis]!];
      expect(found[3 * m + axis]).toBeCloseTo((1 - share) * a + share * b, 12);
    }
  });
});
