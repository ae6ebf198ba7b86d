import { describe, expect, test } from 'vitest';
import { makeHandheldLog } from '../../bench/accuracy/handheldLog.js';
import { inspectLog } from '../../src/inertial/logQuality.js';
import { lostStretches } from '../../src/inertial/lostHorizon.js';
import { orientLog } from '../../src/inertial/orientLog.js';
import { invertQuaternions, rotateVectors } from '../../src/rotation/arrays.js';
import type { MotionLog } from '../../src/track/motionLog.js';
import { filled, judged, tiltsDeg, withoutRows } from './horizons.js';

const SENSOR = { gyroBiasDegPerS: 1, accelBias: 0.03 };
const PER_SECOND = 200;
const FROM = 15;
const TO = 39;

/** A minute among the beds, walked along and about, and its truth. */
const walk = (seed: number) => makeHandheldLog('roaming', seed, 60, SENSOR);
const A = FROM * PER_SECOND;
const B = TO * PER_SECOND;

/** What is asked for after any hole: back within 2° after 5 s of ordinary walking. */
const BACK = 2;
const SOON = 5;

describe('a hole of 24 s', () => {
  const holes: [string, (log: MotionLog) => MotionLog, string][] = [
    [
      'of the gyroscope filled by a straight line',
      (log) => ({ ...log, rate: filled(log.rate, A, B, 'line') }),
      'log/filled',
    ],
    [
      'of the gyroscope filled by repeats',
      (log) => ({ ...log, rate: filled(log.rate, A, B, 'repeat') }),
      'log/filled',
    ],
    [
      'of both sensors filled by straight lines',
      (log) => ({
        ...log,
        rate: filled(log.rate, A, B, 'line'),
        acceleration: filled(log.acceleration!, A, B, 'line'),
      }),
      'log/filled',
    ],
  ];

  test.each(holes)('%s is named, and the horizon is soon back', (_what, spoil, code) => {
    const { log, truth } = walk(21);
    const { worst, statedDeg, track } = judged(spoil(log), truth);
    expect(track.warnings).toContainEqual(expect.objectContaining({ code, timeS: FROM }));
    expect(worst(0, FROM - SOON)).toBeLessThan(BACK);
    expect(worst(TO + SOON, 60)).toBeLessThan(BACK);
    // What is not known in the hole is said to be unknown: the errors are some degrees there.
    expect(worst(FROM, TO)).toBeLessThan(3 * statedDeg(FROM, TO));
    expect(statedDeg(FROM, TO)).toBeGreaterThan(5);
    expect(statedDeg(TO + SOON, 60)).toBeLessThan(BACK);
  });

  test('of missing rows is named, and the horizon is soon back', () => {
    const { log, truth } = walk(22);
    const gappy = withoutRows(log, truth, A, B);
    const { worst, track } = judged(gappy.log, gappy.truth);
    expect(track.warnings).toContainEqual(
      expect.objectContaining({ code: 'log/gap', timeS: FROM }),
    );
    expect(worst(0, FROM)).toBeLessThan(BACK);
    expect(worst(TO + SOON, 60)).toBeLessThan(BACK);
    // A hole is no rest, however little its one interval moves.
    expect(track.warnings).toContainEqual(expect.objectContaining({ code: 'log/heading-drift' }));
  });
});

test('rates that a wild sensor makes up for three seconds are found out by the force', () => {
  const { log, truth } = walk(23);
  const rate = log.rate.slice();
  for (let k = A; k < A + 3 * PER_SECOND; k++) rate[3 * k]! += 1;
  const { quality, track, worst, statedDeg } = judged({ ...log, rate }, truth);
  const lost = quality.lost.find(({ from, to }) => from < FROM + 3 && to > FROM)!;
  expect(lost).toBeDefined();
  expect(track.warnings).toContainEqual(expect.objectContaining({ code: 'log/lost' }));
  // Windows of eight seconds may see it that much before and after.
  expect(worst(FROM + 3 + 8 + SOON, 60)).toBeLessThan(BACK);
  expect(worst(lost.from, lost.to)).toBeLessThan(3 * statedDeg(lost.from, lost.to));
});

test('an ordinary walk is never lost, and nothing in it was filled in', () => {
  for (const seed of [21, 22, 23]) {
    const { quality } = orientLog(walk(seed).log);
    expect(quality).toMatchObject({ lost: [], filledRate: [], filledForce: [] });
  }
});

test('a coarse gyroscope that stands still on a table is resting, not filled in', () => {
  const { log, truth } = walk(24);
  // Up to second 20 the camera lies where it is: zero rate below a coarse resolution, one force.
  const step = 0.02;
  const rate = log.rate.map((x, i) => (i < 3 * 20 * PER_SECOND ? 0 : Math.round(x / step) * step));
  const up = rotateVectors(invertQuaternions(truth.subarray(0, 4)), Float64Array.of(0, 9.81, 0));
  const acceleration = log.acceleration!.map((x, i) =>
    i < 3 * 20 * PER_SECOND ? up[i % 3]! + 0.01 * Math.sin(1.7 * i) : x,
  );
  expect(inspectLog({ ...log, rate, acceleration }).filledRate).toEqual([]);
});

describe('running', () => {
  const CADENCE = 2.7;
  /** Two fifths of every step in the air, the rest on a foot that pushes with what that takes. */
  const running = (seed: number, range = Number.POSITIVE_INFINITY) => {
    const { log, truth } = walk(seed);
    const push = new Float64Array(log.rate.length);
    for (let k = 0; k < log.times.length; k++) {
      const phase = (log.times[k]! * CADENCE) % 1;
      push[3 * k + 1] = 9.81 * ((phase < 0.6 ? 1 / 0.6 : 0) - 1);
      push[3 * k] = 3 * Math.sin(2 * Math.PI * CADENCE * log.times[k]!);
    }
    const inCamera = rotateVectors(invertQuaternions(truth), push);
    const acceleration = log.acceleration!.map((x, i) =>
      Math.max(-range, Math.min(range, x + inCamera[i]!)),
    );
    return { log: { ...log, acceleration }, truth };
  };

  test('is not taken for a wrong unit, though the force is 16 m/s² most of the time', () => {
    const { log, truth } = running(31);
    const sizes = Array.from(log.times, (_, k) =>
      Math.hypot(...log.acceleration!.subarray(3 * k, 3 * k + 3)),
    ).sort((a, b) => a - b);
    expect(sizes[sizes.length >> 1]).toBeGreaterThan(13);
    expect(judged(log, truth).worst(0, 60)).toBeLessThan(BACK);
  });

  test('beyond the range of the accelerometer keeps the horizon within 2°', () => {
    const { log, truth } = running(32, 1.5 * 9.80665);
    const { quality, worst } = judged(log, truth);
    expect(quality.clippedForce.length).toBeGreaterThan(20);
    expect(worst(0, 60)).toBeLessThan(BACK);
  });
});

test('a clipped gyroscope is named, and the doubt covers what it costs', () => {
  const { log, truth } = walk(41);
  const rate = log.rate.map((x) => Math.max(-0.5, Math.min(0.5, x)));
  const { quality, tilts } = judged({ ...log, rate }, truth);
  expect(quality.clippedRate.length).toBeGreaterThan(0);
  const worst = Math.max(...tilts);
  const stated = Math.max(...quality.tiltDeviation) * (180 / Math.PI);
  expect(worst).toBeLessThan(3 * stated);
});

describe('lostStretches', () => {
  const nodeTimes = Float64Array.from({ length: 401 }, (_, k) => k * 0.05);
  const pushed = (force: (t: number) => number) => {
    const out = new Float64Array(3 * nodeTimes.length);
    for (let k = 1; k < nodeTimes.length; k++) out[3 * k] = force(nodeTimes[k]!) * 0.05;
    return out;
  };

  test('a start and a stop are no loss, a constant pull sideways is', () => {
    const sprint = pushed((t) => (t > 4 && t < 7 ? 2.5 : 0));
    expect(lostStretches(nodeTimes, sprint, [])).toEqual([]);
    const pull = lostStretches(
      nodeTimes,
      pushed((t) => (t > 10 ? 2 : 0)),
      [],
    );
    expect(pull).toHaveLength(1);
    // Two of them over five of eight seconds are above 1.2 m/s².
    expect(pull[0]!.from).toBeLessThanOrEqual(10);
    expect(pull[0]!.to).toBeCloseTo(20, 9);
  });

  test('where the force is unknown nothing is said', () => {
    const pull = pushed(() => 2);
    expect(lostStretches(nodeTimes, pull, [{ from: 0, to: 20 }])).toEqual([]);
  });

  test('beside an unknown force only the windows that hold none of it speak', () => {
    const pull = pushed(() => 2);
    expect(lostStretches(nodeTimes, pull, [{ from: 0, to: 4 }])).toEqual([{ from: 4, to: 20 }]);
    expect(lostStretches(nodeTimes, pull, [{ from: 16, to: 20 }])).toEqual([{ from: 0, to: 16 }]);
    // Neither side of the middle has eight seconds.
    expect(lostStretches(nodeTimes, pull, [{ from: 7.5, to: 12.5 }])).toEqual([]);
  });
});

test('errors are measured against the truth', () => {
  const { truth } = walk(21);
  expect(Math.max(...tiltsDeg(truth, truth))).toBeLessThan(1e-6);
});
