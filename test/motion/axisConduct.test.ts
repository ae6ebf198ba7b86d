import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../bench/accuracy/random.js';
import { bandNoise } from '../../bench/accuracy/spectralNoise.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { type Assumptions, chooseConduct } from '../../src/motion/axisConduct.js';
import { swayOscillator } from '../../src/motion/bodyModel.js';
import type { StructuralModel } from '../../src/numeric/structuralModel.js';
import { logLikelihood } from '../../src/numeric/structuralSmoother.js';
import { SAMPLE_RATE } from './fading.js';

const deg = RADIANS_PER_DEGREE;
const COUNT = 40 * SAMPLE_RATE;
const nowhere = new Float64Array(COUNT);
const wanders = { standing: false };

/** Turns between two times by so many degrees, with soft ends, over a body that sways by 0.3°. */
function axisOf(...turns: readonly (readonly [start: number, end: number, angle: number])[]) {
  const sway = bandNoise(
    seededRandom('conduct'),
    COUNT,
    SAMPLE_RATE,
    { lowHz: 0.1, highHz: 0.5, order: 2 },
    0.3 * deg,
  );
  const signal = sway.map((value, k) => {
    const way = turns.reduce((sum, [start, end, angle]) => {
      const u = Math.min(Math.max((k / SAMPLE_RATE - start) / (end - start), 0), 1);
      return sum + angle * u * u * u * (10 - 15 * u + 6 * u * u);
    }, 0);
    return value + way * deg;
  });
  return {
    signal,
    slow: signal,
    sampleRate: SAMPLE_RATE,
    swayOscillator: swayOscillator(COUNT, SAMPLE_RATE),
  };
}

const isOpen = ({ trendNoise }: StructuralModel) => trendNoise.some((q) => q !== trendNoise[0]);
const conductOf = (
  axis: ReturnType<typeof axisOf>,
  {
    looking = nowhere,
    assumptions = wanders,
  }: { looking?: Float64Array; assumptions?: Assumptions } = {},
  evidence = (model: StructuralModel) => logLikelihood(axis.signal, model),
) => chooseConduct(axis, looking, assumptions, evidence);

describe('moves', () => {
  const axis = axisOf([15, 18, 40]);

  test('are what an axis does that turns between rests', () => {
    const { conduct, moves, model } = conductOf(axis);
    expect(conduct).toBe('moves');
    expect(moves).toHaveLength(1);
    expect(isOpen(model)).toBe(true);
    expect(conductOf(axisOf())).toMatchObject({ conduct: 'rest', moves: [] });
  });

  // A log likelihood of 30 must be gained over a body that rests (our judgement in axisConduct.ts).
  test.each([
    [29.9, 'rest'],
    [30.1, 'moves'],
  ])('that explain the steps better by %d are %s', (gain, expected) => {
    const found = conductOf(axis, {}, (model) => (isOpen(model) ? gain : 0));
    expect(found.conduct).toBe(expected);
    expect(isOpen(found.model)).toBe(expected === 'moves');
  });

  test('that the operator marks are taken at his word, whatever they gain', () => {
    const marks = new Int8Array(COUNT).fill(1, 100, 200);
    const assumptions = { standing: false, marks };
    const found = conductOf(axisOf(), { assumptions }, () => 0);
    expect(found).toMatchObject({ conduct: 'moves', moves: [{ from: 100, to: 200 }] });
  });

  test('that the operator holds are none, and where nothing is said they are found', () => {
    const held = { standing: false, marks: new Int8Array(COUNT).fill(-1) };
    expect(conductOf(axis, { assumptions: held })).toMatchObject({ conduct: 'rest', moves: [] });
    const silent = { standing: false, marks: new Int8Array(COUNT) };
    expect(conductOf(axis, { assumptions: silent })).toEqual(conductOf(axis));
  });
});

test('moves over three fifths of a clip are one travel, but for somebody who stands', () => {
  const busy = axisOf([2, 14, 80], [15, 27, -80], [28, 38, 60]);
  const travel = conductOf(busy);
  expect(travel).toMatchObject({ conduct: 'travel', moves: [] });
  expect(travel.model.order).toBe(3);
  const standing = conductOf(busy, { assumptions: { standing: true } });
  expect(standing.conduct).toBe('moves');
  expect(standing.model.order).toBe(2);
});

describe('a body that rests', () => {
  // A trend that wanders ten times more must gain 2 in log likelihood over a quiet one.
  test.each([
    [1.9, 0],
    [2.1, 3],
  ])(
    'wanders as little as can be unless every factor of ten gains more than 2: %d',
    (gain, tens) => {
      const wander = ({ trendNoise }: StructuralModel) => Math.log10(trendNoise[0]! / deg ** 2);
      const { model } = conductOf(axisOf(), {}, (candidate) => gain * wander(candidate));
      expect(wander(model)).toBeCloseTo(-6 + tens, 9);
    },
  );
});

describe('looking about', () => {
  const axis = axisOf([5, 8, 30], [9, 12, -40], [13, 17, 50], [18, 21, -30]);

  test('from end to end leaves no rests, and the sway at what bodies do', () => {
    const { conduct, moves, model } = conductOf(axis, { looking: new Float64Array(COUNT).fill(1) });
    expect({ conduct, moves }).toEqual({ conduct: 'looking-about', moves: [] });
    expect(isOpen(model)).toBe(false);
    // The weight of the sway makes its size a quarter of a degree, whatever was read off it.
    const [sway] = model.oscillators;
    const size = Math.sqrt(sway!.variance) * sway!.weight![0]!;
    expect(Math.abs(size / (0.25 * deg) - 1)).toBeLessThan(1e-12);
  });

  test('for a part is mixed with rests, where the trend is quieter and the sway as it was read', () => {
    const looking = nowhere.map((_, k) => (k < COUNT / 2 ? 1 : 0));
    const { conduct, model } = conductOf(axis, { looking });
    expect(conduct).toBe('mixed');
    expect(model.trendNoise[10]!).toBeGreaterThan(100 * model.trendNoise[COUNT - 10]!);
    expect(model.oscillators[0]!.weight![COUNT - 10]).toBe(1);
  });

  test('counts where it is more likely than not', () => {
    expect(conductOf(axis, { looking: nowhere.map(() => 0.49) }).conduct).not.toBe('looking-about');
    expect(conductOf(axis, { looking: nowhere.map(() => 0.51) }).conduct).toBe('looking-about');
  });
});
