import { describe, expect, test } from 'vitest';
import { movesOfTake } from '../../src/motion/takeMoves.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import { tellStory } from '../../src/words/story.js';

const DEGREE = Math.PI / 180;
const STANDING = { walking: false, stepFrequency: 2 };
const WALKING = { walking: true, stepFrequency: 2 };

/** From 0 to 1 between two moments, at rest at both ends. */
const move = (second: number, from: number, to: number) => {
  const x = Math.min(1, Math.max(0, (second - from) / (to - from)));
  return x - Math.sin(2 * Math.PI * x) / (2 * Math.PI);
};

/** Forty seconds at 30 frames a second; degrees of heading and tilt at each. */
function take(
  angles: (second: number) => readonly [heading: number, tilt: number],
): OrientationTrack {
  const times = Float64Array.from({ length: 1201 }, (_, k) => k / 30);
  const quaternions = Float64Array.from(
    [...times].flatMap((second) => {
      const [heading, tilt] = angles(second);
      return [...quaternionFromHeadingTiltRoll(heading * DEGREE, tilt * DEGREE, 0)];
    }),
  );
  return createTrack({ times, quaternions });
}

describe('what happens in a take', () => {
  const path = take((s) => [85 * move(s, 12, 15) - 40 * move(s, 30, 33), -12 * move(s, 20, 22)]);
  const moves = movesOfTake(path, path, STANDING);

  test('a turn to the left is positive, one to the right negative, looking down negative', () => {
    expect(moves.map(({ kind }) => kind)).toEqual(['turn', 'look', 'turn']);
    const [left, down, right] = moves.map(({ angleDeg }) => angleDeg);
    expect(left).toBeCloseTo(85, 6);
    expect(down).toBeCloseTo(-12, 6);
    expect(right).toBeCloseTo(-40, 6);
  });

  test('it begins and ends within the time it takes, but for the first and last twentieth of the way', () => {
    const [left] = moves;
    // x − sin 2πx / 2π = 0.05 at x = 0.198.
    expect(left!.fromSeconds).toBeCloseTo(12 + 3 * 0.198, 1);
    expect(left!.toSeconds).toBeCloseTo(15 - 3 * 0.198, 1);
  });

  test('is told as the person remembers it', () => {
    expect(tellStory({ moves, gait: { ...STANDING, score: 0 } })).toMatch(
      /^the take: 0:12\.\d–0:14\.\d turns left 85°; 0:20\.\d–0:21\.\d looks down 12°; 0:30\.\d–0:32\.\d turns right 40°$/,
    );
  });

  test('smaller turns are not told', () => {
    const still = take((s) => [14 * move(s, 12, 15), 7 * move(s, 20, 22)]);
    expect(movesOfTake(still, still, STANDING)).toEqual([]);
    expect(tellStory({ moves: [], gait: { ...STANDING, score: 0 } })).toContain('stands still');
  });

  test('whoever walks for half of the take is told to walk there', () => {
    const level = take(() => [0, 0]);
    const steps = take((s) => [0, s < 20 ? Math.sin(2 * Math.PI * 2 * s) : 0]);
    const [walk, ...more] = movesOfTake(level, steps, WALKING);
    expect(more).toEqual([]);
    expect(walk).toMatchObject({ kind: 'walk', angleDeg: 0 });
    expect(walk!.fromSeconds).toBeLessThan(1);
    // The mean over three seconds falls to a third of the amplitude within two of the last step.
    expect(Math.abs(walk!.toSeconds - 20)).toBeLessThan(2);
    expect(movesOfTake(level, steps, STANDING)).toEqual([]);
  });
});
