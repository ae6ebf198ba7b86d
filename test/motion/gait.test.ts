import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../bench/accuracy/random.js';
import { makeWalk, WALK_KINDS, type WalkKind } from '../../bench/accuracy/walks.js';
import { gaitFromSteps, steadySteps, trackStepFrequency } from '../../src/motion/gait.js';
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

/** Steps of one pace in all axes, and white noise, degrees; so many samples. */
function stroll(n: number, pace: number, size: number, label: string): Coordinates {
  const random = seededRandom(label);
  const axis = (frequency: number) =>
    Float64Array.from({ length: n }, (_, k) => {
      const time = k / SAMPLE_RATE;
      return (size * Math.sin(2 * Math.PI * frequency * time) + random.normal()) * (Math.PI / 180);
    });
  return { heading: axis(pace / 2), tilt: axis(pace), roll: axis(pace / 2) };
}

test.each([595, 600, 607])('a pace is known from the first to the last of %d samples', (n) => {
  const { frequency, score } = trackStepFrequency(stroll(n, 1.9, 3, 'whole'), SAMPLE_RATE);
  expect(frequency).toHaveLength(n);
  for (const pace of frequency) expect(Math.abs(pace - 1.9)).toBeLessThan(RESOLUTION);
  expect(Number.isFinite(score)).toBe(true);
});

describe('over a whole clip', () => {
  // Windows of 10 s; the steps are sought every 0.02 Hz between bins of at most 0.1 Hz.
  test.each([1.1, 1.5, 2.2, 2.6])('steps as slow as a stroll are found: %d Hz', (pace) => {
    const { frequency, score } = steadySteps(stroll(600, pace, 1, `pace ${pace}`), SAMPLE_RATE);
    expect(Math.abs(frequency - pace)).toBeLessThan(0.1);
    expect(score).toBeGreaterThan(3);
  });

  test.each([1, 2, 3])('noise alone has no steps (noise %d)', (seed) => {
    expect(steadySteps(stroll(600, 1, 0, `noise ${seed}`), SAMPLE_RATE).score).toBeLessThan(2.6);
  });

  test('a first sample far from zero is no step', () => {
    const near = stroll(600, 1.5, 1, 'offset');
    const far = { ...near, tilt: near.tilt.map((x) => x + 8) };
    const [there, here] = [far, near].map((each) => steadySteps(each, SAMPLE_RATE));
    expect(there!.frequency).toBe(here!.frequency);
    // Differences of angles near 8 rad instead of near 0.02 rad round 400 times as coarsely.
    expect(Math.abs(there!.score - here!.score)).toBeLessThan(1e-9);
  });
});

describe('steps that were felt', () => {
  const felt = (frequency: readonly number[], from = 0) =>
    gaitFromSteps(
      {
        times: Float64Array.from(frequency, (_, k) => from + k),
        frequency: Float64Array.from(frequency),
      },
      10 * SAMPLE_RATE,
      SAMPLE_RATE,
    );

  test('give the pace between them, held where nobody walks', () => {
    const { frequency, score } = felt([0, 0, 1.6, 0, 2, 0, 0, 0]);
    expect(frequency[0]).toBe(1.6);
    expect(frequency[9 * SAMPLE_RATE]).toBe(2);
    // Half way between 2 s and 4 s.
    expect(Math.abs(frequency[3 * SAMPLE_RATE]! - 1.8)).toBeLessThan(4 * Number.EPSILON);
    expect(score).toBeGreaterThan(4);
  });

  test('are a walk from a fifth of the clip on', () => {
    expect(felt([2, 0, 0, 0, 0, 0]).score).toBe(0);
    expect(felt([2, 0, 0, 0]).score).toBe(8);
  });

  test('outside the clip do not count, and without any the pace is two a second', () => {
    expect(felt([1.5, 1.5, 1.5, 0, 0], -3)).toEqual(felt([0, 0]));
    expect(felt([0, 0, 0, 1.5, 1.5], 7.5)).toEqual(felt([0, 0]));
    expect(felt([0, 0])).toEqual({ frequency: new Float64Array(150).fill(2), score: 0 });
  });
});
