import { describe, expect, test } from 'vitest';
import { makeWalk, type WalkKind } from '../bench/accuracy/walks.js';
import { type CorrectOptions, correct } from '../src/correct.js';
import { readCorrections, toCsv } from '../src/handoff/csv.js';
import { RADIANS_PER_DEGREE } from '../src/math.js';
import { separate } from '../src/motion/separate.js';
import { eyeCorrections } from '../src/rig/eyeCorrections.js';
import {
  anglesOfQuaternions,
  angularDistances,
  composeQuaternions,
  invertQuaternions,
  quaternionAt,
} from '../src/rotation/arrays.js';
import {
  headingTiltRollFromQuaternion,
  quaternionFromHeadingTiltRoll,
} from '../src/rotation/headingTiltRoll.js';
import type { Quaternion } from '../src/rotation/quaternion.js';
import { frameTimes } from '../src/track/frameRate.js';
import { createTrack, type OrientationTrack } from '../src/track/orientationTrack.js';
import { apart, largestGap } from './apart.js';
import { refusal } from './refusal.js';
import { fc } from './seed.js';

const deg = RADIANS_PER_DEGREE;
const FRAME_RATE = { numerator: 60000, denominator: 1001 };
const OPTIONS = { shot: 'travelling', filter: 'spline' } as const satisfies CorrectOptions;

/** Twelve seconds of a walk through the greenhouse. */
function walk([kind, seed]: readonly [WalkKind, number]): OrientationTrack {
  const { measured } = makeWalk(kind, seed, { duration: 12 });
  const times = frameTimes(FRAME_RATE, measured.length / 4);
  return createTrack({ times, quaternions: measured, frameRate: FRAME_RATE });
}

const walks = fc.tuple(
  fc.constantFrom<WalkKind[]>('scurve', 'turn90', 'panhold', 'tilt', 'roaming'),
  fc.integer({ min: 1, max: 99 }),
);
const RUNS = { numRuns: 8 };

const turned = (track: OrientationTrack, quaternions: Float64Array) =>
  createTrack({ times: track.times, quaternions, frameRate: FRAME_RATE });
const largest = (values: Float64Array) => values.reduce((max, x) => Math.max(max, x), 0);
const rollAt = (quaternions: Float64Array, k: number) =>
  headingTiltRollFromQuaternion(quaternionAt(quaternions, k)).roll;

describe('the corrective rotation of every frame', () => {
  test('before it the intended orientation makes the measured one: S K = C', () => {
    fc.assert(
      fc.property(walks, fc.constantFrom(undefined, 3), (drawn, totalDeg) => {
        const track = walk(drawn);
        const result = correct(track, { ...OPTIONS, limits: totalDeg ? { totalDeg } : {} });
        const { quaternions } = result.corrections;
        const again = composeQuaternions(result.intended.quaternions, quaternions);
        expect(largest(angularDistances(again, track.quaternions))).toBeLessThan(1e-12);
      }),
      RUNS,
    );
  });

  test('is the same for both eyes, to the last bit', () => {
    fc.assert(
      fc.property(walks, (drawn) => {
        const track = walk(drawn);
        const result = correct(track, OPTIONS);
        const { corrections, swapEyes } = result;
        const [left, right] = [eyeCorrections(result, 'left'), eyeCorrections(result, 'right')];
        expect(left).toEqual(right);
        expect(left).toEqual(corrections.quaternions);
        expect(left).not.toBe(right);
        expect(left).not.toBe(corrections.quaternions);
        expect(swapEyes).toBe(false);
      }),
      RUNS,
    );
  });

  test('does not depend on the sign of any quaternion that comes in', () => {
    fc.assert(
      fc.property(walks, fc.integer({ min: 1, max: 2 ** 31 - 1 }), (drawn, mask) => {
        const track = walk(drawn);
        const flipped = track.quaternions.map((x, i) => ((mask >> ((i >> 2) % 31)) & 1 ? -x : x));
        const [other, same] = [flipped, track.quaternions].map((q) =>
          correct(turned(track, q), OPTIONS),
        );
        expect(other!.corrections).toEqual(same!.corrections);
      }),
      RUNS,
    );
  });

  // Rotating the world adds a constant to one signal. The Gaussian's sums round by some hundred
  // epsilons of it. The factors of the spline round by 8 epsilons of their norm 64 λ, with λ = 2e5 at
  // a quarter of the slowest step of 1.25 Hz and 15 samples a second, and twelve seconds add √180.
  test.each([
    ['gaussian', 1e-12],
    ['spline', 8 * 64 * 2e5 * Math.sqrt(180) * 2 * Math.PI * Number.EPSILON],
  ] as const)('does not depend on which way is north (%s)', (filter, tolerance) => {
    fc.assert(
      fc.property(walks, fc.integer({ min: -180, max: 180 }), (drawn, north) => {
        const track = walk(drawn);
        const turn = quaternionFromHeadingTiltRoll(north * deg, 0, 0);
        const other = turned(track, composeQuaternions(turn, track.quaternions));
        const options = { ...OPTIONS, filter };
        const [here, there] = [correct(track, options), correct(other, options)];
        const same = angularDistances(here.corrections.quaternions, there.corrections.quaternions);
        expect(largest(same)).toBeLessThan(tolerance);
        const along = composeQuaternions(turn, here.intended.quaternions);
        expect(largest(angularDistances(along, there.intended.quaternions))).toBeLessThan(
          tolerance,
        );
      }),
      RUNS,
    );
  });

  test('never exceeds the limit, whatever is asked for, and not in the file either', () => {
    fc.assert(
      fc.property(walks, fc.integer({ min: 1, max: 400 }), (drawn, hundredths) => {
        const track = walk(drawn);
        const totalDeg = hundredths / 100;
        const aim = [
          { time: 2, heading: 3, tilt: -1 },
          { time: 9, heading: -1, tilt: 1, roll: 0.5 },
        ];
        const result = correct(track, { ...OPTIONS, aim, limits: { totalDeg } });
        expect(result.warnings.map(({ code }) => code)).toContain('limit/active');
        const read = readCorrections(toCsv(result));
        for (const { quaternions } of [result.corrections, read]) {
          expect(largest(anglesOfQuaternions(quaternions))).toBeLessThanOrEqual(totalDeg * deg);
        }
      }),
      RUNS,
    );
  });
});

describe('corrections that are already in the footage', () => {
  test('are folded in: the path and the rotation of the original frames come out the same', () => {
    fc.assert(
      fc.property(walks, (drawn) => {
        const track = walk(drawn);
        const direct = correct(track, OPTIONS);
        const first = correct(track, { ...OPTIONS, level: 0, limits: { totalDeg: 1 } }).corrections;
        const seen = composeQuaternions(track.quaternions, invertQuaternions(first.quaternions));
        const again = correct(turned(track, seen), { ...OPTIONS, earlier: [first] });
        for (const [a, b] of [
          [again.intended.quaternions, direct.intended.quaternions],
          [again.corrections.quaternions, direct.corrections.quaternions],
        ] as const) {
          expect(largest(angularDistances(a, b))).toBeLessThan(1e-12);
        }
      }),
      RUNS,
    );
  });

  test('count in the order in which they were applied', () => {
    fc.assert(
      fc.property(walks, (drawn) => {
        const track = walk(drawn);
        const { times } = track;
        const twist = (q: Quaternion) => ({
          times,
          quaternions: Float64Array.from([...times].flatMap(() => [...q])),
        });
        const first = twist(quaternionFromHeadingTiltRoll(0.3, 0, 0));
        const second = twist(quaternionFromHeadingTiltRoll(0, 0.2, 0.1));
        const seen = [first, second].reduce(
          (q, { quaternions }) => composeQuaternions(q, invertQuaternions(quaternions)),
          track.quaternions,
        );
        const again = correct(turned(track, seen), { ...OPTIONS, earlier: [first, second] });
        const direct = correct(track, OPTIONS);
        const gaps = angularDistances(again.intended.quaternions, direct.intended.quaternions);
        expect(largest(gaps)).toBeLessThan(1e-12);
      }),
      RUNS,
    );
  });
});

describe('the horizon', () => {
  test('level 0 keeps the roll that the operator meant, level 1 takes it all out', () => {
    fc.assert(
      fc.property(walks, (drawn) => {
        const track = walk(drawn);
        const meant = separate(track, OPTIONS).intended.quaternions;
        const kept = correct(track, { ...OPTIONS, level: 0 }).intended.quaternions;
        const level = correct(track, OPTIONS).intended.quaternions;
        // Angles read and written once, within 65° of the horizon.
        expect(largest(angularDistances(kept, meant))).toBeLessThan(50 * Number.EPSILON);
        for (let k = 0; k < track.times.length; k++) {
          expect(Math.abs(rollAt(level, k))).toBeLessThan(50 * Number.EPSILON);
        }
      }),
      RUNS,
    );
  });

  test.each([-0.1, 1.1, Number.NaN])('a level of %d is refused', (level) => {
    const track = walk(['scurve', 1]);
    expect(() => correct(track, { level })).toThrow(
      refusal('argument/invalid', `a level of ${level}`),
    );
  });

  test('a camera that hangs upside down has its picture turned and its eyes exchanged, and a warning says so', () => {
    const track = walk(['scurve', 1]);
    const over = quaternionFromHeadingTiltRoll(0, 0, Math.PI);
    const hanging = correct(turned(track, composeQuaternions(track.quaternions, over)), OPTIONS);
    expect(hanging.warnings.map(({ code }) => code)).toContain('rig/upside-down');
    expect(hanging.swapEyes).toBe(true);
    for (let k = 0; k < track.times.length; k++) {
      const left = Math.abs(rollAt(hanging.intended.quaternions, k));
      expect(left).toBeLessThan(50 * Number.EPSILON);
      const { roll } = headingTiltRollFromQuaternion(
        quaternionAt(eyeCorrections(hanging, 'left'), k),
      );
      // What is left of the half turn once the roll of a walk is out.
      expect(Math.abs(roll)).toBeGreaterThan(Math.PI / 2);
    }
  });
});

test('at the time of an aim key the view looks where the key says', () => {
  fc.assert(
    fc.property(walks, fc.integer({ min: 0, max: 700 }), (drawn, frame) => {
      const track = walk(drawn);
      const key = { time: track.times[frame]!, heading: 1, tilt: 0.2, roll: 0.1 };
      const { intended } = correct(track, { ...OPTIONS, aim: [key] });
      const wanted = quaternionFromHeadingTiltRoll(key.heading, key.tilt, key.roll);
      expect(apart(quaternionAt(intended.quaternions, frame), wanted)).toBeLessThan(1e-14);
    }),
    RUNS,
  );
});

test('frames that are missing are bridged: there is one correction for every frame of the clip', () => {
  const gone = fc.uniqueArray(fc.integer({ min: 1, max: 717 }), { minLength: 1, maxLength: 40 });
  fc.assert(
    fc.property(walks, gone, (drawn, missing) => {
      const track = walk(drawn);
      const there = [...track.frames!].filter((frame) => !missing.includes(frame));
      const gappy = createTrack({
        times: Float64Array.from(there, (frame) => track.times[frame]!),
        quaternions: Float64Array.from(
          there.flatMap((frame) => [...quaternionAt(track.quaternions, frame)]),
        ),
        frameRate: FRAME_RATE,
      });
      const { corrections, intended, warnings } = correct(gappy, OPTIONS);
      expect(corrections.frames).toEqual(track.frames);
      expect(corrections.quaternions).toHaveLength(track.quaternions.length);
      const again = composeQuaternions(intended.quaternions, corrections.quaternions);
      for (const frame of there) {
        const q = quaternionAt(track.quaternions, frame);
        expect(apart(quaternionAt(again, frame), q)).toBeLessThan(1e-12);
      }
      const bridged = warnings.find(({ code }) => code === 'track/bridged');
      expect(bridged?.message).toContain(`${missing.length} missing frame`);
    }),
    RUNS,
  );
});

test('the track that comes in is left as it was', () => {
  const track = walk(['scurve', 1]);
  const before = { times: track.times.slice(), quaternions: track.quaternions.slice() };
  correct(track, { ...OPTIONS, limits: { totalDeg: 2 }, level: 0.5 });
  expect(largestGap(track.times, before.times)).toBe(0);
  expect(largestGap(track.quaternions, before.quaternions)).toBe(0);
});
