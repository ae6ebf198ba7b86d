import { describe, expect, test } from 'vitest';
import { makeClockTake } from '../../bench/accuracy/clockTakes.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { multiplyQuaternions } from '../../src/rotation/quaternion.js';
import { quaternionFromRotationVector } from '../../src/rotation/rotationVector.js';
import { UNKNOWNS } from '../../src/sync/clockColumns.js';
import { AS_LOGGED, loggedMotion } from '../../src/sync/loggedMotion.js';
import { type ClockProblem, logTimes, motionAt, refineClock } from '../../src/sync/refineClock.js';
import { apart, largestGap } from '../apart.js';

const CALM = { duration: 24, frameNoiseDeg: 0, gyroNoise: 0, biasDegPerS: 0, readout: 0, wild: 0 };
const TAKE = makeClockTake('walk', 1, CALM);
const ALL = new Float64Array(TAKE.track.times.length).fill(1);

const problemOf = ({ track, log }: typeof TAKE): ClockProblem => ({
  times: track.times,
  quaternions: track.quaternions,
  rows: { times: log.times, rate: log.rate, interval: 1 / 200 },
});

/** 20 ms and 6° from the truth, without drift. */
const startAt = ({ offset, axes }: typeof TAKE) => ({
  ...AS_LOGGED,
  offset: offset + 0.02,
  drift: 0,
  axes: multiplyQuaternions(quaternionFromRotationVector([0.1, 0, -0.05]), axes),
});

const EVERYTHING = { unknowns: UNKNOWNS, iterations: 8, covariance: true };
const withoutDrift = UNKNOWNS.filter((unknown) => unknown !== 'drift');

// Rows 5 ms apart are joined by straight rates: a bob of 1° at 2 Hz, with harmonics 300°/s², strays
// by 300 · 0.005²/8 = 0.001° from them, at some 13°/s 0.07 ms, in both directions by turns: the
// mean over fifty strides is a tenth of it.
const OFFSET = 0.01e-3;

describe('refining a clock', () => {
  const { offset, drift, axes } = refineClock(problemOf(TAKE), startAt(TAKE), ALL, EVERYTHING);

  test('noiseless rates lead to the offset, the drift and the axes', () => {
    expect(Math.abs(offset - TAKE.offset)).toBeLessThan(OFFSET);
    // The offset at either end over half the clip.
    expect(Math.abs(drift - TAKE.driftPpm * 1e-6)).toBeLessThan((2 * OFFSET) / 12);
    // The same 0.001°, seen against a bob of 0.8°.
    expect(apart(axes, TAKE.axes)).toBeLessThan(0.001 / 0.8);
  });

  test('a clip too short for the drift keeps the one it was given', () => {
    const start = { ...startAt(TAKE), drift: TAKE.driftPpm * 1e-6 };
    const found = refineClock(problemOf(TAKE), start, ALL, {
      ...EVERYTHING,
      unknowns: withoutDrift,
    });
    expect(found.drift).toBe(start.drift);
    expect(found.covariance[1]).toEqual(UNKNOWNS.map(() => 0));
    expect(Math.abs(found.offset - TAKE.offset)).toBeLessThan(OFFSET);
  });

  test('deviations are worked out only where they are asked for', () => {
    const ask = (covariance: boolean) =>
      refineClock(problemOf(TAKE), startAt(TAKE), ALL, {
        ...EVERYTHING,
        iterations: 3,
        covariance,
      });
    const without = ask(false);
    const { covariance, ...rest } = ask(true);
    expect(without).toEqual({ ...rest, covariance: UNKNOWNS.map(() => UNKNOWNS.map(() => 0)) });
    expect(Math.min(...covariance.map((row, i) => row[i]!))).toBeGreaterThan(0);
  });

  test('a constant error of the gyro is found', () => {
    const bias = [0.01, -0.02, 0.005] as const;
    const rate = TAKE.log.rate.map((value, i) => value + bias[i % 3]!);
    const problem = problemOf({ ...TAKE, log: { ...TAKE.log, rate } });
    const found = refineClock(problem, startAt(TAKE), ALL, EVERYTHING);
    // Most of a constant error is slow, and what is not tells it to an eighth.
    expect(largestGap(found.bias, bias)).toBeLessThan(0.023 / 8);
  });

  test('frames that follow neither log nor neighbours lose their weight, the others keep it', () => {
    const spoilt = makeClockTake('walk', 1, { ...CALM, wild: 0.3, frameNoiseDeg: 0.03 });
    const found = refineClock(problemOf(spoilt), startAt(spoilt), ALL, EVERYTHING);
    const lost = Array.from(ALL.keys()).filter((k) => found.weights[k] === 0);
    // Four deviations on three axes: a chance of 1e-3; a wild frame within 0.2° of 5° is rarer.
    const wrong = lost.filter((k) => !spoilt.wildFrames.has(k)).length;
    expect(wrong).toBeLessThan(5e-3 * ALL.length);
    expect(spoilt.wildFrames.size - (lost.length - wrong)).toBeLessThan(2);
    // 45 % of all frames are 64 % of the good ones: the quantile 1.80 instead of 1.45; a twentieth
    // for 1400 frames.
    const noise = found.noise / RADIANS_PER_DEGREE;
    expect(noise / 0.03).toBeGreaterThan(0.95);
    expect(noise / 0.03).toBeLessThan((1.8 / 1.45) * 1.05);
  });

  test('the slow factor times the motion of the log is the picture', () => {
    const problem = problemOf(TAKE);
    const found = refineClock(problem, startAt(TAKE), ALL, EVERYTHING);
    const { slow } = found;
    const seen = logTimes(found, problem.times, problem.times.at(-1)! / 2);
    const motion = motionAt(loggedMotion(problem.rows, found), seen, found.axes);
    const at = (list: Float64Array, k: number) =>
      [list[4 * k]!, list[4 * k + 1]!, list[4 * k + 2]!, list[4 * k + 3]!] as const;
    for (let k = 0; k < ALL.length; k += 37) {
      const joined = multiplyQuaternions(at(slow, k), at(motion, k));
      // Ten times the 0.001° of a straight rate, at steps of greater acceleration.
      expect(apart(joined, at(TAKE.track.quaternions, k))).toBeLessThan(0.01 * RADIANS_PER_DEGREE);
    }
  });
});
