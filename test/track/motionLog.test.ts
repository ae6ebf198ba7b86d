import { describe, expect, test } from 'vitest';
import { createMotionLog, type MotionLogParts } from '../../src/track/motionLog.js';
import { complaint } from '../complaint.js';

const twoSamples = (more: Partial<MotionLogParts> = {}): MotionLogParts => ({
  times: Float64Array.of(10, 10.5),
  rate: Float64Array.of(0, 0.1, 0, 0, 0.2, 0),
  acceleration: Float64Array.of(0, 9.8, 0, 0, 9.7, 0),
  ...more,
});

describe('createMotionLog', () => {
  test('time starts at zero, and the log holds copies of its arrays', () => {
    const parts = twoSamples({ startNs: 10_000_000_000n });
    const log = createMotionLog(parts);
    expect(log).toEqual({ ...parts, times: Float64Array.of(0, 0.5), warnings: [] });
    expect(log.rate).not.toBe(parts.rate);
    expect(log.acceleration).not.toBe(parts.acceleration);
    expect([...parts.times]).toEqual([10, 10.5]);
  });

  test('a gyroscope alone makes a log without accelerations', () => {
    const { times, rate } = twoSamples();
    expect(createMotionLog({ times, rate })).not.toHaveProperty('acceleration');
  });

  test.each<[string, MotionLogParts, string, string]>([
    [
      'a rate that is no number',
      twoSamples({ rate: Float64Array.of(0, 0, 0, 0, 0, Number.NaN) }),
      'angular rate',
      'NaN',
    ],
    [
      'an acceleration without end',
      twoSamples({ acceleration: Float64Array.of(0, 0, 0, Number.NEGATIVE_INFINITY, 0, 0) }),
      'acceleration',
      '-Infinity',
    ],
    ['a time twice', twoSamples({ times: Float64Array.of(1, 1) }), 'time', 'the time 1 s twice'],
  ])('%s is refused, naming the sample or the row', (_, parts, column, found) => {
    expect(() => createMotionLog(parts)).toThrow(`column ${column}, frame 1: found ${found}`);
    const inFile = () => createMotionLog({ ...parts, lineOf: (sample) => sample + 7 });
    expect(inFile).toThrow(`row 8, column ${column}: found ${found}`);
  });

  test('one sample is no log', () => {
    const one = { times: Float64Array.of(0), rate: Float64Array.of(0, 0, 0) };
    expect(() => createMotionLog(one)).toThrow(complaint('log/too-short', 'found 1 sample,'));
  });

  test('arrays whose lengths do not fit are refused', () => {
    const rate = Float64Array.of(0, 0, 0);
    expect(() => createMotionLog(twoSamples({ rate }))).toThrow(
      complaint('argument/shape', 'found 2 times, 3 rates and 6 accelerations'),
    );
    const { times } = twoSamples();
    expect(() => createMotionLog({ times, rate })).toThrow('3 rates and no accelerations');
  });
});
