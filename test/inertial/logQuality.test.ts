import { describe, expect, test } from 'vitest';
import { inspectLog } from '../../src/inertial/logQuality.js';
import { orientLog } from '../../src/inertial/orientLog.js';
import { createMotionLog, type MotionLog } from '../../src/track/motionLog.js';
import { complaint } from '../complaint.js';

const GRAVITY = 9.80665;
const PER_SECOND = 100;
const SECONDS = 30;
const DEGREE = Math.PI / 180;

type Sample = readonly [number, number, number];

/** Thirty seconds of a camera that rolls by `roll` (rad) at time t and feels nothing but gravity. */
function rollingLog(
  roll: (t: number) => number,
  rate: (t: number) => number,
  more: { extra?: (k: number) => Sample; keep?: (t: number) => boolean } = {},
): MotionLog {
  const stamps = Array.from({ length: SECONDS * PER_SECOND + 1 }, (_, k) => k / PER_SECOND);
  const times = Float64Array.from(stamps.filter(more.keep ?? (() => true)));
  const rates = [...times].flatMap((t) => [0, 0, rate(t)]);
  const forces = [...times].flatMap((t, k) => {
    const [x, y, z] = more.extra?.(k) ?? [0, 0, 0];
    return [GRAVITY * Math.sin(roll(t)) + x, GRAVITY * Math.cos(roll(t)) + y, z];
  });
  return createMotionLog({
    times,
    rate: Float64Array.from(rates),
    acceleration: Float64Array.from(forces),
  });
}

/** Between the beds the camera sways by 30° twice in three seconds. */
const SWAY = (4 * Math.PI) / 3;
const swaying = (more = {}) =>
  rollingLog(
    (t) => 0.5 * Math.sin(SWAY * t),
    (t) => 0.5 * SWAY * Math.cos(SWAY * t),
    more,
  );

const scaled = (log: MotionLog, by: number): MotionLog => ({
  ...log,
  rate: log.rate.map((x) => x * by),
});

test('a sound log has nothing to be said about', () => {
  expect(inspectLog(swaying())).toEqual({
    gaps: [],
    filledRate: [],
    filledForce: [],
    clippedRate: [],
    clippedForce: [],
    vibration: [],
    lost: [],
    rests: [],
    warnings: [],
  });
});

describe('rates that do not turn gravity as the accelerometer sees it', () => {
  test.each([
    ['degrees read as radians', 1 / DEGREE, 'degrees per second: write "deg/s"'],
    ['radians read as degrees', DEGREE, 'radians per second: write "rad/s"'],
    ['turns of the other sense', -1, 'the opposite sense of turning'],
  ])('%s are recognised, named and left as they are', (_what, by, words) => {
    const log = scaled(swaying(), by);
    const rate = log.rate.slice();
    const { warnings } = inspectLog(log);
    expect(warnings).toEqual([{ code: 'log/units', message: expect.stringContaining(words) }]);
    expect(orientLog(log).track.warnings).toContainEqual(warnings[0]);
    expect(log.rate).toEqual(rate);
  });

  test('nothing is said when they fit, whatever the bias of a gyroscope', () => {
    // 5 °/s turn by 1.25° in the quarter of a second that is compared, less than the 2° allowed.
    const log = swaying();
    const biased = { ...log, rate: log.rate.map((x) => x + (5 / Math.sqrt(3)) * DEGREE) };
    expect(inspectLog(biased).warnings).toEqual([]);
  });

  test('nothing is said when the camera does not turn, for then no unit fits better', () => {
    const still = rollingLog(
      () => 0.3,
      () => 0,
    );
    expect(inspectLog(scaled(still, -1)).warnings).toEqual([]);
  });
});

describe('forces that cannot be m/s²', () => {
  const measuring = (by: number): MotionLog => {
    const log = swaying();
    return { ...log, acceleration: log.acceleration!.map((x) => x * by) };
  };

  test('multiples of gravity are refused with the word to write', () => {
    const refusal = complaint(
      'log/units',
      'column acceleration: found a force of 1.00 m/s² on average, expected about 9.8 m/s²; the values look like multiples of gravity: write "g" instead of "m/s2" in the mapping.',
    );
    expect(() => inspectLog(measuring(1 / GRAVITY))).toThrow(refusal);
    expect(() => orientLog(measuring(1 / GRAVITY))).toThrow(refusal);
  });

  test.each([
    ['milli-g', 1000 / GRAVITY, '1.00e+3'],
    ['gravity taken off', 0.01, '0.0981'],
    ['a foot for a metre', 1 / 0.3048, '32.2'],
  ])('%s: the unit and the columns are to be checked', (_what, by, found) => {
    expect(() => inspectLog(measuring(by))).toThrow(
      complaint('log/units', `found a force of ${found} m/s² on average`),
    );
    expect(() => inspectLog(measuring(by))).toThrow(
      complaint('log/units', 'check the unit and the columns of the accelerometer'),
    );
  });

  test.each([0.72, 1.3])('an accelerometer whose scale is %d passes', (by) => {
    // 7 to 13 m/s² are let through.
    expect(inspectLog(measuring(by)).warnings).toEqual([]);
  });
});

describe('gaps', () => {
  const without = (...spans: [number, number][]) =>
    inspectLog(swaying({ keep: (t: number) => !spans.some(([a, b]) => t > a && t < b) }));

  test('reach from the last sample before to the first after', () => {
    const { gaps, warnings } = without([3, 3.5]);
    expect(gaps).toEqual([{ from: 3, to: 3.5 }]);
    expect(warnings).toEqual([
      {
        code: 'log/gap',
        timeS: 3,
        message: 'samples are missing; the orientation is bridged there: 3.00–3.50 s',
      },
    ]);
  });

  test('one missing sample is a gap', () => {
    expect(without([2.995, 3.005]).gaps).toEqual([{ from: 2.99, to: 3.01 }]);
  });

  test('five are listed, the others counted', () => {
    const { gaps, warnings } = without(
      ...[1, 2, 3, 4, 5, 6, 7].map((t): [number, number] => [t, t + 0.5]),
    );
    expect(gaps).toHaveLength(7);
    expect(warnings[0]!.message).toMatch(/5\.00–5\.50 s and 2 more$/);
  });
});

describe('flat tops', () => {
  /** The swaying log with its rate held within ±`limit`. */
  const held = (limit: number) => {
    const log = swaying();
    return { ...log, rate: log.rate.map((x) => Math.min(Math.max(x, -limit), limit)) };
  };
  /** The rate 0.5 SWAY cos(SWAY t) is beyond the limit for this long on each side of its peak. */
  const beyond = (limit: number) => Math.acos(limit / (0.5 * SWAY)) / SWAY;

  test('are found on both ends of the range of the gyroscope', () => {
    const limit = 2.08;
    const half = beyond(limit);
    const { clippedRate, warnings } = inspectLog(held(limit));
    // A peak every half period of the sway; whole samples lie inside.
    const peaks = Array.from({ length: 41 }, (_, k) => (k * Math.PI) / SWAY);
    expect(clippedRate).toHaveLength(peaks.length);
    clippedRate.forEach(({ from, to }, k) => {
      const [first, last] = [Math.max(peaks[k]! - half, 0), Math.min(peaks[k]! + half, SECONDS)];
      expect(from - first).toBeGreaterThan(-1e-9);
      expect(from - first).toBeLessThan(1 / PER_SECOND);
      expect(last - to).toBeGreaterThan(-1e-9);
      expect(last - to).toBeLessThan(1 / PER_SECOND);
    });
    expect(warnings).toContainEqual(
      expect.objectContaining({
        code: 'log/clipped',
        message: expect.stringContaining('the gyroscope is at the end of its range'),
      }),
    );
  });

  test('are found in the accelerometer', () => {
    // A knock against the sill of a glass door, four samples long.
    const hit = (k: number): Sample => [0, 0, k >= 1000 && k < 1004 ? 20 : Math.sin(k)];
    const { clippedForce, clippedRate, warnings } = inspectLog(swaying({ extra: hit }));
    expect(clippedForce).toEqual([{ from: 10, to: 10.03 }]);
    expect(clippedRate).toEqual([]);
    expect(warnings).toContainEqual(
      expect.objectContaining({
        code: 'log/clipped',
        timeS: 10,
        message: expect.stringContaining('the accelerometer is at the end of its range'),
      }),
    );
  });

  test('two equal samples at the top are none', () => {
    const hit = (k: number): Sample => [0, 0, k === 1000 || k === 1001 ? 20 : Math.sin(k)];
    expect(inspectLog(swaying({ extra: hit })).clippedForce).toEqual([]);
  });

  test('a camera that spins at one rate all the time is not clipped', () => {
    const spinning = rollingLog(
      (t) => t,
      () => 1,
    );
    expect(inspectLog(spinning).clippedRate).toEqual([]);
  });
});

describe('vibration', () => {
  test('the seconds in which the force jumps from sample to sample are marked', () => {
    // Back and forth by 9 m/s², 18 from sample to sample: far more than 8.
    const rattle = (k: number): Sample => [0, 0, k >= 1000 && k < 1200 ? 9 * (-1) ** k : 0];
    const { vibration, warnings } = inspectLog(swaying({ extra: rattle }));
    expect(vibration).toEqual([{ from: 10, to: 11.99 }]);
    expect(warnings.map(({ code }) => code)).toEqual(['log/vibration']);
  });

  test('the bounce of footsteps is none', () => {
    // 4 m/s² twice a second change by at most 4 · 4π/100 m/s² from sample to sample.
    const steps = (k: number): Sample => [0, 4 * Math.sin((4 * Math.PI * k) / PER_SECOND), 0];
    expect(inspectLog(swaying({ extra: steps })).vibration).toEqual([]);
  });
});

describe('rests', () => {
  /** Sways, then lies on a flower table from 10 s on for some seconds, then sways on. */
  const resting = (seconds: number, bias = 0) => {
    const swayed = (t: number) => (t < 10 ? t : t < 10 + seconds ? 10 : t - seconds);
    // At 10 s = 20/3 sways plus a whole the roll is at a fixed angle; only the rate jumps.
    return rollingLog(
      (t) => 0.5 * Math.sin(SWAY * swayed(t)),
      (t) => (t >= 10 && t < 10 + seconds ? 0 : 0.5 * SWAY * Math.cos(SWAY * swayed(t))) + bias,
    );
  };

  test('are found to a quarter of a second', () => {
    const { rests, warnings } = inspectLog(resting(5));
    expect(rests).toHaveLength(1);
    expect(rests[0]!.from).toBeGreaterThanOrEqual(10);
    expect(rests[0]!.from).toBeLessThanOrEqual(10.25);
    expect(rests[0]!.to).toBeGreaterThan(14.75 - 1 / PER_SECOND);
    expect(rests[0]!.to).toBeLessThanOrEqual(15);
    expect(warnings).toEqual([]);
  });

  test.each([-6, 6])('are found under a gyro bias of %d °/s', (bias) => {
    expect(inspectLog(resting(5, bias * DEGREE)).rests).toHaveLength(1);
  });

  test('a pause of less than a second and a half is none', () => {
    expect(inspectLog(resting(1.4)).rests).toEqual([]);
  });

  test('a steady pan of more than 10 °/s is none', () => {
    const log = resting(5);
    const panning = { ...log, rate: log.rate.map((x, i) => (i % 3 === 1 ? 11 * DEGREE : x)) };
    expect(inspectLog(panning).rests).toEqual([]);
  });
});

test('without an accelerometer only gaps and the gyroscope are looked at', () => {
  const { times, rate } = swaying();
  const quality = inspectLog(createMotionLog({ times, rate: rate.map((x) => x / DEGREE) }));
  expect(quality.warnings).toEqual([]);
  expect([...quality.clippedForce, ...quality.vibration, ...quality.rests]).toEqual([]);
});
