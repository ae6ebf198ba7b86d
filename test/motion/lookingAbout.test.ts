import { expect, test } from 'vitest';
import { makeWalk, type WalkKind } from '../../bench/accuracy/walks.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { lookingAbout, lookingAboutTogether } from '../../src/motion/lookingAbout.js';
import { largestGap } from '../apart.js';
import { fading, lastWhere, midpointError, SAMPLE_RATE, windowOf } from './fading.js';

const COUNT = 40 * SAMPLE_RATE;

/**
 * A gaze that swings at the typical frequency of sway, 0.3 Hz, with this root mean square. The level
 * read off it is 0.78 of that: the path keeps 0.955 at 0.3 Hz, and the window of 1.5 s leaves 0.575
 * of the beat in the squares, whose lower 30 % are 1 − 0.575 × 0.588.
 */
const swing = (size: number, frequency = 0.3) =>
  Float64Array.from(
    { length: COUNT },
    (_, k) =>
      Math.SQRT2 *
      size *
      RADIANS_PER_DEGREE *
      Math.sin((2 * Math.PI * frequency * k) / SAMPLE_RATE),
  );
const nowhere = new Float64Array(COUNT);
const share = (weights: Float64Array) => weights.reduce((sum, w) => sum + w, 0) / weights.length;

test('a gaze that swings by 2° is looking about from end to end', () => {
  // A pooled mean of 23 ones.
  for (const weight of lookingAbout(swing(2), SAMPLE_RATE)) {
    expect(Math.abs(weight - 1)).toBeLessThan(23 * Number.EPSILON);
  }
});

test('a body that sways by 0.7° does not look about', () => {
  expect(lookingAbout(swing(0.7), SAMPLE_RATE)).toEqual(nowhere);
});

/**
 * The least root mean square, degrees, at which a swing is looking about: squared acceleration beats
 * at twice the frequency f; a Hann window of W s leaves sin(πx)/(πx)/(1 − x²) of that, x = 2fW; three
 * tenths of the time the beat is more than cos(0.3π) of itself below the mean; a level of 1.05° counts.
 */
const leastSwing = (frequency: number, seconds: number) => {
  const x = 2 * frequency * windowOf(seconds);
  const left = Math.sin(Math.PI * x) / (Math.PI * x) / (1 - x * x);
  const path = 1 / (1 + (frequency / 0.5) ** 6);
  // Acceleration in that of a sway of one degree at 0.3 Hz.
  const acceleration = (frequency / 0.3) ** 2 * path;
  return 1.05 / (acceleration * Math.sqrt(1 - left * Math.cos(0.3 * Math.PI)));
};

test.each([0.25, 0.3, 0.35])(
  'a gaze that swings at %d Hz looks about from where its acceleration over 1.5 s is that of no sway',
  (frequency) => {
    const least = leastSwing(frequency, 1.5);
    // Windows of 16 s hold 8 beats and a part: up to one in sixteen of the values stands elsewhere,
    // which moves the lower 30 % by 0.06 π of the beat's phase: 5 % of the level.
    expect(lookingAbout(swing(0.95 * least, frequency), SAMPLE_RATE)).toEqual(nowhere);
    expect(share(lookingAbout(swing(1.05 * least, frequency), SAMPLE_RATE))).toBeGreaterThan(0.99);
  },
);

test('looking about ends as smoothly as a Hann window of 1.5 s', () => {
  const half = swing(3).map((x, k) => (k < COUNT / 2 ? x : 0));
  const weights = lookingAbout(half, SAMPLE_RATE);
  const last = lastWhere(weights, (weight) => weight >= 0.5);
  // The step lies half a sample after the last weight above a half.
  const expected = weights.map((_, k) => fading((k - last - 0.5) / SAMPLE_RATE, 1.5));
  expect(largestGap(weights, expected)).toBeLessThan(midpointError(1.5));
});

test('a gaze that rests in the second half looks about in the first', () => {
  const half = swing(3).map((x, k) => (k < COUNT / 2 ? x : 0));
  const weights = lookingAbout(half, SAMPLE_RATE);
  // The calm third of a window of 16 s around a sample: 4.8 s of rest, or of unrest, decide.
  const reach = (0.7 - 0.5) * 16 + 1.5;
  weights.forEach((weight, k) => {
    const after = (k - COUNT / 2) / SAMPLE_RATE;
    if (after < -reach - 1) expect(weight).toBeGreaterThan(0.99);
    if (after > reach + 1) expect(weight).toBeLessThan(0.01);
  });
});

test('one turn in a calm clip is a move, not looking about', () => {
  const corner = Float64Array.from({ length: COUNT }, (_, k) =>
    Math.tanh((k - COUNT / 2) / (0.5 * SAMPLE_RATE)),
  );
  expect(lookingAbout(corner, SAMPLE_RATE)).toEqual(nowhere);
});

test('a clip below six seconds is too short to tell', () => {
  const short = swing(9).subarray(0, 6 * SAMPLE_RATE - 1);
  expect(lookingAbout(short, SAMPLE_RATE)).toEqual(new Float64Array(short.length));
});

test('a smaller swing of one axis counts where the other looks about', () => {
  expect(lookingAbout(swing(0.8), SAMPLE_RATE)).toEqual(nowhere);
  for (const [heading, tilt] of [
    [2, 0.8],
    [0.8, 2],
  ] as const) {
    const together = lookingAboutTogether(swing(heading), swing(tilt, 0.31), SAMPLE_RATE);
    expect(share(together.heading)).toBeGreaterThan(0.99);
    expect(share(together.tilt)).toBeGreaterThan(0.99);
  }
});

test('two axes that only sway do not make each other look about', () => {
  const together = lookingAboutTogether(swing(0.7), swing(0.7, 0.31), SAMPLE_RATE);
  expect(together).toEqual({ heading: nowhere, tilt: nowhere });
});

test('weights stay between nothing and everything', () => {
  const louder = Float64Array.from(swing(1), (x, k) => (x * k * 4) / COUNT);
  for (const weight of lookingAbout(louder, SAMPLE_RATE)) {
    expect(weight).toBeGreaterThanOrEqual(0);
    // A pooled mean of 23 weights.
    expect(weight).toBeLessThan(1 + 23 * Number.EPSILON);
  }
});

const intended = (kind: WalkKind, seed: number) => {
  const { heading, tilt } = makeWalk(kind, seed, { duration: 40, frameRate: SAMPLE_RATE }).truth;
  return lookingAboutTogether(heading, tilt, SAMPLE_RATE);
};

test.each([21, 22, 23])('somebody roaming the greenhouse looks about all the time (%d)', (seed) => {
  const { heading, tilt } = intended('roaming', seed);
  expect(share(heading)).toBeGreaterThan(0.9);
  expect(share(tilt)).toBeGreaterThan(0.9);
});

test.each(
  (['heading', 'turn90', 'tilt', 'locked'] as const).flatMap((kind) =>
    [21, 22, 23].map((seed) => [kind, seed] as const),
  ),
)('somebody who keeps to one view at a time (%s %d) never does', (kind, seed) => {
  expect(intended(kind, seed)).toEqual({ heading: nowhere, tilt: nowhere });
});
