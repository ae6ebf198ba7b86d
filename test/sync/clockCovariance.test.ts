import { expect, test } from 'vitest';
import { seededRandom } from '../../bench/accuracy/random.js';
import { sandwichCovariance } from '../../src/sync/clockCovariance.js';

const N = 3600;
const PER_SECOND = 60;
/** A turn about one axis, two times a second, with a slow change of size. */
const COLUMN = new Float64Array(3 * N).map((_, i) => {
  const t = Math.floor(i / 3) / PER_SECOND;
  return i % 3 === 0 ? (1 + 0.3 * Math.sin(t / 4)) * Math.cos(4 * Math.PI * t) : 0;
});
const POWER = COLUMN.reduce((sum, value) => sum + value * value, 0);

/** Errors in time of a frame, alike from one to the next by `memory`, on top of white noise. */
function residual(seed: number, memory: number): Float64Array {
  const random = seededRandom(`wander ${seed}`);
  let state = random.normal();
  return COLUMN.map((value, i) => {
    if (i % 3 !== 0) return 0;
    state = memory * state + Math.sqrt(1 - memory ** 2) * random.normal();
    return value * state + 0.5 * random.normal();
  });
}

test.each([0, 0.8, 0.95])(
  'frames that err alike widen the deviation as they should (%d)',
  (memory) => {
    // Var Σ c r = Σ c_i² c_j² memory^|i − j| + Σ c² / 4, summed plainly.
    const c = Float64Array.from({ length: N }, (_, k) => COLUMN[3 * k]!);
    let variance = 0.25 * POWER;
    for (let i = 0; i < N; i++) {
      for (let j = Math.max(0, i - 400); j < Math.min(N, i + 401); j++) {
        variance += c[i]! ** 2 * c[j]! ** 2 * memory ** Math.abs(i - j);
      }
    }
    const truth = variance / POWER ** 2;
    const runs = 30;
    let mean = 0;
    for (let seed = 0; seed < runs; seed++) {
      const scores = {
        columns: [COLUMN],
        residual: residual(seed, memory),
        weights: new Float64Array(N).fill(1),
        framesPerSecond: PER_SECOND,
      };
      mean += sandwichCovariance(scores, [[POWER]], [0], 1)[0]![0]! / runs;
    }
    // Windows of two seconds in sixty: a variance is known to √(2 · 2 · 2/60) = 40 %, that of thirty
    // runs to 7 %; the largest of three estimates is taken, which adds a quarter at most.
    expect(mean / truth).toBeGreaterThan(1 - 3 * 0.07);
    expect(mean / truth).toBeLessThan(1.25 + 3 * 0.07);
  },
);

test('weights that fall with distance make the fit less sure of itself', () => {
  const scores = (weight: number) => ({
    columns: [COLUMN],
    residual: residual(1, 0),
    weights: new Float64Array(N).fill(weight),
    framesPerSecond: PER_SECOND,
  });
  const [[plain]] = sandwichCovariance(scores(1), [[POWER]], [0], 1) as [[number]];
  // w = 0.64 is u² = 0.2: the slope is w − (4/3) 0.2 · 0.8 = 0.427, its square 0.182 for 0.41 of weights.
  const [[less]] = sandwichCovariance(scores(0.64), [[0.64 * POWER]], [0], 1) as [[number]];
  expect(less / plain).toBeCloseTo(0.64 ** 2 / (0.64 - (4 / 3) * 0.2 * 0.8) ** 2, 9);
});

test('what was expected beforehand bounds what the frames do not tell', () => {
  const nothing = {
    columns: [new Float64Array(3 * N)],
    residual: residual(1, 0),
    weights: new Float64Array(N).fill(1),
    framesPerSecond: PER_SECOND,
  };
  // Noise 0.5 and a deviation of 2 beforehand: prior (0.5/2)², and 2² is what comes out.
  expect(sandwichCovariance(nothing, [[0]], [(0.5 / 2) ** 2], 0.5)[0]![0]).toBeCloseTo(4, 9);
});
