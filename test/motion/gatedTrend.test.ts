import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { baseModel, swayOscillator } from '../../src/motion/bodyModel.js';
import { bestModel, gatedTrend } from '../../src/motion/gatedTrend.js';
import { fc } from '../seed.js';
import { SAMPLE_RATE } from './fading.js';

const deg = RADIANS_PER_DEGREE;
const COUNT = 30 * SAMPLE_RATE;

test('the best of some models is the first that none surpasses', () => {
  const evidences = fc.array(fc.integer({ min: -5, max: 5 }), { minLength: 1, maxLength: 9 });
  fc.assert(
    fc.property(evidences, (list) => {
      const candidates = list.map((value) => baseModel(1, SAMPLE_RATE, 10 + value));
      const { model, evidence } = bestModel(candidates, ({ trendNoise }) => trendNoise[0]! - 10);
      expect(evidence).toBe(Math.max(...list));
      expect(model).toBe(candidates[list.indexOf(evidence)]);
    }),
  );
});

describe('a trend that opens for a move', () => {
  // Half of the way speeding up and half slowing down, by so many degrees per second squared.
  const from = 12 * SAMPLE_RATE;
  const to = 18 * SAMPLE_RATE;
  const moving = new Uint8Array(COUNT).fill(1, from, to);
  const turning = (acceleration: number) => {
    const signal = Float64Array.from({ length: COUNT }, (_, k) => {
      const time = Math.min(Math.max((k - from) / SAMPLE_RATE, 0), 6);
      const way = time < 3 ? time * time : 18 - (6 - time) ** 2;
      return 0.5 * acceleration * deg * way;
    });
    return gatedTrend(
      {
        signal,
        slow: signal,
        sampleRate: SAMPLE_RATE,
        swayOscillator: swayOscillator(COUNT, SAMPLE_RATE),
      },
      moving,
      0.1 * deg,
    ).model.trendNoise;
  };

  test.each([4, 8, 16])('by a share of the squared acceleration: %d °/s²', (acceleration) => {
    const noise = turning(acceleration);
    const squared = (acceleration * deg) ** 2;
    // From three in a hundred to all of it (our judgement); the trend cuts the corners of the
    // acceleration, whose mean square over a second is less than all of it for half a second.
    for (const time of [13.5, 16.5]) {
      const share = noise[Math.round(time * SAMPLE_RATE)]! / squared;
      expect(share).toBeGreaterThan(0.03 / 2);
      expect(share).toBeLessThan(1.5);
    }
  });

  test('rests half a second from it as it does far away', () => {
    const noise = turning(8);
    const rest = noise[0]!;
    expect(rest).toBeLessThan(1e-3 * 1.001 * deg ** 2);
    for (let k = 0; k < COUNT; k++) {
      const far = k < from - 0.5 * SAMPLE_RATE || k >= to + 0.5 * SAMPLE_RATE;
      if (far) expect(Math.abs(noise[k]! / rest - 1)).toBeLessThan(1e-12);
      if (k > from + SAMPLE_RATE && k < to - SAMPLE_RATE) expect(noise[k]!).toBeGreaterThan(rest);
    }
  });

  test('opens alike whichever way time runs', () => {
    const noise = turning(8);
    // The likelihood prefers the same shares; an acceleration is read between neighbours either way.
    noise.forEach((value, k) => {
      expect(Math.abs(Math.log(value / noise[COUNT - 1 - k]!))).toBeLessThan(0.3);
    });
  });
});
