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
import { type AlignClocksOptions, alignClocks } from '../../src/sync/alignClocks.js';
import type { AcceptedClock, RefusedClock } from '../../src/sync/clockAlignment.js';
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
/** The truth is told for the middle of the clip, the clock for the middle of what the log covers. */
const missMs = ({ offset, from, to }: AcceptedClock, take: ClockTake) => {
  const aside = (from + to) / 2 - take.track.times.at(-1)! / 2;
  return Math.abs(1000 * (offset - take.offset - take.driftPpm * 1e-6 * aside));
};
const missDeg = (found: AcceptedClock, { axes }: ClockTake) =>
  apart(found.axes, axes) / RADIANS_PER_DEGREE;

/** The clock of a take, which must be accepted. */
function accepted(
  { log, track }: Pick<ClockTake, 'log' | 'track'>,
  options?: AlignClocksOptions,
): AcceptedClock {
  const found = alignClocks(log, track, options);
  if (!found.accepted) throw new Error(`refused: ${found.reason}`);
  return found;
}

/** Why a take is refused, which it must be. */
function refused(
  { log, track }: Pick<ClockTake, 'log' | 'track'>,
  options?: AlignClocksOptions,
): RefusedClock {
  const found = alignClocks(log, track, options);
  if (found.accepted) throw new Error(`accepted at ${found.offset} s`);
  return found;
}

/** The take's log with other rows. */
const logOf = (times: ArrayLike<number>, rate: ArrayLike<number>): MotionLog =>
  createMotionLog({ times: Float64Array.from(times), rate: Float64Array.from(rate) });

describe('the log of a walk is lined up', () => {
  test('a walk of 60 s with a third of its frames wild: to half a millisecond', () => {
    const take = makeClockTake('walk', 2, { wild: 1 / 3 });
    const found = accepted(take);
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
    const found = accepted(take);
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
    const found = accepted(take);
    expect(found.verdict).toBe('aligned');
    // Fewer frames a second: the rows' memory is counted in frames, so nothing else changes.
    expect(missMs(found, take)).toBeLessThan(3.5 * offsetDeviation(take));
  });

  test('the drift is told from twenty seconds on, and left at zero below', () => {
    const long = makeClockTake('walk', 4, { duration: 21, driftPpm: 900 });
    const found = accepted(long);
    expect(found.driftEstimated).toBe(true);
    const ppm = (Math.sqrt(12) / 21) * offsetDeviation(long) * 1e3;
    expect(Math.abs(found.driftPpm - 900)).toBeLessThan(3.5 * ppm);
    const short = makeClockTake('walk', 4, { duration: 19.5, driftPpm: 900 });
    const { driftPpm, driftEstimated, driftDeviationPpm } = accepted(short);
    expect(driftPpm).toBe(0);
    expect(driftEstimated).toBe(false);
    // What loggers do, and what the take does, 900 ppm, within two of it.
    expect(2 * driftDeviationPpm).toBeGreaterThan(900);
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
    const found = accepted(take);
    expect(found.verdict).toBe('aligned');
    // 0.03° seen from a bob of 0.8°, on 340 good frames: 0.12°.
    expect(missDeg(found, take)).toBeLessThan(3.5 * 0.12);
  });
});

describe('what cannot be told is said', () => {
  test('a camera that only pans shows the time, not the turn about its axis', () => {
    const take = makeClockTake('yaw only', 1, { duration: 20 });
    const found = accepted(take);
    expect(found.verdict).toBe('time-only');
    expect(found.reason).toContain("about the camera's y axis (panning) is unknown");
    expect(Math.abs(found.leastKnownAxis[1])).toBeGreaterThan(0.99);
    expect(found.axesDeviationDeg.worst).toBeGreaterThan(10);
    expect(missMs(found, take)).toBeLessThan(3.5 * offsetDeviation(take));
  });

  test.each(['static', 'almost static'] as const)('a %s camera is refused', (kind) => {
    const take = makeClockTake(kind, 1, { duration: 20 });
    const { code, reason, offsetDeviationMs } = refused(take);
    expect(code).toBe('too-still');
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
    const { code, consistency } = refused(take);
    expect(code).toBe('another-take');
    // Nothing of the fast motion, 13°/s, is explained: many times the noise.
    expect(consistency).toBeGreaterThan(3);
  });

  test('a log seen in a mirror is refused', () => {
    const mirrored = WALK.log.rate.map((value, i) => (i % 3 === 0 ? -value : value));
    const log = logOf(WALK.log.times, mirrored);
    expect(refused({ log, track: WALK.track }).code).toBe('another-take');
  });

  test('steps that repeat exactly are never accepted silently', () => {
    const { times, rate } = WALK.log;
    const twice = [...times, ...times.map((time) => time + times.length / 200)];
    const found = refused({ log: logOf(twice, [...rate, ...rate]), track: WALK.track });
    expect(found.code).toBe('ambiguous');
    expect(found.reason).toBe('another offset fits almost as well: the steps look alike');
    expect(found.contest).toBeLessThan(60);
  });

  test('a known offset tells repeated steps apart', () => {
    const { times, rate } = WALK.log;
    const length = times.length / 200;
    const twice = logOf([...times, ...times.map((time) => time + length)], [...rate, ...rate]);
    for (const round of [0, 1]) {
      const value = WALK.offset + round * length + 0.7;
      const hinted = { offset: { value, within: 1 } };
      const found = accepted({ log: twice, track: WALK.track }, hinted);
      expect(found.verdict).toBe('aligned');
      expect(missMs(found, { ...WALK, offset: WALK.offset + round * length })).toBeLessThan(
        3.5 * offsetDeviation(WALK),
      );
    }
  });

  test('a wrong offset is refused', () => {
    const take = makeClockTake('walk', 1, { ...SHORT, before: 20 });
    expect(refused(take, { offset: { value: 5, within: 2 } }).code).toBe('another-take');
  });

  test('an offset outside of the log is refused in one sentence', () => {
    const { code, reason } = refused(WALK, { offset: { value: 300, within: 2 } });
    expect(code).toBe('no-overlap');
    expect(reason).toBe(
      `the log, ${WALK.log.times.at(-1)!.toFixed(1)} s long, does not overlap the clip in time at an offset of 300 s ± 2 s`,
    );
  });

  test.each([3600, -3600, 1e9, -20])('so is a hint of %d s', (value) => {
    expect(refused(WALK, { offset: { value, within: 0.5 } }).code).toBe('no-overlap');
  });

  test('a hint that is no number is a wrong call', () => {
    for (const [value, within] of [
      [Number.NaN, 1],
      [2, Number.NaN],
      [2, -1],
    ] as const) {
      expect(() => alignClocks(WALK.log, WALK.track, { offset: { value, within } })).toThrow(
        complaint('argument/invalid', `found an offset of ${value} s ± ${within} s`),
      );
    }
  });

  test('a hint to the cell of the search is enough', () => {
    const found = accepted(WALK, { offset: { value: WALK.offset, within: 0 } });
    expect(missMs(found, WALK)).toBeLessThan(3.5 * offsetDeviation(WALK));
  });

  test('a picture without noise that stands still is refused, not divided by', () => {
    const still = WALK.track.quaternions.map((_, i) => (i % 4 === 3 ? 1 : 0));
    const log = logOf(WALK.log.times, new Float64Array(WALK.log.rate.length));
    for (const one of [WALK.log, log]) {
      const found = refused({ log: one, track: { ...WALK.track, quaternions: still } });
      expect([found.consistency, found.contest].some(Number.isNaN)).toBe(false);
    }
  });

  test('a tracker that lost ten seconds in the middle does no harm', () => {
    const take = makeClockTake('walk', 12, { duration: 30 });
    const lost = take.track.quaternions.map((value, i) => {
      const time = take.track.times[Math.floor(i / 4)]!;
      return time > 10 && time < 20 ? [0.5, -0.5, 0.5, 0.5][i % 4]! : value;
    });
    const found = alignClocks(take.log, { ...take.track, quaternions: lost });
    if (found.accepted) expect(missMs(found, take)).toBeLessThan(20);
  });

  test('a clip of a second, and one of few samples, are said to be', () => {
    const short = makeClockTake('walk', 1, { duration: 1 });
    expect(refused(short).code).toBe('too-short');
    const sparse = makeClockTake('walk', 1, { duration: 20, frameRate: 5 });
    expect(() => alignClocks(sparse.log, sparse.track)).toThrow(
      complaint('track/too-sparse', 'found 5.0 samples per second'),
    );
  });

  test('a log of two seconds is too short', () => {
    const take = makeClockTake('walk', 1, { ...SHORT, before: -5, after: -8 });
    expect(refused(take)).toMatchObject({
      code: 'too-short',
      reason: 'log and clip share at most 2.0 s, and 3 s are needed',
    });
  });

  test('a refused clock carries neither offset nor axes', () => {
    const take = makeClockTake('walk', 1, { duration: 20, logSeed: 31 });
    expect(Object.keys(refused(take)).sort()).toEqual([
      'accepted',
      'code',
      'consistency',
      'contest',
      'offsetDeviationMs',
      'reason',
      'verdict',
    ]);
  });

  test('log and track in each other’s place do not pass', () => {
    const log = logOf(WALK.track.times, angularRate(WALK.track, 'camera'));
    const times = WALK.log.times;
    const still = new Float64Array(4 * times.length).map((_, i) => (i % 4 === 3 ? 1 : 0));
    refused({ log, track: { ...WALK.track, times, quaternions: still } });
  });

  test('a track with uneven times is refused', () => {
    const times = WALK.track.times.map((time, k) => (k === 100 ? time + 0.008 : time));
    expect(() => alignClocks(WALK.log, { ...WALK.track, times })).toThrow(
      complaint('argument/invalid', 'found a track with uneven times'),
    );
  });
});

describe('a log that covers a part of the clip serves that part', () => {
  test.each([
    ['starts two seconds late', { before: -2, after: 4 }, 2, 15],
    ['ends two seconds early', { before: 4, after: -2 }, 0, 13],
    ['starts and ends within it', { before: -3, after: -4 }, 3, 11],
    ['starts a tenth of a second late', { before: -0.1, after: 4 }, 0.1, 15],
  ])('where it %s', (_, options, from, to) => {
    const take = makeClockTake('walk', 1, { ...SHORT, ...options });
    const found = accepted(take);
    expect(found.verdict).toBe('aligned');
    // A frame, a row, and what a drift of 300 ppm makes of half the clip.
    expect(Math.abs(found.from - from)).toBeLessThan(1 / 59 + 1 / 200 + 0.003);
    expect(Math.abs(found.to - to)).toBeLessThan(1 / 59 + 1 / 200 + 0.003);
    expect(missMs(found, take)).toBeLessThan(
      3.5 * offsetDeviation(take) * Math.sqrt(15 / (to - from)),
    );
    expect(found.warnings.map(({ code }) => code)).toContain('sync/part');
  });

  test('a hole of a minute in the log is no candidate', () => {
    const take = makeClockTake('walk', 6, { duration: 10, before: 8, after: 8 });
    const { times, rate } = take.log;
    const rows = times.length;
    const later = times.map((time) => time + times[rows - 1]! + 60);
    const other = makeClockTake('walk', 7, { duration: 10, before: 8, after: 8 }).log.rate;
    const log = logOf([...times, ...later], [...other.subarray(0, 3 * rows), ...rate]);
    const found = accepted({ log, track: take.track });
    expect(missMs(found, { ...take, offset: take.offset + later[0]! })).toBeLessThan(
      3.5 * offsetDeviation(take),
    );
  });

  test('rows a day apart cost no more than their number', () => {
    const { times, rate } = WALK.log;
    const days = times.map((_, k) => 86400 * k);
    expect(refused({ log: logOf(days, rate), track: WALK.track }).code).toBe('no-overlap');
  });
});

describe('a log and a track that are off are recognised', () => {
  test.each([
    { by: 'gaussian', frames: 2 },
    { by: 'gaussian', frames: 5 },
    { by: 'mean', frames: 3 },
  ] as const)('a track smoothed by %o', (smoothed) => {
    const take = makeClockTake('walk', 8, { duration: 25, wild: 0, smoothed });
    const found = accepted(take);
    const { by, frames } = smoothed;
    // A mean over 2f + 1 frames has the variance ((2f + 1)² − 1)/12.
    const bell = by === 'mean' ? Math.sqrt(((2 * frames + 1) ** 2 - 1) / 12) : frames;
    expect(found.smoothedFrames / bell).toBeGreaterThan(0.9);
    expect(found.smoothedFrames / bell).toBeLessThan(1.1);
    expect(found.warnings.map(({ code }) => code)).toContain('sync/smoothed-track');
    expect(missMs(found, take)).toBeLessThan(3.5 * offsetDeviation(take));
  });

  test('a track that was not smoothed is not said to be', () => {
    const found = accepted(makeClockTake('walk', 8, { duration: 25 }));
    expect(found.smoothedFrames).toBe(0);
    expect(found.warnings).toEqual([]);
  });

  test('a gyro that reads 2 % too much or too little about an axis', () => {
    const scale = [1.02, 0.98, 1] as const;
    const take = makeClockTake('walk', 9, { duration: 30, scale });
    const found = accepted(take);
    // 0.03° of noise on a bob of 0.8° and 1200 good frames: 0.15 %; the axes mix.
    found.gyroGain.forEach((gain, axis) => {
      expect(Math.abs(gain - 1 / scale[axis]!)).toBeLessThan(3.5 * 0.0015);
    });
    expect(found.warnings.map(({ code }) => code)).toEqual(['sync/gyro-scale']);
    expect(found.warnings[0]!.message).toMatch(
      /^the gyro reads [12]\.\d % too much about its x axis, [12]\.\d % too little about its y axis;/,
    );
  });

  test('a gyro that reads a third too much is refused by its scale', () => {
    const take = makeClockTake('walk', 9, { duration: 30, scale: [1.33, 1.33, 1.33] });
    const { code, reason } = refused(take);
    expect(code).toBe('scale');
    expect(reason).toMatch(/^the gyro reads 3\d % too much about its [xyz] axis: check the units/);
  });
});

describe('a mirrored track', () => {
  const upright = { duration: 15, axes: [0, 0, 0, 1], gravity: true } as const;
  const codes = ({ log, track }: ClockTake) =>
    accepted({ log, track }).warnings.map(({ code }) => code);

  test('turns like a sensor mounted a half turn about x, which is said', () => {
    const take = makeClockTake('walk', 10, { ...upright, gravity: false, mirrored: true });
    const found = accepted(take);
    expect(Math.abs(found.axes[0])).toBeGreaterThan(0.999);
    expect(found.warnings.map(({ message }) => message)).toEqual([
      "the sensor comes out turned by half a turn about the camera's x (looking up and down) axis: either it is mounted so, or the track has left and right exchanged; their turning is the same, so look at one frame",
    ]);
  });

  test('is told by gravity where the log has it', () => {
    expect(codes(makeClockTake('walk', 10, { ...upright, mirrored: true }))).toEqual([
      'sync/mirrored',
    ]);
  });

  test('is not suspected where gravity points up, however the sensor is mounted', () => {
    expect(codes(makeClockTake('walk', 10, upright))).toEqual([]);
    expect(codes(makeClockTake('walk', 10, { ...upright, axes: [1, 0, 0, 0] }))).toEqual([]);
  });
});
