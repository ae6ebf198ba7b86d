import { describe, expect, test } from 'vitest';
import { makeClockTake } from '../../bench/accuracy/clockTakes.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { angularDistances } from '../../src/rotation/arrays.js';
import { fusedAtLogRate, fuseTrack } from '../../src/sync/fuseTrack.js';
import { createMotionLog, type MotionLog } from '../../src/track/motionLog.js';
import { createTrack } from '../../src/track/orientationTrack.js';
import { interpolateTrack } from '../../src/track/resample.js';
import { integrateRate } from '../../src/track.js';
import { complaint } from '../complaint.js';

const TAKE = makeClockTake('walk', 1, { duration: 15, wild: 1 / 3 });
const FUSED = fuseTrack(TAKE.log, TAKE.track);

const degrees = (a: Float64Array, b: Float64Array) =>
  Array.from(angularDistances(a, b), (angle) => angle / RADIANS_PER_DEGREE);
const rms = (values: readonly number[]) =>
  Math.sqrt(values.reduce((sum, x) => sum + x * x, 0) / values.length);

/** The log without its rows between two times of the picture, s. */
function withoutRows({ log, offset }: typeof TAKE, from: number, to: number): MotionLog {
  const rows = Array.from(log.times.keys()).filter(
    (k) => log.times[k]! < from + offset || log.times[k]! > to + offset,
  );
  return createMotionLog({
    times: Float64Array.from(rows, (k) => log.times[k]!),
    rate: Float64Array.from(rows.flatMap((k) => [...log.rate.subarray(3 * k, 3 * k + 3)])),
  });
}

describe('a fused track', () => {
  const fused = degrees(FUSED.track.quaternions, TAKE.truth);
  const picture = degrees(TAKE.track.quaternions, TAKE.truth);
  const wild = (_: unknown, k: number) => TAKE.wildFrames.has(k);
  const good = (_: unknown, k: number) => !TAKE.wildFrames.has(k);

  test('lies closer to the truth than the good frames of the picture', () => {
    // Eight spline functions share the noise of 600 good frames: a ninth, and at the ends, where a
    // function has few frames, twice that. The gyro adds 0.007° · √3 axes · √(1.5 s) = 0.015°.
    const bound = Math.hypot((2 / 9) * 0.052, 0.015);
    expect(rms(fused)).toBeLessThan(bound);
    expect(bound).toBeLessThan(rms(picture.filter(good)) / 2);
  });

  test('has its wild frames repaired', () => {
    expect(Math.max(...picture.filter(wild))).toBeGreaterThan(5);
    // Four of the deviations above.
    expect(Math.max(...fused.filter(wild))).toBeLessThan(4 * 0.019);
  });

  test('keeps frames, times and what was known of the picture, and says what was done', () => {
    const { quaternions: _, warnings, ...rest } = FUSED.track;
    const { quaternions: __, warnings: before, ...known } = TAKE.track;
    expect(rest).toEqual(known);
    expect(warnings.slice(0, before.length)).toEqual(before);
    expect(warnings.at(-1)).toEqual({
      code: 'sync/fused',
      message: expect.stringMatching(
        /^the log was lined up: it starts \d\.\d{4} s before the clip \(± 0\.\d\d ms\), and the drift of its clock was not estimated, since less than 20 s are shared, and taken as none; \d+ wild frames were replaced$/,
      ),
    });
  });

  test('at the rows of the log it runs through its frames', () => {
    const { log, track } = TAKE;
    const rows = fusedAtLogRate(FUSED, log, integrateRate(log.times, log.rate));
    const middle = track.times.at(-1)! / 2;
    const { offset, driftPpm } = FUSED.alignment;
    const drift = driftPpm * 1e-6;
    const first = log.times
      .map((time) => (time - offset + drift * middle) / (1 + drift))
      .find((time) => time >= 0)!;
    expect(rows.times).toHaveLength(Math.floor((middle * 2 - first) * 200 * (1 + drift)) + 1);
    const inside = track.times.subarray(1, -1);
    const atFrames = interpolateTrack(
      createTrack({ times: rows.times, quaternions: rows.quaternions }),
      inside.map((time) => time - first),
    );
    // Both are straight between rows 5 ms apart; a bob of 300°/s² strays by 0.001°.
    const apart = degrees(atFrames, FUSED.track.quaternions.subarray(4, -4));
    expect(Math.max(...apart)).toBeLessThan(0.003);
  });
});

describe('a log that starts late and ends early', () => {
  const take = makeClockTake('walk', 2, { duration: 20, wild: 0.2, before: -4, after: -5 });
  const { track, alignment } = fuseTrack(take.log, take.track);
  const miss = degrees(track.quaternions, take.truth);
  const untouched = degrees(take.track.quaternions, take.truth);
  const inside = (time: number) => time >= alignment.from && time <= alignment.to;

  test('repairs the frames that it covers and leaves the others', () => {
    expect(alignment.from).toBeGreaterThan(3.9);
    expect(alignment.to).toBeLessThan(15.1);
    take.track.times.forEach((time, k) => {
      // The ends of a spline, as above.
      if (inside(time)) expect(miss[k]).toBeLessThan(4 * 0.03);
      else expect(miss[k]).toBe(untouched[k]);
    });
  });

  test('says so', () => {
    expect(track.warnings.map(({ code }) => code)).toEqual(['sync/fused', 'sync/part']);
    expect(track.warnings.at(-1)!.message).toMatch(
      /^the log covers the clip from [34]\.\d\d s to 1[45]\.\d\d s of 19\.\d\d s; outside of that the track is the picture's own/,
    );
  });

  test('has the rows of the log only there', () => {
    const { log } = take;
    const rows = fusedAtLogRate({ track, alignment }, log, integrateRate(log.times, log.rate));
    // A row at either end may lie just outside.
    const span = alignment.to - alignment.from;
    expect(Math.abs(rows.times.at(-1)! - span)).toBeLessThan(2 / 200 + 1e-9);
  });
});

test('a smoothed track gets the motion back that was smoothed away', () => {
  const smoothed = { by: 'gaussian', frames: 4 } as const;
  const take = makeClockTake('walk', 3, { duration: 20, wild: 0, smoothed });
  const before = degrees(take.track.quaternions, take.truth);
  const after = degrees(fuseTrack(take.log, take.track).track.quaternions, take.truth);
  // A bell of 4 frames leaves exp(−½ (2π · 1.92 Hz · 67 ms)²) = 0.72 of the steps: 0.2° and more are
  // gone. What comes back is as unsure as above, and the slow part of the path was smoothed as well.
  expect(rms(before)).toBeGreaterThan(0.2);
  expect(rms(after)).toBeLessThan(rms(before) / 5);
});

describe('fusing is refused', () => {
  test.each([
    ['yaw only', {}, 'the turn of the sensor about'],
    ['static', {}, 'the motion is too small to tell the time'],
    ['walk', { logSeed: 9 }, 'cannot be lined up with the picture'],
  ] as const)('with the reason: %s', (kind, options, words) => {
    const take = makeClockTake(kind, 1, { duration: 10, ...options });
    expect(() => fuseTrack(take.log, take.track)).toThrow(complaint('sync/refused', words));
  });

  test('where the log has a hole within the clip', () => {
    expect(() => fuseTrack(withoutRows(TAKE, 7, 7.2), TAKE.track)).toThrow(
      complaint('track/gap', 's without a row in the log'),
    );
  });

  test('but a few rows that are missing hide nothing', () => {
    // 35 ms, a fifteenth of a step; 9 ms, less than two rows, would be a gap to other parts of the job.
    const log = withoutRows(TAKE, 7, 7.028);
    expect(Math.max(...log.times.slice(1).map((time, k) => time - log.times[k]!))).toBeGreaterThan(
      0.03,
    );
    const { track, alignment } = fuseTrack(log, TAKE.track);
    expect(alignment.verdict).toBe('aligned');
    // Straight over 35 ms, a bob of 300°/s² strays by 300 · 0.035² / 8 = 0.05°.
    const errors = degrees(track.quaternions, TAKE.truth);
    expect(Math.max(...errors)).toBeLessThan(4 * 0.019 + 0.05);
  });

  test('but a hole before or after the clip does no harm', () => {
    for (const [from, to] of [
      [-0.4, -0.2],
      [15.5, 16.5],
    ] as const) {
      const { alignment } = fuseTrack(withoutRows(TAKE, from, to), TAKE.track);
      expect(alignment.verdict).toBe('aligned');
    }
  });
});

describe('a clock that drifts by 200 ppm', () => {
  const calm = { frameNoiseDeg: 0, gyroNoise: 0, biasDegPerS: 0, readout: 0, wild: 0 };
  const take = makeClockTake('walk', 3, { ...calm, duration: 60, driftPpm: 200 });
  const fused = fuseTrack(take.log, take.track);
  // Rows 5 ms apart stray by 0.001° (see refineClock.test.ts); what the slow factor leaves, and the
  // offset within 0.01 ms at some 30°/s, are no larger. Without the drift the ends would be off by
  // 30 s · 200 ppm = 6 ms, at a walk's 10°/s and more 0.06°.
  const BOUND = 0.01;

  test('is known as well as the offset allows', () => {
    // Steps tell the time evenly along the clip: a line through it has √12/T times the deviation of its
    // middle. Both come from some thirty windows of 2 s, an eighth of themselves: 3 · √2/8 is a half.
    const { driftDeviationPpm, offsetDeviationMs, from, to } = fused.alignment;
    const ratio = (driftDeviationPpm * 1e-6 * (to - from)) / (offsetDeviationMs * 1e-3);
    expect(Math.abs(Math.log(ratio / Math.sqrt(12)))).toBeLessThan(Math.log(1.5));
  });

  test('does not shift the fused track at either end of the clip', () => {
    const errors = degrees(fused.track.quaternions, take.truth);
    expect(rms(errors.slice(0, 300))).toBeLessThan(BOUND);
    expect(rms(errors.slice(-300))).toBeLessThan(BOUND);
  });

  test('nor its rows', () => {
    const { log } = take;
    const inSensorAxes = integrateRate(log.times, log.rate);
    const fine = fusedAtLogRate(fused, log, inSensorAxes);
    const { driftPpm, offset, from, to } = fused.alignment;
    const middle = (from + to) / 2;
    // The first row within the clip by the clock itself: log time = t + offset + drift (t − middle).
    const logTime = (t: number) => t + offset + driftPpm * 1e-6 * (t - middle);
    const first = log.times.find((time) => time >= logTime(from))!;
    const rate = 1 + driftPpm * 1e-6;
    const start = from + (first - logTime(from)) / rate;
    const times = fine.times.map((t) => t + start);
    const own = interpolateTrack(fused.track, times);
    const errors = degrees(fine.quaternions, own);
    // Straight ways between frames of a bob at 300°/s² stray by 300 / 60² / 8 = 0.01°.
    expect(rms(errors.slice(0, 1000))).toBeLessThan(2 * BOUND);
    expect(rms(errors.slice(-1000))).toBeLessThan(2 * BOUND);
    expect(fine.times.at(-1)! / (log.times[1]! * (fine.times.length - 1))).toBeCloseTo(1 / rate, 6);
  });
});
