import { describe, expect, test } from 'vitest';
import { makeClockTake } from '../../bench/accuracy/clockTakes.js';
import { integrateRate } from '../../src/index.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { multiplyQuaternions } from '../../src/rotation/quaternion.js';
import { quaternionFromRotationVector } from '../../src/rotation/rotationVector.js';
import { type ClockProblem, refineClock } from '../../src/sync/refineClock.js';
import { apart, largestGap } from '../apart.js';

const CALM = { duration: 24, frameNoiseDeg: 0, gyroNoise: 0, biasDegPerS: 0, readout: 0, wild: 0 };
const TAKE = makeClockTake('walk', 1, CALM);
const ALL = new Float64Array(TAKE.track.times.length).fill(1);

const problemOf = ({ track, log }: typeof TAKE): ClockProblem => ({
  times: track.times,
  quaternions: track.quaternions,
  logTimes: log.times,
  logRate: log.rate,
  logQuaternions: integrateRate(log.times, log.rate),
});

/** 20 ms and 6° from the truth, without drift. */
const startAt = ({ offset, axes }: typeof TAKE) => ({
  offset: offset + 0.02,
  drift: 0,
  axes: multiplyQuaternions(quaternionFromRotationVector([0.1, 0, -0.05]), axes),
});

// Rows 5 ms apart are joined by straight rates: a bob of 1° at 2 Hz, with harmonics 300°/s², strays
// by 300 · 0.005²/8 = 0.001° from them, at some 13°/s 0.07 ms, in both directions by turns: the
// mean over fifty strides is a tenth of it.
const OFFSET = 0.01e-3;

describe('refining a clock', () => {
  const { offset, drift, axes } = refineClock(problemOf(TAKE), startAt(TAKE), ALL, true, 8);

  test('noiseless rates lead to the offset, the drift and the axes', () => {
    expect(Math.abs(offset - TAKE.offset)).toBeLessThan(OFFSET);
    // The offset at either end over half the clip.
    expect(Math.abs(drift - TAKE.driftPpm * 1e-6)).toBeLessThan((2 * OFFSET) / 12);
    // The same 0.001°, seen against a bob of 0.8°.
    expect(apart(axes, TAKE.axes)).toBeLessThan(0.001 / 0.8);
  });

  test('a clip too short for the drift keeps the one it was given', () => {
    const start = { ...startAt(TAKE), drift: TAKE.driftPpm * 1e-6 };
    const found = refineClock(problemOf(TAKE), start, ALL, false, 6);
    expect(found.drift).toBe(start.drift);
    expect(found.covariance[1]).toEqual([0, 0, 0, 0, 0]);
    expect(Math.abs(found.offset - TAKE.offset)).toBeLessThan(OFFSET);
  });

  test('a constant error of the gyro shows in the slow factor', () => {
    const bias = [0.01, -0.02, 0.005] as const;
    const rate = TAKE.log.rate.map((value, i) => value + bias[i % 3]!);
    const problem = problemOf({ ...TAKE, log: { ...TAKE.log, rate } });
    const { gyroBias } = refineClock(problem, startAt(TAKE), ALL, true, 8);
    // The slow factor follows the heading (some 25° off its middle) only in the mean: an eighth.
    expect(largestGap(gyroBias, bias)).toBeLessThan(0.023 / 8);
  });

  test('frames that follow neither log nor neighbours lose their weight, the others keep it', () => {
    const spoilt = makeClockTake('walk', 1, { ...CALM, wild: 0.3, frameNoiseDeg: 0.03 });
    const found = refineClock(problemOf(spoilt), startAt(spoilt), ALL, true, 8);
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
    const { slow, motion } = refineClock(problemOf(TAKE), startAt(TAKE), ALL, true, 8);
    const at = (list: Float64Array, k: number) =>
      [list[4 * k]!, list[4 * k + 1]!, list[4 * k + 2]!, list[4 * k + 3]!] as const;
    for (let k = 0; k < ALL.length; k += 37) {
      const joined = multiplyQuaternions(at(slow, k), at(motion, k));
      // Ten times the 0.001° of a straight rate, at steps of greater acceleration.
      expect(apart(joined, at(TAKE.track.quaternions, k))).toBeLessThan(0.01 * RADIANS_PER_DEGREE);
    }
  });
});
