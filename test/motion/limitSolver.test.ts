import { readFileSync } from 'node:fs';
import { afterEach, describe, expect, test, vi } from 'vitest';
import { makeWalk } from '../../bench/accuracy/walks.js';
import type { CorrectionLimit } from '../../src/motion/correctionLimit.js';
import { limitPath } from '../../src/motion/limit.js';
import { nearestWithinLimit } from '../../src/motion/limitSolver.js';
import type * as Banded from '../../src/numeric/banded.js';
import {
  composeQuaternions,
  invertQuaternions,
  quaternionsFromRotationVectors,
  rotationVectorsFromQuaternions,
} from '../../src/rotation/arrays.js';
import { fc } from '../seed.js';

/** Newton's steps that are still taken; after them every step is nil, which ends the search. */
const steps = vi.hoisted(() => ({ left: Number.POSITIVE_INFINITY }));
vi.mock('../../src/numeric/banded.js', async (original) => {
  const banded = await original<typeof Banded>();
  return {
    ...banded,
    solveFactored: (matrix: Banded.BandedMatrix, b: Float64Array) =>
      steps.left-- > 0 ? banded.solveFactored(matrix, b) : b.fill(0),
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

describe.each(Object.entries(scipy.cases))('within %s', (_words, expected) => {
  const wanted = Float64Array.from(expected.wanted);
  const limit: CorrectionLimit = {
    total: Float64Array.from(expected.total),
    ...(expected.axes && { axes: byAxis(expected.axes) }),
  };
  const start = wanted.map((x) => x / (1.5 * share(wanted, limit)));
  const solve = () => nearestWithinLimit(wanted, start, limit, scipy.sampleRate);

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
      expect(share(nearestWithinLimit(wanted, start, limit, 10), limit)).toBeLessThan(1);
    }),
  );
});

test('what was wanted and where the search began are left as they were', () => {
  fc.assert(
    fc.property(problems, ({ wanted, limit }) => {
      const start = wanted.map((x) => x / (1.5 * Math.max(1, share(wanted, limit))));
      const before = structuredClone({ wanted, start, limit });
      nearestWithinLimit(wanted, start, limit, 10);
      expect({ wanted, start, limit }).toEqual(before);
    }),
  );
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
