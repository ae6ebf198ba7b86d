import { describe, expect, test } from 'vitest';
import { assessRig } from '../../src/comfort/rigFigures.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { clipCoverage } from '../../src/rig/clipCoverage.js';
import { bestMask, coveredHalfAngle, swingLimit, uncoveredShare } from '../../src/rig/coverage.js';
import { stereoCost } from '../../src/rig/stereoCost.js';
import { DEFAULT_RIG, type StereoRig } from '../../src/rig/stereoRig.js';
import { typicalBob } from '../../src/rig/verticalBob.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import { fc } from '../seed.js';
import { type Turn, turn, turnsBy } from '../turns.js';

const deg = RADIANS_PER_DEGREE;
const STANDING = { walking: false, stepFrequency: 0 };

const listOf = (turns: readonly Turn[]) => Float64Array.from(turns.flatMap(({ q }) => [...q]));

/** A camera that pans by 20 °/s. */
const PAN = createTrack({
  times: Float64Array.from({ length: 5 }, (_, k) => k / 50),
  quaternions: listOf([0, 1, 2, 3, 4].map((k) => turn([0, 1, 0], (20 * deg * k) / 50))),
});

const clips = fc.array(turnsBy(fc.integer({ min: 0, max: 200 }).map((k) => (k / 10) * deg)), {
  minLength: 1,
  maxLength: 30,
});

/** What fisheye pictures leave of the view of corrections with a level intention. */
function covered(list: Float64Array, rig: StereoRig) {
  const n = list.length / 4;
  const intended: OrientationTrack = {
    times: Float64Array.from({ length: n }, (_, k) => k / 50),
    quaternions: Float64Array.from({ length: 4 * n }, (_, i) => Number(i % 4 === 3)),
    up: 'stated',
    warnings: [],
  };
  return clipCoverage({ corrections: { quaternions: list }, intended }, rig, 'fisheye');
}
const assessed = (list: Float64Array, rig: StereoRig = DEFAULT_RIG, gait = STANDING) =>
  assessRig(list, PAN, covered(list, rig), rig, gait, 0);
const maskOf = (list: Float64Array, rig: StereoRig) => covered(list, rig).mask;

describe('what a correction costs the pair', () => {
  test('is told by the worst frame', () => {
    fc.assert(
      fc.property(clips, (turns) => {
        const found = assessed(listOf(turns));
        const disparities = turns.map(({ q }) => stereoCost(q, 64, 1).worstDisparityArcmin);
        expect(found.worstDisparityArcmin).toBe(Math.max(...disparities));
        const shares = turns.map(({ axis, angle }) => {
          // The optical axis turns by 2 asin(sin(angle/2) · its distance from the axis of the turn).
          const swing = 2 * Math.asin(Math.sin(angle / 2) * Math.hypot(axis[0], axis[1]));
          return { swing, share: uncoveredShare(swing, 95 * deg, 90 * deg) };
        });
        const swing = Math.max(...shares.map((each) => each.swing));
        expect(found.largestSwingDeg).toBeCloseTo(swing / deg, 11);
        const share = Math.max(...shares.map((each) => each.share));
        expect(found.uncoveredShare).toBeCloseTo(share, 11);
      }),
    );
  });

  test('nineteen frames of twenty stay below the second figure', () => {
    const turns = Array.from({ length: 101 }, (_, k) => turn([0, 0, 1], (k / 100) * 10 * deg));
    const found = assessed(listOf(turns));
    const at = (k: number) => stereoCost(turns[k]!.q, 64, 1).worstDisparityArcmin;
    expect(found.disparity95Arcmin).toBe(at(95));
    expect(found.worstDisparityArcmin).toBe(at(100));
  });

  test('the corrections themselves are left as they were', () => {
    const list = listOf([turn([0, 0, 1], 0.2), turn([0, 0, 1], 0.1)]);
    const before = list.slice();
    assessed(list);
    expect(list).toEqual(before);
  });

  test('an ignored readout of 16 ms from the first row on at 20 °/s is 18.2 arcmin, that of a global shutter none', () => {
    const list = listOf([turn([1, 0, 0], 0)]);
    const rolling = { ...DEFAULT_RIG, readoutMs: 16 };
    const found = assessed(list, rolling).ignoredReadoutArcmin;
    expect(found).toBeCloseTo(20 * 60 * 0.016 * (90 / 95), 10);
    expect(assessed(list).ignoredReadoutArcmin).toBe(0);
  });

  test('the bob of steps is told where someone walks', () => {
    const list = listOf([turn([1, 0, 0], 0)]);
    const walking = { walking: true, stepFrequency: 1.9 };
    expect(assessed(list, DEFAULT_RIG, walking).verticalBob).toEqual(typicalBob(1.9, 1));
    expect(assessed(list)).not.toHaveProperty('verticalBob');
  });
});

describe('the window of a clip', () => {
  test('is there when, and only when, an edge comes into view', () => {
    fc.assert(
      fc.property(clips, fc.constantFrom(180, 190, 200), (turns, fieldDeg) => {
        const rig: StereoRig = { ...DEFAULT_RIG, lens: { ...DEFAULT_RIG.lens, fieldDeg } };
        const { largestSwingDeg } = assessed(listOf(turns), rig);
        const off = largestSwingDeg * deg - swingLimit(rig, 'fisheye');
        fc.pre(Math.abs(off) > 1e-12);
        expect(maskOf(listOf(turns), rig) !== undefined).toBe(off > 0);
      }),
    );
  });

  test('has a soft edge of 2° inside', () => {
    const list = listOf([turn([1, 0, 0], 0.1), turn([0, 1, 0], 0.2)]);
    const expected = bestMask(list, coveredHalfAngle(DEFAULT_RIG, 'fisheye'), 2 * deg);
    expect(maskOf(list, DEFAULT_RIG)).toEqual(expected);
    expect(expected.opaqueFrom - expected.clearUpTo).toBeCloseTo(2 * deg, 14);
  });
});

test('a take is comfortable from the distance at which its worst moment falls to where care begins', () => {
  // Disparity falls with the distance: 25 arcmin at 2 m are 10 at 5 m.
  const rig = { ...DEFAULT_RIG, nearestSubjectM: 2 };
  const still = Float64Array.of(0, 0, 0, 1);
  const found = assessRig(still, PAN, covered(still, rig), rig, STANDING, 25);
  expect(found.comfortableFromM).toBeCloseTo(5, 12);
});
