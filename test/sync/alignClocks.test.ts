import { describe, expect, test } from 'vitest';
import {
  type ClockTake,
  type ClockTakeOptions,
  makeClockTake,
} from '../../bench/accuracy/clockTakes.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import {
  multiplyQuaternions,
  type Quaternion,
  quaternionFromAxisAngle,
} from '../../src/rotation/quaternion.js';
import { alignClocks, type ClockAlignment } from '../../src/sync/alignClocks.js';
import { angularRate } from '../../src/track/angularRate.js';
import { createMotionLog, type MotionLog } from '../../src/track/motionLog.js';
import { apart } from '../apart.js';
import { complaint } from '../complaint.js';

/** One take stands for most facts. */
const SHORT: ClockTakeOptions = { duration: 15, wild: 1 / 3 };
const WALK = makeClockTake('walk', 1, SHORT);

/** What the frames' wandering rows and noise leave unsure of the offset, ms. */
function offsetDeviation({ track }: ClockTake): number {
  const n = track.times.length;
  // 8 % of 16 ms, alike for (1 + 0.95)/(1 − 0.95) = 39 frames; not even a perfect method sees it.
  const wander = 1.28 * Math.sqrt(39 / n);
  // 0.03° per axis over a turn of some 13°/s, on the two thirds of frames that are not wild.
  const noise = ((0.03 / 13) * 1000) / Math.sqrt((2 / 3) * n);
  return Math.hypot(wander, noise);
}
const missMs = (found: ClockAlignment, { offset }: ClockTake) =>
  Math.abs(1000 * (found.offset - offset));
const missDeg = (found: ClockAlignment, { axes }: ClockTake) =>
  apart(found.axes, axes) / RADIANS_PER_DEGREE;

/** The take's log with other rows. */
const logOf = (times: ArrayLike<number>, rate: ArrayLike<number>): MotionLog =>
  createMotionLog({ times: Float64Array.from(times), rate: Float64Array.from(rate) });

describe('the log of a walk is lined up', () => {
  test('a walk of 60 s with a third of its frames wild: to half a millisecond', () => {
    const take = makeClockTake('walk', 2, { wild: 1 / 3 });
    const found = alignClocks(take.log, take.track);
    expect(found.verdict).toBe('aligned');
    expect(found.reason).toBeUndefined();
    // 3.5 deviations are 0.5 ms here.
    expect(3.5 * offsetDeviation(take)).toBeLessThan(0.5);
    expect(missMs(found, take)).toBeLessThan(0.5);
    // An error of the offset at both ends, √12 times its deviation over the length.
    const ppm = (Math.sqrt(12) / 60) * offsetDeviation(take) * 1e3;
    expect(Math.abs(found.driftPpm - take.driftPpm)).toBeLessThan(3.5 * ppm);
    // 0.03° of noise seen from a bob of 0.8°, on 2400 good frames; 0.05° is one deviation.
    expect(missDeg(found, take)).toBeLessThan(3.5 * 0.05);
    const wrong = [...found.wildFrames].filter((k) => !take.wildFrames.has(k));
    // Beyond four deviations: one good frame in a thousand.
    expect(wrong.length).toBeLessThan(0.003 * take.track.times.length);
    expect(found.wildFrames.length - wrong.length).toBeGreaterThan(0.995 * take.wildFrames.size);
  });

  test.each([1, 2, 3])('five seconds of a walk are enough for the offset (take %d)', (seed) => {
    const take = makeClockTake('walk', seed, { duration: 5 });
    const found = alignClocks(take.log, take.track);
    expect(found.verdict).toBe('aligned');
    expect(found.driftPpm).toBe(0);
    expect(missMs(found, take)).toBeLessThan(3.5 * offsetDeviation(take));
    expect(missMs(found, take)).toBeLessThan(3 * found.offsetDeviationMs);
  });

  test.each([
    ['bursts of wild frames', { wildRuns: 'bursts', wild: 0.3 }],
    ['no wild frame', { wild: 0 }],
    ['a log of 1000 rows per second', { logRate: 1000 }],
    ['a log that started three minutes earlier', { before: 180 }],
    ['a log that starts and ends with the clip', { before: 0, after: 0.02 }],
    ['25 frames per second', { frameRate: 25 }],
  ] as const)('with %s', (_, options) => {
    const take = makeClockTake('walk', 3, { ...SHORT, ...options });
    const found = alignClocks(take.log, take.track);
    expect(found.verdict).toBe('aligned');
    // Fewer frames a second: the rows' memory is counted in frames, so nothing else changes.
    expect(missMs(found, take)).toBeLessThan(3.5 * offsetDeviation(take));
  });

  test('the drift is told from twenty seconds on, and left at zero below', () => {
    const long = makeClockTake('walk', 4, { duration: 21, driftPpm: 900 });
    const found = alignClocks(long.log, long.track);
    const ppm = (Math.sqrt(12) / 21) * offsetDeviation(long) * 1e3;
    expect(Math.abs(found.driftPpm - 900)).toBeLessThan(3.5 * ppm);
    const short = makeClockTake('walk', 4, { duration: 19.5, driftPpm: 900 });
    expect(alignClocks(short.log, short.track).driftPpm).toBe(0);
  });

  // The 24 ways to screw a box to a box: each is two or three quarter turns.
  const quarter = (axis: 0 | 1 | 2, count: number): Quaternion =>
    quaternionFromAxisAngle([+(axis === 0), +(axis === 1), +(axis === 2)], (count * Math.PI) / 2);
  test.each([
    ['x right, y up', 0, 0, 0],
    ['upside down', 2, 0, 0],
    ['lens to the left', 0, 1, 0],
    ['on its side', 0, 0, 3],
    ['axes cycled', 1, 1, 0],
    ['cycled and reversed', 3, 2, 1],
  ])('a sensor mounted %s', (_, x, y, z) => {
    const axes = multiplyQuaternions(
      quarter(0, x),
      multiplyQuaternions(quarter(1, y), quarter(2, z)),
    );
    const take = makeClockTake('walk', 5, { duration: 8, axes });
    const found = alignClocks(take.log, take.track);
    expect(found.verdict).toBe('aligned');
    // 0.03° seen from a bob of 0.8°, on 340 good frames: 0.12°.
    expect(missDeg(found, take)).toBeLessThan(3.5 * 0.12);
  });
});

describe('what cannot be told is said', () => {
  test('a camera that only pans shows the time, not the turn about its axis', () => {
    const take = makeClockTake('yaw only', 1, { duration: 20 });
    const found = alignClocks(take.log, take.track);
    expect(found.verdict).toBe('time-only');
    expect(found.reason).toContain("about the camera's y axis (panning) is unknown");
    expect(Math.abs(found.leastKnownAxis[1])).toBeGreaterThan(0.99);
    expect(found.axesDeviationDeg.worst).toBeGreaterThan(10);
    expect(missMs(found, take)).toBeLessThan(3.5 * offsetDeviation(take));
  });

  test.each(['static', 'almost static'] as const)('a %s camera is refused', (kind) => {
    const take = makeClockTake(kind, 1, { duration: 20 });
    const { verdict, reason, offsetDeviationMs } = alignClocks(take.log, take.track);
    expect(verdict).toBe('refused');
    expect(reason).toContain('the motion is too small to tell the time better than ±');
    expect(offsetDeviationMs).toBeGreaterThan(4);
  });

  test.each([
    ['walk', 31],
    ['walk', 32],
    ['gimbal', 31],
    ['yaw only', 31],
  ] as const)('the log of another %s (%d) is refused', (kind, logSeed) => {
    const take = makeClockTake(kind, 1, { duration: 20, logSeed });
    const { verdict, consistency } = alignClocks(take.log, take.track);
    expect(verdict).toBe('refused');
    // Nothing of the fast motion, 13°/s, is explained: many times the noise.
    expect(consistency).toBeGreaterThan(3);
  });

  test('a log seen in a mirror is refused', () => {
    const mirrored = WALK.log.rate.map((value, i) => (i % 3 === 0 ? -value : value));
    expect(alignClocks(logOf(WALK.log.times, mirrored), WALK.track).verdict).toBe('refused');
  });

  test('steps that repeat exactly are never accepted silently', () => {
    const { times, rate } = WALK.log;
    const twice = [...times, ...times.map((time) => time + times.length / 200)];
    const found = alignClocks(logOf(twice, [...rate, ...rate]), WALK.track);
    expect(found.verdict).toBe('refused');
    expect(found.reason).toBe('another offset fits almost as well: the steps look alike');
    expect(found.contest).toBeLessThan(12);
  });

  test('a known offset tells repeated steps apart', () => {
    const { times, rate } = WALK.log;
    const length = times.length / 200;
    const twice = logOf([...times, ...times.map((time) => time + length)], [...rate, ...rate]);
    for (const round of [0, 1]) {
      const value = WALK.offset + round * length + 0.7;
      const found = alignClocks(twice, WALK.track, { offset: { value, within: 1 } });
      expect(found.verdict).toBe('aligned');
      expect(missMs(found, { ...WALK, offset: WALK.offset + round * length })).toBeLessThan(
        3.5 * offsetDeviation(WALK),
      );
    }
  });

  test('a wrong offset is refused', () => {
    const take = makeClockTake('walk', 1, { ...SHORT, before: 20 });
    const { verdict } = alignClocks(take.log, take.track, { offset: { value: 5, within: 2 } });
    expect(verdict).toBe('refused');
  });

  test.each([
    ['starts two seconds late', { before: -2, after: 4 }],
    ['ends two seconds early', { before: 4, after: -2 }],
  ])('a log that %s is refused', (_, options) => {
    const take = makeClockTake('walk', 1, { ...SHORT, ...options });
    expect(alignClocks(take.log, take.track).verdict).toBe('refused');
  });

  test('a log shorter than the clip is refused in one sentence', () => {
    const take = makeClockTake('walk', 1, { ...SHORT, before: 2, after: -5 });
    expect(() => alignClocks(take.log, take.track)).toThrow(
      complaint('argument/invalid', 'found a log of 12.0 s for a clip of 15.0 s, expected a log'),
    );
  });

  test('log and track in each other’s place do not pass', () => {
    const picture = logOf(WALK.track.times, angularRate(WALK.track, 'camera'));
    const times = WALK.log.times;
    const still = new Float64Array(4 * times.length).map((_, i) => (i % 4 === 3 ? 1 : 0));
    expect(() => alignClocks(picture, { ...WALK.track, times, quaternions: still })).toThrow(
      complaint('argument/invalid', 'found a log of 15.0 s for a clip of'),
    );
  });

  test('a track with uneven times is refused', () => {
    const times = WALK.track.times.map((time, k) => (k === 100 ? time + 0.008 : time));
    expect(() => alignClocks(WALK.log, { ...WALK.track, times })).toThrow(
      complaint('argument/invalid', 'found a track with uneven times'),
    );
  });
});

describe('a log that is not where it should be', () => {
  const { log, track } = makeClockTake('walk', 1, { duration: 6 });

  test.each([3600, -3600, 1e9, -8, 1e-9 + log.times[log.times.length - 1]!])(
    'a hint of %d s that points past the log is refused in a sentence',
    (value) => {
      const found = alignClocks(log, track, { offset: { value, within: 0.5 } });
      expect(found).toMatchObject({
        verdict: 'refused',
        reason: expect.stringContaining('does not overlap the clip in time'),
      });
    },
  );

  /** The log, its clock set on by so many seconds from one row on. */
  const jumping = (from: number, jump: number) =>
    logOf(
      log.times.map((time, k) => (k < from ? time : time + jump)),
      log.rate,
    );

  test('a pause is no place for the clip', () => {
    // Whatever row it comes after, what is found lies on one side of it.
    for (let from = 60; from < log.times.length; from += 120) {
      const paused = jumping(from, 30);
      const { verdict, offset } = alignClocks(paused, track);
      const [before, after] = [paused.times[from - 1]!, paused.times[from]!];
      const duration = track.times[track.times.length - 1]!;
      // The refinement may move a candidate by a little.
      const apart = offset >= after - 0.5 || offset + duration <= before + 0.5;
      expect(verdict === 'refused' || apart).toBe(true);
    }
  });

  test('a clock that jumps by weeks is refused before any grid is made', () => {
    expect(() => alignClocks(jumping(500, 2e6), track)).toThrow(
      complaint('argument/invalid', 'found a log of 555.6 h by its clock'),
    );
  });
});
