import { expect, test } from 'vitest';
import { makeHandheldLog } from '../../bench/accuracy/handheldLog.js';
import { makeWalk } from '../../bench/accuracy/walks.js';
import { stepFrequencyOfLog } from '../../src/inertial/stepFrequencyOfLog.js';
import { createMotionLog } from '../../src/track/motionLog.js';

test('the steps of a walk have the pace that they were made with', () => {
  for (const [kind, seed] of [
    ['roaming', 91],
    ['turn90', 92],
  ] as const) {
    const { log } = makeHandheldLog(kind, seed, 40);
    const { stepFrequency } = makeWalk(kind, seed, { duration: 40, frameRate: 200 });
    const { times, frequency, stepTimes } = stepFrequencyOfLog(log);
    const off = Array.from(times, (time, k) =>
      Math.abs(frequency[k]! - stepFrequency[Math.min(Math.round(time * 200), 7999)]!),
    ).filter((_, k) => times[k]! > 2 && times[k]! < 38);
    // The pace changes by some hundredths of a hertz within the second and a half of the mean.
    expect(Math.max(...off)).toBeLessThan(0.1);
    const mean = stepFrequency.reduce((sum, f) => sum + f, 0) / stepFrequency.length;
    // One step more or less at each end.
    expect(Math.abs(stepTimes.length - 40 * mean)).toBeLessThanOrEqual(2.5);
  }
});

test('steps fall where the force is largest', () => {
  const times = Float64Array.from({ length: 4000 }, (_, k) => k / 200);
  const acceleration = Float64Array.from(
    [...times].flatMap((t) => [0, 9.81 + 2 * Math.cos(2 * Math.PI * 2 * t), 0]),
  );
  const log = createMotionLog({ times, rate: new Float64Array(12000), acceleration });
  const { stepTimes, frequency } = stepFrequencyOfLog(log);
  for (const time of stepTimes.subarray(2, -2)) {
    // A hundredth of a step.
    expect(Math.abs(time * 2 - Math.round(time * 2))).toBeLessThan(0.01);
  }
  expect(frequency[500]).toBeCloseTo(2, 2);
});

test('whoever stands has no steps, and a log without an accelerometer none either', () => {
  const { log } = makeHandheldLog('locked', 93, 30);
  expect(stepFrequencyOfLog(log).stepTimes).toHaveLength(0);
  const blind = createMotionLog({ times: log.times, rate: log.rate });
  const { times, frequency, stepTimes } = stepFrequencyOfLog(blind);
  expect(frequency).toHaveLength(times.length);
  expect(Math.max(...frequency)).toBe(0);
  expect(stepTimes).toHaveLength(0);
});
