import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../bench/accuracy/random.js';
import { bandNoise } from '../../bench/accuracy/spectralNoise.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import {
  derivative,
  findMoves,
  poolMean,
  runsWhere,
  shareMoving,
  swayLevel,
} from '../../src/motion/moves.js';
import { quantile } from '../../src/numeric/quantile.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';

const deg = RADIANS_PER_DEGREE;
const EPSILON = Number.EPSILON;
const SAMPLE_RATE = 15;
const SECONDS = 40;
const SWAY = 0.5 * deg;

const series = (at: (time: number) => number) =>
  Float64Array.from({ length: SECONDS * SAMPLE_RATE }, (_, k) => at(k / SAMPLE_RATE));
/** A turn that starts and ends softly. */
const turn = (start: number, length: number, angle: number) => (time: number) => {
  const u = Math.min(Math.max((time - start) / length, 0), 1);
  return angle * u * u * u * (10 - 15 * u + 6 * u * u);
};
const sway = (label: string, sd: number) =>
  bandNoise(
    seededRandom(label),
    SECONDS * SAMPLE_RATE,
    SAMPLE_RATE,
    { lowHz: 0.1, highHz: 0.5, order: 2 },
    sd,
  );
const movesOf = (signal: Float64Array) => findMoves(signal, SAMPLE_RATE, SWAY);

describe('a turn', () => {
  const cases = fc.record({
    start: fc.integer({ min: 5, max: 30 }),
    length: fc.integer({ min: 2, max: 5 }),
    angle: fc.integer({ min: 20, max: 110 }),
    sign: fc.constantFrom(-1, 1),
  });

  test('is found as one move that holds all but the first and last twentieth of the way', () => {
    fc.assert(
      fc.property(cases, ({ start, length, angle, sign }) => {
        const signal = series(turn(start, length, sign * angle * deg));
        const moves = movesOf(signal);
        expect(moves).toHaveLength(1);
        const { from, to } = moves[0]!;
        expect(Math.abs(signal[from]!)).toBeLessThan((angle * deg) / 20);
        expect(Math.abs(signal[to - 1]!)).toBeGreaterThan((19 * angle * deg) / 20);
        // The path whose speed is looked at spreads by a period of its 0.45 Hz to either side.
        expect(from).toBeGreaterThan((start - 1 / 0.45 - 0.25) * SAMPLE_RATE - 1);
        expect(to).toBeLessThan((start + length + 1 / 0.45 + 0.25) * SAMPLE_RATE + 1);
      }),
    );
  });

  test('is found where it is, whichever way it goes and wherever it begins', () => {
    fc.assert(
      fc.property(cases, ({ start, length, angle }) => {
        const signal = series(turn(start, length, angle * deg));
        expect(movesOf(signal.map((x) => 3 - x))).toEqual(movesOf(signal));
      }),
    );
  });

  test('that goes less far than six sways and half a degree is none, however fast', () => {
    const jump = (angleDeg: number) =>
      findMoves(series(turn(10, 0.2, angleDeg * deg)), SAMPLE_RATE, 0.03 * deg);
    // 6 × 0.03° + 0.5°
    expect(jump(0.65)).toEqual([]);
    expect(jump(1)).toHaveLength(1);
  });

  test('that creeps slower than sway is none', () => {
    // 4 × 0.5° × 2π × 0.3 Hz + 0.3 °/s = 4.1 °/s
    expect(movesOf(series((t) => 3.9 * deg * t))).toEqual([]);
    expect(movesOf(series((t) => 4.3 * deg * t))).toHaveLength(1);
  });

  test('and the next are one move when hardly a pause lies between, and two otherwise', () => {
    const pair = (pause: number) => {
      const second = turn(13 + pause, 3, 60 * deg);
      const first = turn(10, 3, 60 * deg);
      return movesOf(series((t) => first(t) + second(t)));
    };
    expect(pair(0.5)).toHaveLength(1);
    expect(pair(6)).toHaveLength(2);
  });
});

test.each([1, 2, 3, 4, 5, 6])('sway alone is no move (sway %d)', (seed) => {
  expect(movesOf(sway(`sway ${seed}`, SWAY))).toEqual([]);
});

describe('the level of the sway', () => {
  const swing = series((t) => Math.SQRT2 * deg * Math.sin(2 * Math.PI * 0.36 * t));

  test('of a steady swing in the middle of its band is what the band leaves of it, × 1.45', () => {
    const left = 1 / (1 + (0.22 / 0.36) ** 4) / (1 + (0.36 / 0.6) ** 4);
    // The squared swing beats at 0.72 Hz, of which a Hann window of 3 s leaves a fiftieth; filters
    // warped by the sampling and the ends take a little.
    expect(Math.abs(swayLevel(swing, SAMPLE_RATE) / deg / (1.45 * left) - 1)).toBeLessThan(0.05);
  });

  test('grows with the swing', () => {
    const half = swayLevel(
      swing.map((x) => x / 2),
      SAMPLE_RATE,
    );
    expect(Math.abs(half / swayLevel(swing, SAMPLE_RATE) - 0.5)).toBeLessThan(1e-12);
  });

  test('does not hear a turn in a quarter of the clip', () => {
    const calm = sway('beside a turn', 0.5 * deg);
    const corner = turn(15, 4, 90 * deg);
    const turned = calm.map((x, k) => x + corner(k / SAMPLE_RATE));
    // Twice the quiet third of a noise whose size itself wanders.
    expect(swayLevel(turned, SAMPLE_RATE)).toBeLessThan(2 * swayLevel(calm, SAMPLE_RATE));
  });

  test('can be read off some of the samples only', () => {
    const half = swing.map((x, k) => (k < swing.length / 2 ? x : x / 4));
    const early = swayLevel(half, SAMPLE_RATE, (k) => k < swing.length / 2 - 60);
    const late = swayLevel(half, SAMPLE_RATE, (k) => k > swing.length / 2 + 60);
    expect(Math.abs(late / early - 0.25)).toBeLessThan(0.25 * 0.1);
  });

  test('is never less than a tripod leaves nor more than a body does', () => {
    expect(
      swayLevel(
        series(() => 1),
        SAMPLE_RATE,
      ),
    ).toBe(0.03 * deg);
    expect(
      swayLevel(
        swing.map((x) => 9 * x),
        SAMPLE_RATE,
      ),
    ).toBe(1.5 * deg);
  });

  test('is half a degree for a clip too short to tell', () => {
    expect(swayLevel(swing.subarray(0, 6 * SAMPLE_RATE - 1), SAMPLE_RATE)).toBe(0.5 * deg);
  });
});

test('the share that moves counts each sample of each move', () => {
  const moves = [
    { from: 2, to: 5 },
    { from: 7, to: 8 },
  ];
  expect(shareMoving(moves, 16)).toBe(0.25);
  expect(shareMoving([], 16)).toBe(0);
});

const flags = fc.array(fc.boolean(), { maxLength: 40 });

test('runs cover the samples for which the condition holds, and no others', () => {
  fc.assert(
    fc.property(flags, (on) => {
      const covered = on.map(() => false);
      const runs = runsWhere(on.length, (k) => on[k]!);
      for (const { from, to } of runs) covered.fill(true, from, to);
      expect(covered).toEqual(on);
      runs.slice(1).forEach(({ from }, k) => {
        expect(from).toBeGreaterThan(runs[k]!.to);
      });
    }),
  );
});

const lists = fc
  .array(
    fc.integer({ min: -1000, max: 1000 }).map((k) => k / 1000),
    { minLength: 1, maxLength: 40 },
  )
  .map((list) => Float64Array.from(list));

test('a quantile has its share of the values below it, and lies among them', () => {
  fc.assert(
    fc.property(
      lists,
      fc.integer({ min: 0, max: 100 }).map((k) => k / 100),
      (values, share) => {
        const value = quantile(values, share);
        const below = values.filter((x) => x < value - 2 * EPSILON).length;
        const notAbove = values.filter((x) => x <= value + 2 * EPSILON).length;
        expect(below).toBeLessThanOrEqual(share * (values.length - 1) + 1);
        expect(notAbove).toBeGreaterThanOrEqual(share * (values.length - 1));
      },
    ),
  );
  expect(quantile(Float64Array.of(3, 1, 2), 0.5)).toBe(2);
  expect(quantile(Float64Array.of(4, 0), 0.25)).toBe(1);
});

test('the derivative of a line is its slope everywhere, that of a parabola inside', () => {
  const n = 50;
  const line = Float64Array.from({ length: n }, (_, k) => 2 - (3 * k) / SAMPLE_RATE);
  const parabola = Float64Array.from({ length: n }, (_, k) => (k / SAMPLE_RATE) ** 2);
  // Values up to 12 are rounded, taken off each other and multiplied by the sampling rate.
  const rounding = 4 * 12 * SAMPLE_RATE * EPSILON;
  expect(largestGap(derivative(line, SAMPLE_RATE), new Float64Array(n).fill(-3))).toBeLessThan(
    rounding,
  );
  const twice = parabola.map((_, k) => (2 * k) / SAMPLE_RATE);
  expect(
    largestGap(derivative(parabola, SAMPLE_RATE).subarray(1, n - 1), twice.subarray(1, n - 1)),
  ).toBeLessThan(rounding);
  expect(derivative(Float64Array.of(5), SAMPLE_RATE)).toEqual(Float64Array.of(0));
});

test('a pooled mean stays between the least and the largest value', () => {
  fc.assert(
    fc.property(lists, fc.integer({ min: 0, max: 30 }), (values, width) => {
      const pooled = poolMean(values, width);
      // A mean of 31 weighted values rounds by 31 epsilons.
      expect(Math.min(...pooled)).toBeGreaterThan(Math.min(...values) - 31 * EPSILON);
      expect(Math.max(...pooled)).toBeLessThan(Math.max(...values) + 31 * EPSILON);
    }),
  );
});
