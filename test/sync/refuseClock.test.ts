import { describe, expect, test } from 'vitest';
import { type ClockFindings, nothingShared, refusalOf } from '../../src/sync/refuseClock.js';
import { createMotionLog } from '../../src/track/motionLog.js';

const GOOD: ClockFindings = {
  consistency: 0.8,
  leftover: 0,
  contest: 5000,
  seconds: 60,
  motionDeg: 1.5,
  noiseDeg: 0.03,
  offsetDeviationMs: 0.3,
  driftPpm: 40,
  gain: [1.01, 0.99, 1],
  gainDeviation: [0.002, 0.002, 0.002],
  smoothedFrames: 0,
  score: 0.95,
};
const refusing = (change: Partial<ClockFindings>) => refusalOf({ ...GOOD, ...change });

describe('a clock is refused with a code and a sentence', () => {
  test('but a good one is not', () => {
    expect(refusalOf(GOOD)).toBeUndefined();
  });

  test.each([
    ['another-take', { consistency: 3.2, leftover: 0.2, contest: 30 }, 'by 3.2 times'],
    ['another-take', { consistency: 1.3, leftover: 0.001, contest: 70 }, 'by 1.3 times'],
    [
      'smoothed-track',
      { consistency: 3.2, leftover: 0.02, smoothedFrames: 7, contest: 400 },
      'smoothed over 7.0 frames',
    ],
    ['scale', { gain: [1, 1.25, 1] }, 'reads 20 % too little about its y axis'],
    ['scale', { gain: [0.5, 1, 1] }, 'reads 100 % too much about its x axis'],
    ['noisy', { offsetDeviationMs: 6, noiseDeg: 0.4 }, '0.40° from frame to frame'],
    ['too-short', { offsetDeviationMs: 6, seconds: 3.4 }, 'share 3.4 s'],
    ['too-still', { offsetDeviationMs: 6, motionDeg: 0.05 }, 'better than ± 6.0 ms'],
    ['ambiguous', { contest: 20 }, 'the steps look alike'],
    ['drift', { driftPpm: -2100 }, 'by -2100 ppm'],
  ] as const)('%s', (code, change, words) => {
    const refusal = refusing(change)!;
    expect(refusal.code).toBe(code);
    expect(refusal.reason).toContain(words);
  });

  test.each([
    ['consistency', { consistency: 1.2, leftover: 1 }],
    ['leftover', { consistency: 3, leftover: 0.01, contest: 100 }],
    ['offset', { offsetDeviationMs: 4 }],
    ['contest', { contest: 60 }],
    ['drift', { driftPpm: 1500 }],
    ['drift the other way', { driftPpm: -1500 }],
  ] as const)('a finding at its limit passes: %s', (_, change) => {
    expect(refusing(change)).toBeUndefined();
  });

  test.each([
    ['another-take', { consistency: 1.201, leftover: 1 }],
    ['another-take', { consistency: 3, leftover: 0.0101, contest: 100 }],
    ['another-take', { consistency: 3, leftover: 0.01, contest: 99.9 }],
    ['too-still', { offsetDeviationMs: 4.01, motionDeg: 0.3 }],
    ['too-short', { offsetDeviationMs: 4.01, motionDeg: 0.301, seconds: 7.9 }],
    ['noisy', { offsetDeviationMs: 4.01, motionDeg: 0.301, seconds: 8 }],
    ['ambiguous', { contest: 59.9 }],
    ['drift', { driftPpm: 1501 }],
  ] as const)('one just beyond is refused: %s', (code, change) => {
    expect(refusing(change)!.code).toBe(code);
  });

  test('a smoothed track hides its noise: a small misfit of it does no harm', () => {
    expect(refusing({ consistency: 1.9, leftover: 1e-4, contest: 400 })).toBeUndefined();
  });

  test('a gain that is not known well is no reason', () => {
    expect(refusing({ gain: [1.2, 1, 1], gainDeviation: [0.1, 0.01, 0.01] })).toBeUndefined();
  });
});

describe('where nothing is shared', () => {
  const log = createMotionLog({
    times: Float64Array.from({ length: 2000 }, (_, k) => k / 200),
    rate: new Float64Array(6000),
  });

  test('the hint is named', () => {
    expect(nothingShared(log, 20, { value: -90, within: 5 })).toMatchObject({
      code: 'no-overlap',
      reason: 'the log, 10.0 s long, does not overlap the clip in time at an offset of -90 s ± 5 s',
    });
  });

  test('a clip of two seconds is too short', () => {
    expect(nothingShared(log, 2)).toMatchObject({
      code: 'too-short',
      reason: 'log and clip share at most 2.0 s, and 3 s are needed',
    });
  });
});
