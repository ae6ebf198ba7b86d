import { describe, expect, test } from 'vitest';
import { multiplyQuaternions } from '../../src/rotation/quaternion.js';
import { angularRate } from '../../src/track/angularRate.js';
import { createTrack } from '../../src/track/orientationTrack.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';
import { directions, rotations, turn } from '../turns.js';

/** Uneven sample times: a grid of 50 ms, each sample up to 40 ms late. */
const sampleTimes = fc
  .array(fc.integer({ min: 0, max: 40 }), { minLength: 2, maxLength: 9 })
  .map((late) => late.map((ms, k) => k / 20 + ms / 1000));

const speeds = fc.integer({ min: -8000, max: 8000 }).map((k) => k / 1000);

describe.each(['camera', 'world'] as const)('angularRate in the %s frame', (frame) => {
  test(`a constant spin about a fixed axis of the ${frame} is met at every sample`, () => {
    fc.assert(
      fc.property(rotations, directions, speeds, sampleTimes, (start, axis, speed, times) => {
        const quaternions = times.flatMap((time) => {
          const step = turn(axis, speed * time).q;
          const q = frame === 'camera' ? [start, step] : [step, start];
          return [...multiplyQuaternions(q[0]!, q[1]!)];
        });
        const track = createTrack({
          times: Float64Array.from(times),
          quaternions: Float64Array.from(quaternions),
        });
        const expected = times.flatMap(() => axis.map((component) => speed * component));
        // Two orientations round by some 30 epsilons together, over at least 10 ms.
        expect(largestGap(angularRate(track, frame), expected)).toBeLessThan(
          (60 * Number.EPSILON) / 0.01,
        );
      }),
    );
  });
});

test('between samples that speed up, the rate is the mean over both neighbours', () => {
  const track = createTrack({
    times: Float64Array.of(0, 1, 2),
    quaternions: Float64Array.from([0, 0.1, 0.4].flatMap((angle) => [...turn([0, 0, 1], angle).q])),
  });
  expect(largestGap(angularRate(track, 'camera'), [0, 0, 0.1, 0, 0, 0.2, 0, 0, 0.3])).toBeLessThan(
    8 * Number.EPSILON,
  );
});
