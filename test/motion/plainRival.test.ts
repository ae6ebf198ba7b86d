import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { splineFilter } from '../../src/motion/classicFilters.js';
import { plainIsCalmer } from '../../src/motion/plainRival.js';
import { SAMPLE_RATE } from './fading.js';

const deg = RADIANS_PER_DEGREE;
const COUNT = 60 * SAMPLE_RATE;
/** Seconds of the shortest move. */
const SHORTEST = 2;
const still = new Float64Array(COUNT);
const everywhere = new Float64Array(COUNT).fill(1);
const closed = new Float64Array(COUNT).fill(1 / SHORTEST);

const swing = (degrees: number, frequency: number) =>
  Float64Array.from(
    { length: COUNT },
    (_, k) => degrees * deg * Math.sin((2 * Math.PI * frequency * k) / SAMPLE_RATE),
  );
const alone = (axis: 'heading' | 'tilt', signal: Float64Array, tilt = 0) => ({
  heading: still,
  tilt: still.map(() => tilt),
  roll: still,
  [axis]: axis === 'tilt' ? signal.map((x) => x + tilt) : signal,
});
const closedAll = { heading: closed, tilt: closed, roll: closed };
/** 1 or 0 where a weight is that but for the rounding of a pooled mean of 61 samples. */
const decided = (weights: Float64Array) =>
  weights.map((weight) =>
    Math.abs(weight - Math.round(weight)) < 1e-13 ? Math.round(weight) : weight,
  );
const calmer = (axis: 'heading' | 'tilt', measured: Float64Array, path: Float64Array, tilt = 0) =>
  decided(
    plainIsCalmer(
      alone(axis, measured, tilt),
      alone(axis, path, tilt),
      closedAll,
      SAMPLE_RATE,
      SHORTEST,
    ),
  );

describe.each(['heading', 'tilt'] as const)('in %s', (axis) => {
  /** Sway and a bob of which splines leave more than anybody fails to see. */
  const walk = swing(1, 0.3).map((x, k) => x + swing(8, 0.9)[k]!);

  test('a path without shake is calm enough', () => {
    expect(calmer(axis, walk, still)).toEqual(still);
    // Shake is faster than 0.6 Hz; four poles on either way leave (1/6)^8 of what takes ten seconds.
    expect(calmer(axis, walk, swing(1, 0.1))).toEqual(still);
  });

  test('a path that shakes as the camera did is not', () => {
    expect(calmer(axis, walk, walk)).toEqual(everywhere);
  });

  test('no plain spline is clearly calmer than itself', () => {
    for (const cutoff of [0.5, 0.45, 0.4]) {
      expect(calmer(axis, walk, splineFilter(walk, SAMPLE_RATE, cutoff))).toEqual(everywhere);
    }
  });

  test('a path that only lost its bob is calmer than any plain spline', () => {
    // At 0.3 Hz a spline that takes off 0.9 Hz must move the view along; the sway itself is seen to
    // shake, by 6° · 2π · 0.3 Hz · (1/(1 + 2⁴))² = 0.04 °/s.
    const sway = swing(6, 0.3);
    const bobbing = sway.map((x, k) => x + swing(8, 0.9)[k]!);
    // Near the ends splines keep more of either.
    expect(calmer(axis, bobbing, sway)[COUNT / 2]).toBe(0);
    expect(calmer(axis, sway, sway)[COUNT / 2]).toBe(1);
  });

  test('shake below 0.02 °/s is not seen by anybody', () => {
    // Root mean square of the speed of a swing: 2πfA/√2; the filter keeps 0.92 of it at 1.1 Hz.
    const amplitude = (0.02 * Math.SQRT2) / (2 * Math.PI * 1.1);
    expect(calmer(axis, still, swing(0.9 * amplitude, 1.1))).toEqual(still);
    expect(calmer(axis, still, swing(1.3 * amplitude, 1.1))).toEqual(everywhere);
  });
});

test('a heading counts by the cosine of the tilt, since the pole stands still', () => {
  const amplitude = (1.3 * 0.02 * Math.SQRT2) / (2 * Math.PI * 1.1);
  const shaken = swing(2 * amplitude, 1.1);
  expect(calmer('heading', still, shaken, 40 * deg)).toEqual(everywhere);
  expect(calmer('heading', still, shaken, 70 * deg)).toEqual(still);
  expect(calmer('tilt', still, swing(amplitude, 1.1), 70 * deg)).toEqual(everywhere);
});

describe.each(['heading', 'tilt'] as const)(
  'within two seconds of where the %s is open',
  (axis) => {
    const from = 20 * SAMPLE_RATE;
    const to = 30 * SAMPLE_RATE;
    const open = { ...closedAll, [axis]: closed.map((f, k) => (k >= from && k < to ? 2 * f : f)) };
    /** Still but for one swing of 2 Hz at a time. */
    const burst = (time: number) =>
      swing(1, 2).map((x, k) => x * Math.exp(-(((k / SAMPLE_RATE - time) / 0.25) ** 2)));
    const compared = (path: Float64Array) =>
      plainIsCalmer(alone(axis, still), alone(axis, path), open, SAMPLE_RATE, SHORTEST);

    test('shake belongs to the move', () => {
      for (const time of [19.5, 25, 30.5]) expect(compared(burst(time))).toEqual(still);
    });

    test('and beyond it does not', () => {
      for (const time of [16.5, 33.5]) expect(compared(burst(time))).not.toEqual(still);
    });
  },
);

test('a window of forty seconds decides, and the choice fades over four', () => {
  // Shake for the first second only: half of the window reaches it from 20 s, less what is invisible.
  const path = swing(1, 2).map((x, k) => (k < SAMPLE_RATE ? x : 0));
  const weights = plainIsCalmer(
    alone('tilt', still),
    alone('tilt', path),
    closedAll,
    SAMPLE_RATE,
    SHORTEST,
  );
  expect(weights.subarray(0, 15 * SAMPLE_RATE).every((weight) => weight > 1 - 1e-13)).toBe(true);
  expect(weights.subarray(24 * SAMPLE_RATE).every((weight) => weight < 1e-13)).toBe(true);
});
