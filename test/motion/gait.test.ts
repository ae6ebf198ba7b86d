import { expect, test } from 'vitest';
import { seededRandom } from '../../bench/accuracy/random.js';
import { makeWalk, WALK_KINDS, type WalkKind } from '../../bench/accuracy/walks.js';
import { trackStepFrequency } from '../../src/motion/gait.js';
import {
  type Coordinates,
  coordinatesAlong,
  gaussianMeanPath,
  unrollPath,
} from '../../src/motion/pathCoordinates.js';

const SAMPLE_RATE = 15;

const coordinatesOf = (measured: Float64Array): Coordinates =>
  coordinatesAlong(unrollPath(gaussianMeanPath(measured, SAMPLE_RATE / 2)), measured);
const walkOf = (kind: WalkKind, seed: number, walking?: boolean) =>
  makeWalk(kind, seed, {
    duration: 40,
    frameRate: SAMPLE_RATE,
    ...(walking !== undefined && { walking }),
  });

/** Spectra over 8 s tell lines apart that lie this far from each other, Hz. */
const RESOLUTION = 1 / 8;

const throughout = WALK_KINDS.filter(
  (kind) => !['walkstop', 'walkstart', 'tripod', 'handheld'].includes(kind),
);
const clips = throughout.flatMap((kind) => [31, 32, 33].map((seed) => [kind, seed] as const));

test.each(clips)(
  'the pace of a walk (%s %d) is known within what its spectra resolve',
  (kind, seed) => {
    const { measured, stepFrequency } = walkOf(kind, seed, true);
    const { frequency } = trackStepFrequency(coordinatesOf(measured), SAMPLE_RATE);
    const squares = frequency.map((f, k) => (f - stepFrequency[k]!) ** 2);
    expect(Math.sqrt(squares.reduce((sum, x) => sum + x, 0) / squares.length)).toBeLessThan(
      RESOLUTION,
    );
  },
);

test('walks stand out of their spectrum further than the same clips without steps', () => {
  for (const [kind, seed] of clips) {
    const [walked, stood] = [true, false].map((walking) =>
      trackStepFrequency(coordinatesOf(walkOf(kind, seed, walking).measured), SAMPLE_RATE),
    );
    expect(walked!.score, `${kind} ${seed}`).toBeGreaterThan(stood!.score);
  }
});

test('the clearest quarter of a clip tells that somebody walks, even where walking stops', () => {
  const score = (steady: boolean) =>
    [31, 32, 33].map((seed) => {
      const { measured } = makeWalk('walkstop', seed, {
        duration: 40,
        frameRate: SAMPLE_RATE,
        steady,
      });
      return trackStepFrequency(coordinatesOf(measured), SAMPLE_RATE).score;
    });
  const [stopped, steady] = [score(false), score(true)];
  // A quarter of the windows lie in the part that is walked, at least 35 % of the clip.
  stopped.forEach((value, k) => {
    expect(value).toBeGreaterThan(0.75 * steady[k]!);
  });
});

/** White noise on three axes, which knows no steps. */
const noise = (seed: number, n: number): Coordinates => {
  const random = seededRandom(`no steps ${seed}`);
  const axis = () => Float64Array.from({ length: n }, () => random.normal());
  return { heading: axis(), tilt: axis(), roll: axis() };
};

test.each([1, 2, 3, 4, 5])('a pace is one that people walk at, and changes slowly (%d)', (seed) => {
  const { frequency } = trackStepFrequency(noise(seed, 600), SAMPLE_RATE);
  // Six deviations of 0.05 Hz per second at the very most.
  frequency.forEach((f, k) => {
    expect(f).toBeGreaterThanOrEqual(1.25);
    expect(f).toBeLessThan(2.65 + 1e-9);
    if (k > 0) expect(Math.abs(f - frequency[k - 1]!)).toBeLessThan(0.31 / SAMPLE_RATE);
  });
});

test('how large the steps are does not matter to their pace', () => {
  const { heading, tilt, roll } = coordinatesOf(walkOf('heading', 34).measured);
  const scaled = [heading, tilt, roll].map((signal) => signal.map((x) => 1e-3 * x));
  const whole = trackStepFrequency({ heading, tilt, roll }, SAMPLE_RATE);
  const small = trackStepFrequency(
    { heading: scaled[0]!, tilt: scaled[1]!, roll: scaled[2]! },
    SAMPLE_RATE,
  );
  expect(small.frequency).toEqual(whole.frequency);
  // Ratios of powers whose transforms of 2048 values round by some ten epsilons.
  expect(Math.abs(small.score - whole.score)).toBeLessThan(1e-9);
});

test.each([10, 45, 100])('a clip of %d samples has a pace at each', (n) => {
  const { frequency, score } = trackStepFrequency(noise(1, n), SAMPLE_RATE);
  expect(frequency).toHaveLength(n);
  expect(frequency.every(Number.isFinite)).toBe(true);
  expect(Number.isFinite(score)).toBe(true);
});
