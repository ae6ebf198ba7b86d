import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { describeOrientation } from '../../src/read/describe.js';
import { multiplyQuaternions, type Quaternion } from '../../src/rotation/quaternion.js';
import { turn } from '../turns.js';

/** The camera after a turn to the left, a nod upwards and a lean to the left, degrees. */
const camera = (left: number, up: number, lean: number): Quaternion => {
  const about = (axis: 0 | 1 | 2, degrees: number) =>
    turn(
      [axis === 0 ? 1 : 0, axis === 1 ? 1 : 0, axis === 2 ? 1 : 0],
      degrees * RADIANS_PER_DEGREE,
    );
  return multiplyQuaternions(
    about(1, left).q,
    multiplyQuaternions(about(0, up).q, about(2, lean).q),
  );
};

describe('describeOrientation', () => {
  test.each<[string, Quaternion]>([
    ['looks north, level, upright', camera(0, 0, 0)],
    ['looks 12.5° left of north, 2.0° down, rolled 0.4° clockwise', camera(12.5, -2, -0.4)],
    ['looks 90.0° right of north, 30.0° up, rolled 5.0° counter-clockwise', camera(-90, 30, 5)],
    ['looks north, level, upright', camera(0.04, -0.04, 0.04)],
    ['looks north, level, rolled 180.0° counter-clockwise', camera(0, 0, 180)],
    ['looks 135.0° left of north, level, upright', camera(135, 0, 0)],
  ])('%s', (words, q) => {
    expect(describeOrientation(q)).toBe(words);
    expect(describeOrientation(q.map((x) => -x) as unknown as Quaternion)).toBe(words);
  });
});
