import { readFileSync } from 'node:fs';
import { afterEach, describe, expect, test, vi } from 'vitest';
import { makeWalk } from '../../bench/accuracy/walks.js';
import { boundsOf, type CorrectionLimit } from '../../src/motion/correctionLimit.js';
import { limitPath } from '../../src/motion/limit.js';
import { type Barrier, type LimitProblem, solveWithinLimit } from '../../src/motion/limitSolver.js';
import type * as Banded from '../../src/numeric/banded.js';
import {
  composeQuaternions,
  invertQuaternions,
  quaternionsFromRotationVectors,
  rotationVectorsFromQuaternions,
} from '../../src/rotation/arrays.js';
import { fc } from '../seed.js';

/**
 * Newton's steps that are still taken; after them every step is nil, which ends the search. The
 * matrix and the right side of the first step are kept to be looked at.
 */
const steps = vi.hoisted(() => ({
  left: Number.POSITIVE_INFINITY,
  first: undefined as undefined | { band: Float64Array; downhill?: Float64Array },
}));
vi.mock('../../src/numeric/banded.js', async (original) => {
  const banded = await original<typeof Banded>();
  return {
    ...banded,
    factorBanded: (matrix: Banded.BandedMatrix) => {
      steps.first ??= { band: matrix.band.slice() };
      banded.factorBanded(matrix);
    },
    solveFactored: (matrix: Banded.BandedMatrix, b: Float64Array) => {
      if (steps.first) steps.first.downhill ??= b.slice();
      if (steps.left-- > 0) banded.solveFactored(matrix, b);
      else b.fill(0);
    },
  };
});
afterEach(() => {
  steps.left = Number.POSITIVE_INFINITY;
});

type Axes = NonNullable<CorrectionLimit['axes']>;
const byAxis = (values: readonly number[]) =>
  [0, 1, 2].map((i) => Float64Array.from(values.filter((_, j) => j % 3 === i))) as unknown as Axes;

/** How far a correction is on its way to the limit; beyond it above 1. */
function share(e: Float64Array, { total, axes }: CorrectionLimit): number {
  return total.reduce((largest, most, k) => {
    const parts = e.subarray(3 * k, 3 * k + 3);
    return Math.max(
      largest,
      Math.hypot(...parts) / most,
      ...(axes ? [0, 1, 2].map((i) => Math.abs(parts[i]!) / axes[i]![k]!) : []),
    );
  }, 0);
}

/** Σ |d|² + λ Σ |Δ³d|² of a deviation. */
function cost(deviation: Float64Array, penalty: number): number {
  const third = deviation
    .slice(9)
    .map((x, i) => x - 3 * deviation[i + 6]! + 3 * deviation[i + 3]! - deviation[i]!);
  const squares = (values: Float64Array) => values.reduce((sum, x) => sum + x * x, 0);
  return squares(deviation) + penalty * squares(third);
}

const scipy: {
  sampleRate: number;
  penalty: number;
  cases: Record<
    string,
    { wanted: number[]; total: number[]; axes?: number[]; cost: number; corrections: number[] }
  >;
} = JSON.parse(readFileSync(new URL('../reference/limit_scipy.json', import.meta.url), 'utf8'));

/** The search ends when all that the limits can still be worth is this share of the cost. */
const GAP = 0.02;
const SCHEDULE: Barrier = { first: 0.3, factor: 0.15, gap: GAP };

const IDENTITY = [1, 0, 0, 0, 1, 0, 0, 0, 1];

/** Deviations x of corrections E + x, whose path has no jerk but theirs. */
function around(wanted: Float64Array, limit: CorrectionLimit, penalty: number): LimitProblem {
  return {
    target: new Float64Array(wanted.length),
    correction: wanted,
    jacobians: Float64Array.from({ length: 3 * wanted.length }, (_, i) => IDENTITY[i % 9]!),
    bounds: boundsOf(limit, wanted),
    jerkOfBase: new Float64Array(wanted.length),
    penalty,
  };
}

/** The corrections that the solver finds around wanted ones, begun at others within the limit. */
function solved(
  wanted: Float64Array,
  start: Float64Array,
  limit: CorrectionLimit,
  penalty: number,
  schedule = SCHEDULE,
): Float64Array {
  const x = solveWithinLimit(
    around(wanted, limit, penalty),
    start.map((e, i) => e - wanted[i]!),
    schedule,
  );
  return wanted.map((e, i) => e + x[i]!);
}

describe.each(Object.entries(scipy.cases))('within %s', (_words, expected) => {
  const wanted = Float64Array.from(expected.wanted);
  const limit: CorrectionLimit = {
    total: Float64Array.from(expected.total),
    ...(expected.axes && { axes: byAxis(expected.axes) }),
  };
  const start = wanted.map((x) => x / (1.5 * share(wanted, limit)));
  const solve = () => solved(wanted, start, limit, scipy.penalty);

  test('the corrections cost at most a fiftieth more than those of scipy', () => {
    const found = solve();
    const own = cost(
      found.map((x, i) => x - wanted[i]!),
      scipy.penalty,
    );
    // Sequential least squares stopped where a step gained less than 1e-11.
    expect(own).toBeGreaterThan(expected.cost - 1e-10);
    expect(own).toBeLessThan(expected.cost / (1 - GAP));
  });

  test('and lie as near to them as that allows', () => {
    // The cost rises at least as fast as the square of the distance to its least place.
    const distance = Math.hypot(...solve().map((x, i) => x - expected.corrections[i]!));
    expect(distance).toBeLessThan(Math.sqrt(expected.cost / (1 - GAP) - expected.cost));
  });

  test.each([0, 1, 2, 3, 5, 8, 13, 21])('after %d steps of Newton they hold the limit', (most) => {
    steps.left = most;
    expect(share(solve(), limit)).toBeLessThan(1);
  });
});

/** λ that halves what comes and goes once a second, at ten samples a second. */
const PENALTY = (2 * Math.sin(Math.PI / 10)) ** -6;

/** Any corrections wanted, per-sample limits of which most are felt, with or without one per axis. */
const problems = fc
  .tuple(fc.integer({ min: 4, max: 30 }), fc.boolean(), fc.nat(40))
  .chain(([n, perAxis, most]) => {
    const angle = fc.integer({ min: -1000, max: 1000 }).map((k) => k / 1000);
    const bound = fc.integer({ min: 1, max: 1500 }).map((k) => k / 1000);
    const list = (length: number, of: fc.Arbitrary<number>) =>
      fc.array(of, { minLength: length, maxLength: length });
    return fc.record({
      most: fc.constant(most),
      wanted: list(3 * n, angle).map((values) => Float64Array.from(values)),
      total: list(n, bound).map((values) => Float64Array.from(values)),
      axes: perAxis ? list(3 * n, bound).map(byAxis) : fc.constant(undefined),
    });
  })
  .map(({ most, wanted, total, axes }) => ({
    most,
    wanted,
    limit: { total, ...(axes && { axes }) },
  }));

test('wherever the search is stopped its corrections hold every limit', () => {
  fc.assert(
    fc.property(problems, ({ most, wanted, limit }) => {
      steps.left = most;
      const start = wanted.map((x) => x / (1.5 * Math.max(1, share(wanted, limit))));
      expect(share(solved(wanted, start, limit, PENALTY), limit)).toBeLessThan(1);
    }),
  );
});

test('what was wanted and where the search began are left as they were', () => {
  fc.assert(
    fc.property(problems, ({ wanted, limit }) => {
      const start = wanted.map((x) => x / (1.5 * Math.max(1, share(wanted, limit))));
      const before = structuredClone({ wanted, start, limit });
      solved(wanted, start, limit, PENALTY);
      expect({ wanted, start, limit }).toEqual(before);
    }),
  );
});

describe('at the start of the search', () => {
  // Any tilted frame, any base, and bounds of which all are felt, one of them around a centre.
  const n = 9;
  const some = (size: number, phase: number, length = 3 * n) =>
    Float64Array.from({ length }, (_, i) => size * Math.sin(12.9898 * (i + 1) + phase));
  const problem: LimitProblem = {
    target: some(0.4, 1),
    correction: some(0.1, 2),
    jacobians: some(0.3, 3, 9 * n).map((value, i) => value + IDENTITY[i % 9]!),
    bounds: [
      { parts: [0, 1, 2], most: some(0.1, 4, n).map((value) => 1 + value) },
      { parts: [1], most: some(0.1, 5, n).map((value) => 0.8 + value) },
      {
        parts: [0, 1],
        centre: [some(0.1, 6, n), some(0.1, 7, n)],
        most: some(0.1, 8, n).map((value) => 0.9 + value),
      },
    ],
    jerkOfBase: some(0.2, 9),
    penalty: 0.7,
  };
  const start = some(0.15, 10);
  const FIRST = 0.3;

  const squares = (x: Float64Array) => {
    let sum = 0;
    for (let i = 0; i < 3 * n; i++) {
      sum += (x[i]! - problem.target[i]!) ** 2;
      if (i < 9) continue;
      const third = x[i]! - 3 * x[i - 3]! + 3 * x[i - 6]! - x[i - 9]!;
      sum += problem.penalty * (third + problem.jerkOfBase[i]!) ** 2;
    }
    return sum;
  };
  /** The squares less μ times the logarithms of all slacks, written out. */
  const whole = (x: Float64Array, mu: number) => {
    let sum = squares(x);
    for (const { parts, centre, most } of problem.bounds) {
      for (let k = 0; k < n; k++) {
        let slack = most[k]! ** 2;
        parts.forEach((part, j) => {
          let e = problem.correction[3 * k + part]!;
          for (let i = 0; i < 3; i++) {
            e += problem.jacobians[9 * k + 3 * part + i]! * x[3 * k + i]!;
          }
          slack -= (e - (centre ? centre[j]![k]! : 0)) ** 2;
        });
        sum -= mu * Math.log(slack);
      }
    }
    return sum;
  };
  const mu = (FIRST * squares(start)) / n;
  /** What the first step is made of. */
  const firstStep = () => {
    steps.left = 0;
    steps.first = undefined;
    solveWithinLimit(problem, start, { first: FIRST, factor: 0.1, gap: 1 });
    return steps.first as unknown as { band: Float64Array; downhill: Float64Array };
  };
  const moved = (...by: readonly (readonly [number, number])[]) => {
    const x = start.slice();
    for (const [i, h] of by) x[i]! += h;
    return whole(x, mu);
  };

  test('the gradient is that of squares and logarithms', () => {
    const { downhill } = firstStep();
    const h = 1e-4;
    downhill.forEach((found, i) => {
      const slope = (moved([i, h]) - moved([i, -h])) / (2 * h);
      // Slacks above 0.2 of arguments that change by at most 1.3 per unit: the third derivative is
      // below 200 μ, μ below 0.5, so h²/6 of it is below 2e-7. Sums of some 30 round by 1e-14/h.
      expect(Math.abs(found + slope)).toBeLessThan(1e-6);
    });
  });

  test('the matrix is its curvature, and nothing lies outside the band', () => {
    const { band } = firstStep();
    const h = 1e-3;
    for (let i = 0; i < 3 * n; i++) {
      for (let j = 0; j <= i; j++) {
        const curvature =
          (moved([i, h], [j, h]) -
            moved([i, h], [j, -h]) -
            moved([i, -h], [j, h]) +
            moved([i, -h], [j, -h])) /
          (4 * h * h);
        const found = i - j > 11 ? 0 : band[12 * i + i - j]!;
        // The fourth derivative is below 2000 μ, of which h²/3 is 4e-4; rounding leaves 1e-14/h².
        expect(Math.abs(found - curvature)).toBeLessThan(4e-4);
      }
    }
  });
});

test('what the search promises it keeps where every sample meets three limits at once', () => {
  // A rest of E on every axis within |e_i| ≤ b: nothing is calmer than a rest at b, which costs
  // 3 n (E − b)². Each of the three bounds is still worth μ where the search ends, and its barrier
  // falls in small steps, so that it ends just within what was asked.
  const n = 40;
  const wanted = new Float64Array(3 * n).fill(0.2);
  const most = new Float64Array(n).fill(0.1);
  const limit: CorrectionLimit = {
    total: new Float64Array(n).fill(Number.POSITIVE_INFINITY),
    axes: [most, most, most],
  };
  const found = solved(wanted, new Float64Array(3 * n), limit, PENALTY, {
    first: 0.3,
    factor: 0.8,
    gap: 0.1,
  });
  const own = cost(
    found.map((e) => e - 0.2),
    PENALTY,
  );
  const least = 3 * n * 0.1 ** 2;
  expect(own).toBeGreaterThan(least);
  expect(own).toBeLessThan(least / (1 - 0.1));
});

describe('down the aisle of the greenhouse, the camera held to what the operator meant', () => {
  const { measured, intended, frameRate } = makeWalk('heading', 21, {
    duration: 20,
    frameRate: 30,
  });
  const e = rotationVectorsFromQuaternions(
    composeQuaternions(invertQuaternions(measured), intended),
  );
  const angles = measured
    .subarray(0, measured.length / 4)
    .map((_, k) => Math.hypot(...e.subarray(3 * k, 3 * k + 3)));

  /** Root mean square of the third difference of where a path looks. */
  function jerk(path: Float64Array): number {
    const v = rotationVectorsFromQuaternions(
      composeQuaternions(invertQuaternions(path.subarray(0, -4)), path.subarray(4)),
    );
    const second = v.slice(6).map((x, i) => x - 2 * v[i + 3]! + v[i]!);
    return Math.sqrt(second.reduce((sum, x) => sum + x * x, 0) / second.length);
  }

  test.each([0.5, 0.75, 0.9])(
    'a limit that %d of the frames keep costs five times less jerk than clamping to it',
    (kept) => {
      const most = angles.slice().sort()[Math.floor(kept * angles.length)]!;
      const total = new Float64Array(angles.length).fill(most);
      const clamped = composeQuaternions(
        measured,
        quaternionsFromRotationVectors(
          e.map((x, i) => x * Math.min(1, most / angles[Math.floor(i / 3)]!)),
        ),
      );
      const { quaternions, limited } = limitPath(measured, intended, { total }, frameRate);
      expect(Math.abs(limited / angles.length - (1 - kept))).toBeLessThan(0.01);
      expect(5 * jerk(quaternions)).toBeLessThan(jerk(clamped));
    },
  );
});
