import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../bench/accuracy/random.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { swayOscillator } from '../../src/motion/bodyModel.js';
import { alwaysWalking, buildGaitModel, chooseGait } from '../../src/motion/gaitModel.js';
import type { Coordinates } from '../../src/motion/pathCoordinates.js';

const SAMPLE_RATE = 15;
const SECONDS = 40;
const COUNT = SECONDS * SAMPLE_RATE;
const STEPS = 1.9;
const deg = RADIANS_PER_DEGREE;

const gait = { frequency: new Float64Array(COUNT).fill(STEPS), score: 9 };

/** Somebody who walks while `walks` says so: bob at the steps, sway at the strides, a little noise. */
function walker(walks: (time: number) => boolean): Coordinates {
  const random = seededRandom('walker');
  const axis = (amplitude: number, frequency: number) =>
    Float64Array.from({ length: COUNT }, (_, k) => {
      const time = k / SAMPLE_RATE;
      const step = walks(time) ? amplitude * Math.sin(2 * Math.PI * frequency * time) : 0;
      return (step + 0.01 * random.normal()) * deg;
    });
  return { heading: axis(2, STEPS / 2), tilt: axis(1, STEPS), roll: axis(0.5, STEPS / 2) };
}

describe('somebody who walks all the time', () => {
  const { oscillators, activity } = buildGaitModel(
    walker(() => true),
    SAMPLE_RATE,
    gait,
  );

  test('is active all the time', () => {
    expect(Math.min(...activity)).toBe(1);
  });

  test.each([
    ['heading', 2, 0],
    ['tilt', 1, 1],
    ['roll', 0.5, 0],
  ] as const)('moves the %s by %d° at one multiple of the pace', (axis, amplitude, multiple) => {
    const variances = oscillators[axis].map(({ variance }) => variance / deg ** 2);
    const power = amplitude ** 2 / 2;
    // A clock loses nothing in the window that would cost a walker 31 %, so it reads up to 1/0.69
    // too high; the filter that takes travel off leaves 1/(1 + (0.55/0.95)⁴)² = 0.81 of the stride.
    expect(variances[multiple]).toBeGreaterThan(0.81 * power);
    expect(variances[multiple]).toBeLessThan((1.01 * power) / 0.69);
    // Elsewhere there is noise of 0.01° only: (0.01°)² in the window, and the least variance.
    variances.forEach((variance, h) => {
      if (h !== multiple) expect(variance).toBeLessThan(1e-4 + 1e-5);
    });
  });

  test('is modelled at stride and step, for each axis', () => {
    for (const list of Object.values(oscillators)) {
      const turns = list.map(({ sine, cosine }) => Math.atan2(sine[1]!, cosine[1]!));
      const frequencies = turns.map((turn) => (turn * SAMPLE_RATE) / (2 * Math.PI));
      [0.5, 1].forEach((multiple, h) => {
        expect(Math.abs(frequencies[h]! - multiple * STEPS)).toBeLessThan(1e-12);
      });
    }
  });
});

test('shake without steps has none: what stands at a line is no more than what stands beside it', () => {
  // In white noise of 1° the power under a Hann window of 4 s, Σw² = 1.5/61 over 0.69/2, is 0.071 square
  // degrees in the mean and 0.049 in the median at the line; the mean of both sides has the median 0.060.
  // Each median of a thousand seconds strays by 0.005.
  const count = 1000 * SAMPLE_RATE;
  const random = seededRandom('shake without steps');
  const shake = () => Float64Array.from({ length: count }, () => random.normal() * deg);
  const { oscillators } = buildGaitModel(
    { heading: shake(), tilt: shake(), roll: shake() },
    SAMPLE_RATE,
    { frequency: new Float64Array(count).fill(STEPS), score: 9 },
  );
  const variances = Object.values(oscillators).flatMap((list) =>
    list.map(({ variance }) => variance / deg ** 2),
  );
  const mean = variances.reduce((sum, value) => sum + value, 0) / variances.length;
  expect(mean).toBeLessThan(0.005);
});

describe.each([
  ['stops half way', (time: number) => time < SECONDS / 2],
  ['starts half way', (time: number) => time > SECONDS / 2],
  ['pauses for ten seconds', (time: number) => time < 15 || time > 25],
] as const)('somebody who %s', (_words, walks) => {
  const model = buildGaitModel(walker(walks), SAMPLE_RATE, gait);

  test('is active while walking and not while standing', () => {
    model.activity.forEach((activity, k) => {
      const time = k / SAMPLE_RATE;
      // The steps are weighed under windows of 2 s and 0.8 s, half of each to either side.
      const sure = [-1.4, 1.4].every((reach) => walks(time + reach) === walks(time));
      if (sure && walks(time)) expect(activity).toBeGreaterThan(0.5);
      if (sure && !walks(time)) expect(activity).toBeLessThan(0.5);
    });
  });

  test('has steps as large as if walking went on', () => {
    const steady = buildGaitModel(
      walker(() => true),
      SAMPLE_RATE,
      gait,
    );
    const ratio = model.oscillators.tilt[1]!.variance / steady.oscillators.tilt[1]!.variance;
    // The middle value of windows of 4 s, most of which lie within the walk.
    expect(Math.abs(ratio - 1)).toBeLessThan(0.1);
  });

  test('is seen through steps that count only while walking', () => {
    for (const list of Object.values(model.oscillators)) {
      for (const { weight } of list) expect(weight).toBe(model.activity);
    }
  });
});

test('a model that walks always is the same but for its pauses', () => {
  const paused = buildGaitModel(
    walker((time) => time < 20),
    SAMPLE_RATE,
    gait,
  );
  const always = alwaysWalking(paused);
  expect(always.activity).toEqual(new Float64Array(COUNT).fill(1));
  for (const axis of ['heading', 'tilt', 'roll'] as const) {
    always.oscillators[axis].forEach((oscillator, h) => {
      const { weight: _, ...rest } = paused.oscillators[axis][h]!;
      expect(oscillator).toEqual(rest);
    });
  }
});

describe('a clip is taken for', () => {
  const sway = swayOscillator(COUNT, SAMPLE_RATE);
  const chosen = (walks: (time: number) => boolean, score = gait.score) =>
    chooseGait(walker(walks), SAMPLE_RATE, { ...gait, score }, sway);
  const always = () => true;

  test('a walk throughout where steps go on', () => {
    expect(chosen(always)).toEqual(
      alwaysWalking(buildGaitModel(walker(always), SAMPLE_RATE, gait)),
    );
  });

  test('a walk with a pause where they stop for ten seconds', () => {
    const walks = (time: number) => time < 15 || time > 25;
    expect(chosen(walks)).toEqual(buildGaitModel(walker(walks), SAMPLE_RATE, gait));
  });

  test('none where there are no steps, whatever the score of their pace', () => {
    expect(chosen(() => false)).toBeUndefined();
  });

  // 2.8: without a walk the score stays below it as a rule (our judgement).
  test('none where the pace has a score below 2.8, however clear its steps', () => {
    expect(chosen(always, 2.79)).toBeUndefined();
    expect(chosen(always, 2.81)).toBeDefined();
  });
});
