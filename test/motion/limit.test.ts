import { describe, expect, test } from 'vitest';
import { makeWalk } from '../../bench/accuracy/walks.js';
import { measuredGreenhouseWalk } from '../../src/demo/greenhouseWalk.js';
import { readCorrections, toCsv } from '../../src/handoff/csv.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import type { CorrectionLimit } from '../../src/motion/correctionLimit.js';
import { levelPath } from '../../src/motion/horizon.js';
import { limitPath, shrinkToLimit } from '../../src/motion/limit.js';
import { separate } from '../../src/motion/separate.js';
import {
  alignSigns,
  anglesOfQuaternions,
  composeQuaternions,
  invertQuaternions,
  quaternionsFromRotationVectors,
  rotationVectorsFromQuaternions,
} from '../../src/rotation/arrays.js';
import { createTrack } from '../../src/track/orientationTrack.js';
import { apply, matrixOf } from '../handoff/results.js';
import { refusal } from '../refusal.js';
import { fc } from '../seed.js';
import { rotations, turnsBy } from '../turns.js';

const deg = RADIANS_PER_DEGREE;
const SAMPLE_RATE = 60;
const WAYS = { 'the calmest path': limitPath, 'the simple path': shrinkToLimit };

/** A limit from a thousandth of a degree to 60°. */
const angles = fc.integer({ min: 1, max: 60_000 }).map((k) => (k / 1000) * deg);

/** Any orientations, any others wanted, and a limit for each, with or without one per axis. */
const cases = fc
  .tuple(
    fc.array(fc.tuple(rotations, rotations, angles, fc.tuple(angles, angles, angles)), {
      minLength: 2,
      maxLength: 60,
    }),
    fc.boolean(),
  )
  .map(([list, perAxis]) => ({
    measured: alignSigns(Float64Array.from(list.flatMap(([q]) => q))),
    wanted: alignSigns(Float64Array.from(list.flatMap(([, q]) => q))),
    limit: {
      total: Float64Array.from(list, ([, , most]) => most),
      ...(perAxis && {
        axes: [0, 1, 2].map((i) => Float64Array.from(list, ([, , , axes]) => axes[i]!)) as [
          Float64Array,
          Float64Array,
          Float64Array,
        ],
      }),
    } satisfies CorrectionLimit,
  }));

const correction = (measured: Float64Array, path: Float64Array) =>
  alignSigns(composeQuaternions(invertQuaternions(path), measured));

function expectWithin(corrections: Float64Array, { total, axes }: CorrectionLimit): void {
  anglesOfQuaternions(corrections).forEach((angle, k) => {
    expect(angle).toBeLessThanOrEqual(total[k]!);
  });
  rotationVectorsFromQuaternions(corrections).forEach((part, i) => {
    if (axes) expect(Math.abs(part)).toBeLessThanOrEqual(axes[i % 3]![Math.floor(i / 3)]!);
  });
}

describe.each(Object.entries(WAYS))('%s within a limit', (_way, limited) => {
  test('is never further from the measured one than the limit, to the last bit', () => {
    fc.assert(
      fc.property(cases, ({ measured, wanted, limit }) => {
        const { quaternions } = limited(measured, wanted, limit, SAMPLE_RATE);
        expectWithin(correction(measured, quaternions), limit);
      }),
    );
  });

  test('nor is it when the corrections went through a file', () => {
    fc.assert(
      fc.property(cases, ({ measured, wanted, limit }) => {
        const { quaternions } = limited(measured, wanted, limit, SAMPLE_RATE);
        const times = limit.total.map((_, k) => k / SAMPLE_RATE);
        const corrections = { times, quaternions: correction(measured, quaternions) };
        expectWithin(readCorrections(toCsv({ corrections })).quaternions, limit);
      }),
    );
  });

  test('is the wanted one itself where the limit is never felt', () => {
    fc.assert(
      fc.property(cases, fc.constantFrom(3.15, Number.POSITIVE_INFINITY), (drawn, wide) => {
        const { measured, wanted } = drawn;
        const total = new Float64Array(wanted.length / 4).fill(wide);
        const free = limited(measured, wanted, { total, axes: [total, total, total] }, SAMPLE_RATE);
        expect(free.quaternions).toBe(wanted);
        expect(free.limited).toBe(0);
      }),
    );
  });

  test.each([0, -1, Number.NaN])('does not exist for a limit of %d', (most) => {
    const q = quaternionsFromRotationVectors(Float64Array.of(0, 0, 0, 0.1, 0, 0));
    const total = Float64Array.of(1, most);
    expect(() => limited(q, q, { total }, SAMPLE_RATE)).toThrow(
      refusal('argument/invalid', `a limit of ${most} rad`),
    );
  });
});

/**
 * Headings wanted of a camera that stands still, and how a limit leaves them, rad: one to the whole
 * angle, or to the heading and more widely to the other two axes.
 */
function headings(
  limited: typeof limitPath,
  wanted: Float64Array,
  mostDeg: number,
  othersDeg?: number,
) {
  const vectors = new Float64Array(3 * wanted.length);
  wanted.forEach((heading, k) => {
    vectors[3 * k + 1] = heading;
  });
  const still = quaternionsFromRotationVectors(new Float64Array(vectors.length));
  const all = (degrees: number) => new Float64Array(wanted.length).fill(degrees * deg);
  const limit: CorrectionLimit =
    othersDeg === undefined
      ? { total: all(mostDeg) }
      : {
          total: all(Number.POSITIVE_INFINITY),
          axes: [all(othersDeg), all(mostDeg), all(othersDeg)],
        };
  const path = limited(still, quaternionsFromRotationVectors(vectors), limit, SAMPLE_RATE);
  const found = rotationVectorsFromQuaternions(path.quaternions);
  return { found: wanted.map((_, k) => found[3 * k + 1]!), limited: path.limited };
}

/**
 * What the calmest path makes small: Σ d² + λ Σ (Δ³d)², half of the amplitude left where something
 * comes and goes once in a shortest move of 2 s. Over a camera that stands still what the path departs
 * by is what the correction departs by.
 */
function cost(found: Float64Array, wanted: Float64Array): number {
  const penalty = (2 * Math.sin((Math.PI * 0.5) / SAMPLE_RATE)) ** -6;
  const d = found.map((x, k) => x - wanted[k]!);
  const third = d.slice(3).map((x, k) => x - 3 * d[k + 2]! + 3 * d[k + 1]! - d[k]!);
  const squares = (values: Float64Array) => values.reduce((sum, x) => sum + x * x, 0);
  return squares(d) + penalty * squares(third);
}

const n = 24 * SAMPLE_RATE;
const jolt = Float64Array.from(
  { length: n },
  (_, k) => (1 + 11 * Math.exp(-(((k - n / 2) / 24) ** 2))) * deg,
);
const over = [...jolt.keys()].filter((k) => jolt[k]! > 5 * deg);

describe.each([
  // Twice a shortest move of 2 s, and a second that is scaled and one that is averaged.
  ['the calmest path', limitPath, 4],
  ['the simple path', shrinkToLimit, 2],
] as const)('around a jolt of 12° against a limit of 5° %s', (_way, limited, seconds) => {
  const path = headings(limited, jolt, 5);

  test('counts the samples that had to give way', () => {
    expect(path.limited).toBe(over.length);
  });

  test(`is the wanted one ${seconds} seconds away`, () => {
    // A limit is near from 0.9 of it on, here a twelfth of a second earlier.
    const away = (seconds + 1 / 12) * SAMPLE_RATE;
    path.found.forEach((heading, k) => {
      if (k >= over[0]! - away && k <= over.at(-1)! + away) return;
      // 121 weights add up to 1, and a rotation vector is written and read.
      expect(Math.abs(heading - jolt[k]!)).toBeLessThan(200 * Number.EPSILON * jolt[k]!);
    });
  });
});

test('the simple path gives way no faster than in a second, and is never turned round', () => {
  const { found } = headings(shrinkToLimit, jolt, 5);
  const shares = found.map((heading, k) => heading / jolt[k]!);
  // The Hann window of 121 samples has no weight above 1/61; shares lie between 5/12 and 1.
  shares.slice(1).forEach((share, k) => {
    expect(share).toBeGreaterThan(0);
    expect(Math.abs(share - shares[k]!)).toBeLessThanOrEqual(1 / 61);
  });
});

test.each([1, 5, 11])(
  'at a limit of %d° the calmest path costs less than the simple one',
  (most) => {
    const calmest = cost(headings(limitPath, jolt, most).found, jolt);
    const simple = cost(headings(shrinkToLimit, jolt, most).found, jolt);
    expect(calmest).toBeLessThan(simple);
  },
);

test.each([
  ['60°', 60, undefined],
  ['115°', 115, undefined],
  ['60° of heading and 170° of the rest', 60, 170],
] as const)('so it is when a limit of %s is felt from end to end', (_words, most, others) => {
  const far = Float64Array.from(
    { length: 1200 },
    (_, k) => most * deg + 0.2 + 0.3 * Math.sin(k / 40),
  );
  const calmest = cost(headings(limitPath, far, most, others).found, far);
  const simple = cost(headings(shrinkToLimit, far, most, others).found, far);
  expect(calmest).toBeLessThan(simple);
});

test('a wanted turn of 100° held to some degrees over the longest moves stays within them', () => {
  // Rotations this far apart do not add up: the search goes through its own straight lines.
  const n = 20 * SAMPLE_RATE;
  const wavering = (size: number, phase: number) => (k: number) =>
    size * Math.sin(k / 37 + phase) + 0.2 * size * Math.sin(k / 5 + 2 * phase);
  const ways = [0, 1, 2].map((axis) => wavering(3 * deg, axis));
  const measured = quaternionsFromRotationVectors(
    Float64Array.from({ length: 3 * n }, (_, i) => ways[i % 3]!(Math.floor(i / 3))),
  );
  const turned = quaternionsFromRotationVectors(
    Float64Array.from({ length: 3 * n }, (_, i) =>
      i % 3 === 1 ? 100 * deg * Math.sin(Math.PI * (Math.floor(i / 3) / n)) : 0,
    ),
  );
  const wanted = composeQuaternions(measured, turned);
  for (const most of [0.5, 6, 60]) {
    const total = new Float64Array(n).fill(most * deg);
    const { quaternions, limited } = limitPath(measured, wanted, { total }, SAMPLE_RATE, 30);
    expect(limited).toBeGreaterThan(n / 3);
    expectWithin(correction(measured, quaternions), { total });
    expect(quaternions.every(Number.isFinite)).toBe(true);
  }
});

describe('the optical axes of two eyes', () => {
  const small = fc.integer({ min: 0, max: 400 }).map((k) => (k / 100) * deg);
  const swings = fc.record({
    lists: fc.array(fc.tuple(rotations, turnsBy(fc.constantFrom(0, 0.02, 0.2, 1, 3))), {
      minLength: 4,
      maxLength: 40,
    }),
    eyes: fc.array(
      fc.record({ around: fc.integer({ min: 0, max: 359 }), off: small, room: small }),
      { minLength: 1, maxLength: 2 },
    ),
  });
  const axisOf = (around: number, off: number) =>
    [
      Math.sin(off) * Math.cos(around * deg),
      Math.sin(off) * Math.sin(around * deg),
      -Math.cos(off),
    ] as const;

  test.each(Object.entries(WAYS))(
    'stay as near to the middle of the view as each may, on %s, whatever the roll',
    (_way, limited) => {
      fc.assert(
        fc.property(swings, ({ lists, eyes }) => {
          const measured = alignSigns(Float64Array.from(lists.flatMap(([q]) => q)));
          const wanted = composeQuaternions(
            measured,
            Float64Array.from(lists.flatMap(([, k]) => k.q)),
          );
          const n = lists.length;
          // Some room must be left at zero; the further sample in two has more.
          const swing = eyes.map(({ around, off, room }) => ({
            axis: axisOf(around, off),
            most: Float64Array.from({ length: n }, (_, k) => off + 0.001 + room * (1 + (k % 2))),
          }));
          const total = new Float64Array(n).fill(Number.POSITIVE_INFINITY);
          const { quaternions } = limited(measured, wanted, { total, swing }, SAMPLE_RATE);
          const corrections = correction(measured, quaternions);
          for (const { axis, most } of swing) {
            for (let k = 0; k < n; k++) {
              const [x, y, z, w] = corrections.subarray(4 * k, 4 * k + 4);
              const seen = apply(matrixOf([x!, y!, z!, w!]), axis);
              const angle = Math.atan2(Math.hypot(seen[0], seen[1]), -seen[2]);
              expect(angle).toBeLessThanOrEqual(most[k]!);
            }
          }
        }),
      );
    },
  );

  test('off by 3° to one side are given the room on the other', () => {
    const n = 200;
    const still = Float64Array.from({ length: 4 * n }, (_, i) => Number(i % 4 === 3));
    const total = new Float64Array(n).fill(Number.POSITIVE_INFINITY);
    const swing = [{ axis: axisOf(90, 3 * deg), most: new Float64Array(n).fill(5 * deg) }];
    const reached = [-1, 1].map((side) => {
      const tilts = Float64Array.from({ length: 3 * n }, (_, i) =>
        i % 3 === 0 ? 10 * side * deg : 0,
      );
      const wanted = quaternionsFromRotationVectors(tilts);
      const { quaternions } = limitPath(still, wanted, { total, swing }, SAMPLE_RATE);
      return anglesOfQuaternions(quaternions)[n / 2]! / deg;
    });
    // S = C Exp(e) with e about x looks up: to 8° above, where the lens looks 3° below the middle of the
    // view plus 5°, and to 2° below. Without roll the disc is exact but for what roll was allowed.
    expect(Math.max(...reached)).toBeGreaterThan(7.9);
    expect(Math.max(...reached)).toBeLessThan(8);
    expect(Math.min(...reached)).toBeGreaterThan(1.9);
    expect(Math.min(...reached)).toBeLessThan(2);
  });
});

test('moves of a quarter of a minute are as stiff as double precision bears, and still limited', () => {
  const n = 2397;
  const rate = 60000 / 1001;
  const times = Float64Array.from({ length: n }, (_, k) => k / rate);
  const measured = new Float64Array(4 * n);
  times.forEach((time, k) => {
    measured.set(measuredGreenhouseWalk(time), 4 * k);
  });
  const track = createTrack({ times, quaternions: measured });
  const wanted = levelPath(separate(track, { shortestMove: 15 }).intended.quaternions, 1);
  const all = (angle: number) => new Float64Array(n).fill(angle * deg);
  const limit = {
    total: all(Number.POSITIVE_INFINITY),
    swing: [{ axis: [0, 0, -1] as const, most: all(5) }],
    baseline: all(3.909282449272649),
  };
  const { quaternions, limited } = limitPath(track.quaternions, wanted, limit, rate, 15);
  expect(limited).toBeGreaterThan(100);
  rotationVectorsFromQuaternions(correction(track.quaternions, quaternions)).forEach(
    (e, i, all) => {
      if (i % 3 === 2) expect(Math.hypot(all[i - 1]!, e)).toBeLessThan(3.91 * deg);
    },
  );
});

test('bounds that the path only comes to on its way are kept without a kink', () => {
  // Slow hands, moves of half a minute and a bound for each axis: most samples come to a bound that the
  // wanted path is far from.
  const { measured } = makeWalk('handheld', 1, { duration: 25, frameRate: 24 });
  const n = measured.length / 4;
  const times = Float64Array.from({ length: n }, (_, k) => k / 24);
  const track = createTrack({ times, quaternions: measured });
  const wanted = levelPath(separate(track, { shortestMove: 30 }).intended.quaternions, 1);
  const all = (angle: number) =>
    Float64Array.from({ length: n }, (_, k) => angle * deg * (1 + 0.3 * Math.sin(k / 37)));
  const limit = { total: all(16), axes: [all(8), all(12), all(5.6)] as const };
  const turns = (path: Float64Array) =>
    rotationVectorsFromQuaternions(
      composeQuaternions(invertQuaternions(path.subarray(0, -4)), path.subarray(4)),
    );
  /** Σ of squared third differences of where a path looks, less those of the wanted one, rad². */
  const jerk = (way: typeof limitPath) => {
    const { quaternions, limited } = way(track.quaternions, wanted, limit, 24, 30);
    expect(limited).toBeGreaterThan(n / 4);
    const meant = turns(wanted);
    const more = turns(quaternions).map((v, i) => v - meant[i]!);
    const third = more.slice(6).map((v, i) => v - 2 * more[i + 3]! + more[i]!);
    return third.reduce((sum, v) => sum + v * v, 0);
  };
  // A path that is cut where it oversteps a bound is not even as calm as the simple one.
  expect(jerk(limitPath)).toBeLessThan(jerk(shrinkToLimit) / 100);
});
