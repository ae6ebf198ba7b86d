import { describe, expect, test } from 'vitest';
import { trackOf } from '../../bench/accuracy/evaluate.js';
import { makeWalk, WALK_KINDS } from '../../bench/accuracy/walks.js';
import { correct } from '../../src/correct.js';
import { angularDistances, composeQuaternions, quaternionAt } from '../../src/rotation/arrays.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';
import { quaternionFromRotationVector } from '../../src/rotation/rotationVector.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import { mendTracker } from '../../src/track/trackerFaults.js';
import { fc } from '../seed.js';

const DEGREE = Math.PI / 180;
const walk = trackOf(makeWalk('roaming', 3, { duration: 20 }));
const frames = walk.times.length;

/** The walk with some of its orientations replaced. */
function spoilt(spoil: (quaternions: Float64Array) => void, track = walk): OrientationTrack {
  const quaternions = track.quaternions.slice();
  spoil(quaternions);
  return createTrack({ times: track.times, quaternions });
}

function turned(quaternions: Float64Array, k: number, turn: Quaternion): void {
  quaternions.set(composeQuaternions(turn, quaternions.slice(4 * k, 4 * k + 4)), 4 * k);
}

const largest = (a: Float64Array, b: Float64Array) =>
  angularDistances(a, b).reduce((most, angle) => Math.max(most, angle), 0);

const places = fc.integer({ min: 80, max: frames - 120 });
const leaps = fc
  .tuple(
    fc.integer({ min: 0, max: 359 }),
    fc.integer({ min: -60, max: 60 }),
    fc.integer({ min: 8, max: 170 }),
  )
  .map(([azimuth, height, angle]) => {
    const [a, h] = [azimuth * DEGREE, height * DEGREE];
    return quaternionFromRotationVector([
      angle * DEGREE * Math.cos(h) * Math.cos(a),
      angle * DEGREE * Math.sin(h),
      angle * DEGREE * Math.cos(h) * Math.sin(a),
    ]);
  });

test.each(WALK_KINDS)('a sound track is left as it is: %s', (kind) => {
  const track = trackOf(makeWalk(kind, 5, { duration: 20 }));
  const mended = mendTracker(track);
  expect(mended.faults).toEqual([]);
  expect(mended.track).toBe(track);
});

describe('planted anywhere, a fault is found where it is and mended', () => {
  test('a single wild frame', () => {
    fc.assert(
      fc.property(places, leaps, (k, turn) => {
        const { track, faults } = mendTracker(spoilt((q) => turned(q, k, turn)));
        expect(faults).toMatchObject([{ kind: 'wild', from: k, to: k, mended: true }]);
        // Looking about accelerates by less than 400 °/s²: h²/8 · a over two frames is 0.06°.
        expect(largest(track.quaternions, walk.quaternions)).toBeLessThan(0.5 * DEGREE);
      }),
      { numRuns: 40 },
    );
  });

  test('a picture turned upside down for a frame', () => {
    const { faults } = mendTracker(spoilt((q) => turned(q, 400, [0, 0, 1, 0])));
    expect(faults).toMatchObject([{ kind: 'wild', from: 400, to: 400 }]);
  });

  test('rows of zeros, which read as the identity', () => {
    const away = spoilt((q) => q.set(composeQuaternions([0, Math.sqrt(0.75), 0, 0.5], q)), walk);
    const { faults } = mendTracker(
      spoilt((q) => {
        for (let k = 300; k < 308; k++) q.set([0, 0, 0, 1], 4 * k);
      }, away),
    );
    expect(faults).toMatchObject([{ kind: 'wild', from: 300, to: 307 }]);
  });

  test('thirty frozen frames', () => {
    fc.assert(
      fc.property(places, (k) => {
        const { faults } = mendTracker(
          spoilt((q) => {
            for (let j = 1; j <= 30; j++) q.set(quaternionAt(walk.quaternions, k), 4 * (k + j));
          }),
        );
        // A gaze that rests at the moment of the freeze shows nothing of it.
        for (const fault of faults) {
          expect(fault).toMatchObject({ kind: 'frozen', from: k + 1, to: k + 30 });
        }
        expect(faults.length).toBeLessThanOrEqual(1);
      }),
      { numRuns: 40 },
    );
  });

  test('a jump of the whole world', () => {
    fc.assert(
      fc.property(places, leaps, (k, turn) => {
        const { track, faults } = mendTracker(
          spoilt((q) => q.set(composeQuaternions(turn, q.slice(4 * k)), 4 * k)),
        );
        expect(faults).toMatchObject([{ kind: 'jump', from: k, to: k }]);
        // The step over it is taken from its neighbours: off by less than the largest change of a step.
        expect(largest(track.quaternions, walk.quaternions)).toBeLessThan(0.5 * DEGREE);
      }),
      { numRuns: 40 },
    );
  });
});

test('a still tripod is not frozen', () => {
  const still = createTrack({
    times: Float64Array.from({ length: 600 }, (_, k) => k / 60),
    quaternions: Float64Array.from({ length: 2400 }, (_, i) => Number(i % 4 === 3)),
  });
  expect(mendTracker(still).faults).toEqual([]);
});

test('a stumble of fourteen degrees within a third of a second is the operator’s', () => {
  const stumble = spoilt((q) => {
    for (let j = 0; j < 20; j++) {
      const angle = 14 * DEGREE * Math.sin((Math.PI * j) / 20) ** 2;
      turned(q, 500 + j, quaternionFromRotationVector([angle, 0, 0]));
    }
  });
  expect(mendTracker(stumble).faults).toEqual([]);
});

test('a result names frames and seconds of the fault and changes by less than it', () => {
  const turn = quaternionFromRotationVector([0.8, 0, 0]);
  const bad = spoilt((q) => turned(q, 350, turn));
  const [good, mended] = [correct(walk), correct(bad)];
  expect(mended.trackerFaults).toMatchObject([{ from: 350, fromSeconds: walk.times[350]! }]);
  expect(mended.warnings.map(({ code }) => code)).toContain('track/stumbled');
  // The leap was 46°; what is left of it is the error of one interpolated frame, smoothed.
  expect(largest(mended.intended.quaternions, good.intended.quaternions)).toBeLessThan(
    0.1 * DEGREE,
  );
});
