import { readFileSync } from 'node:fs';
import { Matrix, solve } from 'ml-matrix';
import { afterEach, describe, expect, test, vi } from 'vitest';
import { makeWalk } from '../../bench/accuracy/walks.js';
import { boundsOf, type CorrectionLimit } from '../../src/motion/correctionLimit.js';
import { limitPath } from '../../src/motion/limit.js';
import {
  addPulls,
  type Constraints,
  constraintsOf,
  curvatureOf,
  gapAfter,
  longestStep,
  measureMisses,
  settleSlacks,
  stepAlong,
  worstViolation,
} from '../../src/motion/limitConstraints.js';
import {
  correctionsOf,
  costAndGradient,
  hessianOfCost,
  type LimitProblem,
} from '../../src/motion/limitProblem.js';
import { solveWithinLimit } from '../../src/motion/limitSolver.js';
import type * as Blocks from '../../src/numeric/blockBanded.js';
import {
  composeQuaternions,
  invertQuaternions,
  quaternionsFromRotationVectors,
  rotationVectorsFromQuaternions,
} from '../../src/rotation/arrays.js';
import { fc } from '../seed.js';

/** Solves that are still done; after them every step is nil. */
const solves = vi.hoisted(() => ({ left: Number.POSITIVE_INFINITY }));
vi.mock('../../src/numeric/blockBanded.js', async (original) => {
  const blocks = await original<typeof Blocks>();
  return {
    ...blocks,
    solveBlocks: (factor: Float64Array, b: Float64Array) => {
      if (solves.left-- > 0) blocks.solveBlocks(factor, b);
      else b.fill(0);
    },
  };
});
afterEach(() => {
  solves.left = Number.POSITIVE_INFINITY;
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

/** Share of the cost that what is found may lie above the least. */
const GAP = 0.02;
/** By how much of its square a bound may be overstepped. */
const VIOLATION = 1e-6;

const IDENTITY = [1, 0, 0, 0, 1, 0, 0, 0, 1];
const allOf = (n: number) => new Int32Array(n).map((_, k) => k);

/** Deviations x of corrections E + x, whose path has no jerk but theirs. */
function around(wanted: Float64Array, limit: CorrectionLimit, penalty: number): LimitProblem {
  return {
    target: new Float64Array(wanted.length),
    watched: allOf(wanted.length / 3),
    correction: wanted,
    jacobians: Float64Array.from({ length: 3 * wanted.length }, (_, i) => IDENTITY[i % 9]!),
    bounds: boundsOf(limit, wanted),
    jerkOfBase: new Float64Array(wanted.length),
    penalty,
  };
}

/** The corrections that the solver finds around wanted ones, begun at others. */
function solved(
  wanted: Float64Array,
  start: Float64Array,
  limit: CorrectionLimit,
  penalty: number,
  gap = GAP,
) {
  const problem = around(wanted, limit, penalty);
  const { x, multipliers } = solveWithinLimit(
    problem,
    start.map((e, i) => e - wanted[i]!),
    gap,
  );
  return { problem, x, multipliers, e: wanted.map((each, i) => each + x[i]!) };
}

describe.each(Object.entries(scipy.cases))('within %s', (_words, expected) => {
  const wanted = Float64Array.from(expected.wanted);
  const limit: CorrectionLimit = {
    total: Float64Array.from(expected.total),
    ...(expected.axes && { axes: byAxis(expected.axes) }),
  };
  const inside = wanted.map((x) => x / (1.5 * share(wanted, limit)));

  test('the corrections cost at most a fiftieth more than those of scipy', () => {
    const { x, e, problem, multipliers } = solved(wanted, inside, limit, scipy.penalty);
    const own = cost(x, scipy.penalty);
    // A slack of a constraint may be wrong by a millionth of its square, which is worth its multiplier.
    // Sequential least squares stopped where a step gained less than 1e-11.
    const { squares } = constraintsOf(problem);
    const worth = squares.reduce((sum, square, c) => sum + square * multipliers[c]!, 0);
    expect(own).toBeGreaterThan(expected.cost - VIOLATION * worth - 1e-10);
    expect(own).toBeLessThan(expected.cost / (1 - GAP));
    // The cost rises at least as fast as the square of the distance to its least place.
    const distance = Math.hypot(...e.map((each, i) => each - expected.corrections[i]!));
    const least = expected.cost - VIOLATION * worth;
    expect(distance).toBeLessThan(Math.sqrt(expected.cost / (1 - GAP) - least));
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

test('what is found holds every limit to a millionth of its square', () => {
  fc.assert(
    fc.property(problems, ({ wanted, limit }) => {
      const start = wanted.map((x) => x / (1.5 * Math.max(1, share(wanted, limit))));
      const { e } = solved(wanted, start, limit, PENALTY);
      expect(share(e, limit)).toBeLessThan(Math.sqrt(1 + VIOLATION) + 1e-12);
    }),
  );
});

test('wherever the search is stopped the path holds every limit', () => {
  fc.assert(
    fc.property(problems, ({ most, wanted, limit }) => {
      solves.left = most;
      const still = quaternionsFromRotationVectors(new Float64Array(wanted.length));
      const path = quaternionsFromRotationVectors(wanted);
      const { quaternions } = limitPath(still, path, limit, 10);
      expect(share(rotationVectorsFromQuaternions(quaternions), limit)).toBeLessThanOrEqual(1);
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

// Any tilted frame, any base, and bounds of which all are felt, one of them around a centre, at some of
// the samples.
const n = 9;
const watched = Int32Array.of(0, 1, 3, 4, 5, 8);
const m = watched.length;
const some = (size: number, phase: number, length = 3 * n) =>
  Float64Array.from({ length }, (_, i) => size * Math.sin(12.9898 * (i + 1) + phase));
const problem: LimitProblem = {
  target: some(0.4, 1),
  watched,
  correction: some(0.1, 2, 3 * m),
  jacobians: some(0.3, 3, 9 * m).map((value, i) => value + IDENTITY[i % 9]!),
  bounds: [
    { parts: [0, 1, 2], most: some(0.1, 4, m).map((value) => 1 + value) },
    { parts: [1], most: some(0.1, 5, m).map((value) => 0.8 + value) },
    {
      parts: [0, 1],
      centre: [some(0.1, 6, m), some(0.1, 7, m)],
      most: some(0.1, 8, m).map((value) => 0.9 + value),
    },
  ],
  jerkOfBase: some(0.2, 9),
  penalty: 0.7,
};

describe('Newton’s matrix and right side', () => {
  const place = some(0.15, 10);
  /** f of limitProblem.ts, written out. */
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
  /** c of limitConstraints.ts in the order of its list, written out. */
  const rooms = (x: Float64Array) => {
    const out: number[] = [];
    for (let p = 0; p < m; p++) {
      for (const { parts, centre, most } of problem.bounds) {
        let room = most[p]! ** 2;
        parts.forEach((part, j) => {
          let e = problem.correction[3 * p + part]!;
          for (let i = 0; i < 3; i++) {
            e += problem.jacobians[9 * p + 3 * part + i]! * x[3 * watched[p]! + i]!;
          }
          room -= (e - (centre ? centre[j]![p]! : 0)) ** 2;
        });
        out.push(room);
      }
    }
    return out;
  };
  const moved = (...by: readonly (readonly [number, number])[]) => {
    const x = place.slice();
    for (const [i, h] of by) x[i]! += h;
    return x;
  };
  // f and c are quadratic, so that central differences are exact but for rounding: sums of at most 60
  // terms below 1 leave 60 ε/h in slopes and four of them over 4 h² in curvatures.
  const h = 0.1;
  const ROUNDING = 100 * Number.EPSILON;
  const slope = (of: (x: Float64Array) => number, i: number) =>
    (of(moved([i, h])) - of(moved([i, -h]))) / (2 * h);
  const curvature = (of: (x: Float64Array) => number, i: number, j: number) =>
    (of(moved([i, h], [j, h])) -
      of(moved([i, h], [j, -h])) -
      of(moved([i, -h], [j, h])) +
      of(moved([i, -h], [j, -h]))) /
    (4 * h * h);

  const e = new Float64Array(3 * m);
  correctionsOf(problem, place, e);
  /** The list at that place, with any slacks and multipliers. */
  const list = (): Constraints => {
    const constraints = constraintsOf(problem);
    for (let c = 0; c < constraints.count; c++) {
      constraints.slacks[c] = 0.5 + 0.3 * Math.sin(c);
      constraints.multipliers[c] = 0.6 + 0.4 * Math.cos(3 * c);
    }
    measureMisses(constraints, e);
    return constraints;
  };

  test('the cost and its gradient are those of the squares', () => {
    const gradient = new Float64Array(3 * n);
    expect(costAndGradient(problem, place, gradient)).toBeCloseTo(squares(place), 13);
    gradient.forEach((found, i) => {
      expect(Math.abs(found - slope(squares, i))).toBeLessThan(ROUNDING / h);
    });
  });

  test('the Hessian is their curvature, and nothing lies outside its blocks', () => {
    const rows = hessianOfCost(n, problem.penalty);
    for (let i = 0; i < 3 * n; i++) {
      for (let j = 0; j <= i; j++) {
        const distance = (i - j) / 3;
        const found =
          distance <= 3 && i % 3 === j % 3 ? rows[4 * Math.floor(i / 3) + distance]! : 0;
        expect(Math.abs(found - curvature(squares, i, j))).toBeLessThan(ROUNDING / (h * h));
      }
    }
  });

  test('the misses are what the bounds leave less the slacks', () => {
    const { slacks, misses, count } = list();
    expect(count).toBe(3 * m);
    rooms(place).forEach((room, c) => {
      expect(Math.abs(misses[c]! - (room - slacks[c]!))).toBeLessThan(ROUNDING);
    });
  });

  test('the pulls are the weighted gradients of what the bounds leave, downhill', () => {
    const constraints = list();
    const out = new Float64Array(3 * n);
    addPulls(constraints, constraints.multipliers, e, problem, out);
    const weighted = (x: Float64Array) =>
      rooms(x).reduce((sum, room, c) => sum - constraints.multipliers[c]! * room, 0);
    out.forEach((found, i) => {
      expect(Math.abs(found - slope(weighted, i))).toBeLessThan(ROUNDING / h);
    });
  });

  test('the curvature is that of the bounds and their steepness, block by block', () => {
    const { slacks, multipliers, ...rest } = list();
    const out = new Float64Array(6 * n).fill(7);
    curvatureOf({ slacks, multipliers, ...rest }, e, problem, out);
    const gradients = Array.from({ length: 3 * n }, (_, i) => {
      const [up, down] = [rooms(moved([i, h])), rooms(moved([i, -h]))];
      return up.map((room, c) => (room - down[c]!) / (2 * h));
    });
    const bent = (x: Float64Array) =>
      rooms(x).reduce((sum, room, c) => sum - multipliers[c]! * room, 0);
    for (let k = 0, o = 0; k < n; k++) {
      for (let i = 3 * k; i < 3 * k + 3; i++) {
        for (let j = 3 * k; j <= i; j++, o++) {
          const steep = gradients[i]!.reduce(
            (sum, each, c) => sum + (multipliers[c]! / slacks[c]!) * each * gradients[j]![c]!,
            0,
          );
          // Multipliers over slacks are below 5, gradients below 3.
          expect(Math.abs(out[o]! - curvature(bent, i, j) - steep)).toBeLessThan(
            (ROUNDING / (h * h)) * 30,
          );
        }
      }
    }
  });

  test('a step of slacks and multipliers reaches c = s and s z = aim in straight lines', () => {
    const constraints = list();
    const { slacks, multipliers, misses, slackSteps, multiplierSteps } = constraints;
    const step = some(0.2, 11);
    const stepE = new Float64Array(3 * m);
    correctionsOf({ watched, jacobians: problem.jacobians }, step, stepE);
    const aims = Float64Array.from(slacks, (_, c) => 0.1 + 0.05 * Math.sin(5 * c));
    stepAlong(constraints, e, stepE, aims);
    const ahead = rooms(place.map((x, i) => x + h * step[i]!));
    const behind = rooms(place.map((x, i) => x - h * step[i]!));
    for (let c = 0; c < constraints.count; c++) {
      const along = (ahead[c]! - behind[c]!) / (2 * h);
      expect(Math.abs(misses[c]! + along - slackSteps[c]!)).toBeLessThan(ROUNDING / h);
      const product =
        slacks[c]! * multipliers[c]! +
        slacks[c]! * multiplierSteps[c]! +
        multipliers[c]! * slackSteps[c]!;
      expect(Math.abs(product - aims[c]!)).toBeLessThan(ROUNDING);
    }
    const products = slacks.map(
      (s, c) => (s + 0.3 * slackSteps[c]!) * (multipliers[c]! + 0.6 * multiplierSteps[c]!),
    );
    expect(gapAfter(constraints, 0.3, 0.6)).toBeCloseTo(
      products.reduce((sum, product) => sum + product, 0),
      12,
    );
  });

  test('a step goes as far as the first value has lost its share, and never beyond itself', () => {
    const values = Float64Array.of(1, 2, 3);
    expect(longestStep(values, Float64Array.of(-2, 5, -4), 0.5)).toBe(0.25);
    expect(longestStep(values, Float64Array.of(-0.4, 5, -1), 0.5)).toBe(1);
  });

  test('slacks follow what the bounds leave where that is a good part of them', () => {
    const constraints = list();
    const { slacks, misses } = constraints;
    slacks.set([0.5, 0.5, 0.5]);
    misses.set([0.25, -0.125, -0.375]);
    settleSlacks(constraints, 0.5);
    expect([...slacks.subarray(0, 3)]).toEqual([0.75, 0.375, 0.5]);
    expect([...misses.subarray(0, 3)]).toEqual([0, 0, -0.375]);
  });

  test('the worst violation counts as a share of its square', () => {
    const constraints = list();
    constraints.misses.fill(0);
    expect(worstViolation(constraints)).toBe(0);
    constraints.misses[4] = -constraints.slacks[4]! - 0.01 * constraints.squares[4]!;
    expect(worstViolation(constraints)).toBeCloseTo(0.01, 12);
  });
});

/**
 * The least of the Lagrangian f − Σ z c: for any z ≥ 0 no cost within the bounds is below it. Both are
 * quadratic, so the least lies where one dense system says.
 */
function leastOfLagrangian(
  { target, watched, correction, jacobians, bounds, jerkOfBase, penalty }: LimitProblem,
  multipliers: Float64Array,
): number {
  const size = target.length;
  const rows: number[][] = [];
  const right: number[] = [];
  // Every square as one row of a least-squares problem: (row · x − right)².
  const square = (
    weight: number,
    entries: readonly (readonly [number, number])[],
    value: number,
  ) => {
    const row = new Array<number>(size).fill(0);
    for (const [i, entry] of entries) row[i] = Math.sqrt(weight) * entry;
    rows.push(row);
    right.push(Math.sqrt(weight) * value);
  };
  let rest = 0;
  for (let i = 0; i < size; i++) {
    square(1, [[i, 1]], target[i]!);
    if (i < 9) continue;
    square(
      penalty,
      [
        [i, 1],
        [i - 3, -3],
        [i - 6, 3],
        [i - 9, -1],
      ],
      -jerkOfBase[i]!,
    );
  }
  let c = 0;
  for (const [p, k] of watched.entries()) {
    for (const { parts, centre, most } of bounds) {
      if (most[p] === Number.POSITIVE_INFINITY) continue;
      const z = multipliers[c++]!;
      rest -= z * most[p]! ** 2;
      parts.forEach((part, j) => {
        const entries = [0, 1, 2].map(
          (i) => [3 * k + i, jacobians[9 * p + 3 * part + i]!] as const,
        );
        square(z, entries, (centre ? centre[j]![p]! : 0) - correction[3 * p + part]!);
      });
    }
  }
  const matrix = new Matrix(rows);
  const b = Matrix.columnVector(right);
  const transposed = matrix.transpose();
  const x = solve(transposed.mmul(matrix), transposed.mmul(b));
  const off = matrix.mmul(x).sub(b).to1DArray();
  return off.reduce((sum, value) => sum + value * value, rest);
}

describe('what the search promises it keeps', () => {
  // The bounds are felt by all samples, so that each is worth something.
  const tight = {
    ...problem,
    bounds: problem.bounds.map((bound) => ({ ...bound, most: bound.most.map((x) => x - 0.6) })),
  };
  test('the cost is within any share of the least, by the multipliers it gives back', () => {
    // So many shares lie between the gaps of any two steps that a gap that counted half would end a
    // search a step too early.
    for (let gap = 0.95; gap > 1e-3; gap *= 0.95) {
      const { x, multipliers } = solveWithinLimit(tight, new Float64Array(3 * n), gap);
      const own = costAndGradient(tight, x, new Float64Array(3 * n));
      expect(own - leastOfLagrangian(tight, multipliers)).toBeLessThan(gap * own);
    }
  });

  test('also where it begins with multipliers of a problem close by', () => {
    const first = solveWithinLimit(tight, new Float64Array(3 * n), 0.01);
    const moved = { ...tight, correction: tight.correction.map((e, i) => e + 0.01 * Math.sin(i)) };
    const { x, multipliers } = solveWithinLimit(moved, first.x, 1e-3, first.multipliers);
    const own = costAndGradient(moved, x, new Float64Array(3 * n));
    expect(own - leastOfLagrangian(moved, multipliers)).toBeLessThan(1e-3 * own);
  });
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
