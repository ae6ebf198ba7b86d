import { describe, expect, test } from 'vitest';
import { makeHandheldLog } from '../../bench/accuracy/handheldLog.js';
import { joinMotionLogs } from '../../src/inertial/joinMotionLogs.js';
import {
  type AccelerometerLog,
  createAccelerometerLog,
  createMotionLog,
} from '../../src/track/motionLog.js';
import { vectorsAt } from '../../src/track/vectorsAt.js';
import { complaint } from '../complaint.js';

/** A camera that is tilted to and fro, and its accelerometer at 98 rows a second from `start` on. */
function apart(kind: 'tilt' | 'heading', start: number, seconds = 40) {
  const { log } = makeHandheldLog(kind, 82, 60, { gyroBiasDegPerS: 2, accelBias: 0.05 });
  const gyro = createMotionLog({ times: log.times, rate: log.rate });
  const times = Float64Array.from({ length: 98 * seconds }, (_, k) => k / 98);
  const acceleration = vectorsAt(
    log.times,
    log.acceleration!,
    times.map((time) => time + start),
  );
  return { log, gyro, accelerometer: createAccelerometerLog({ times, acceleration }) };
}

describe('two files of one take', () => {
  test('a stated offset puts the forces where they were, and leaves out what they do not cover', () => {
    const { log, gyro, accelerometer } = apart('tilt', 5);
    const joined = joinMotionLogs(gyro, accelerometer, { offset: 5 });
    expect(joined).toMatchObject({ offset: 5, offsetDeviation: 0, offsetFrom: 'stated' });
    const n = joined.log.times.length;
    // 5 s to the last force, 39.99 s later, at 200 rows a second.
    expect(n).toBe(Math.floor((98 * 40 - 1) / 98 / 0.005) + 1);
    expect([...joined.log.rate.subarray(0, 3)]).toEqual([...log.rate.subarray(3000, 3003)]);
    let sum = 0;
    for (let i = 0; i < 3 * n; i++) {
      sum += (joined.log.acceleration![i]! - log.acceleration![3000 + i]!) ** 2;
    }
    // White noise of 0.03 m/s² that a 98 Hz accelerometer has averaged, against itself.
    expect(Math.sqrt(sum / (3 * n))).toBeLessThan(0.05);
    expect(joined.log.warnings).toMatchObject([{ code: 'log/covered' }]);
  });

  test('the motion tells the offset, within what it states', () => {
    for (const start of [5.4321, 0.25]) {
      const { gyro, accelerometer } = apart('tilt', start);
      const { offset, offsetDeviation, offsetFrom } = joinMotionLogs(gyro, accelerometer);
      expect(offsetFrom).toBe('motion');
      expect(Math.abs(offset - start)).toBeLessThan(3 * offsetDeviation);
      expect(offsetDeviation).toBeLessThan(0.05);
    }
  });

  test('absolute stamps in both tell it too', () => {
    const { gyro, accelerometer } = apart('heading', 3);
    const startNs = 1_700_000_000_000_000_000n;
    const joined = joinMotionLogs(
      { ...gyro, startNs },
      { ...accelerometer, startNs: startNs + 3_000_000_000n },
    );
    expect(joined).toMatchObject({ offset: 3, offsetFrom: 'stamps' });
    expect(joined.log.startNs).toBe(startNs + 3_000_000_000n);
  });

  test('a walk that never tilts does not tell it, and is refused with what to do', () => {
    const { gyro, accelerometer } = apart('heading', 3);
    expect(() => joinMotionLogs(gyro, accelerometer)).toThrow(
      complaint('sync/refused', 'state the offset in seconds'),
    );
  });

  test('logs of other times are refused with both times', () => {
    const { gyro, accelerometer } = apart('tilt', 5);
    expect(() => joinMotionLogs(gyro, accelerometer, { offset: 100 })).toThrow(
      complaint(
        'sync/refused',
        "found an accelerometer from 100.00 to 139.99 s of the gyroscope's",
      ),
    );
  });

  test('neither log is changed', () => {
    const { gyro, accelerometer } = apart('tilt', 5);
    const before = accelerometer.acceleration.slice();
    joinMotionLogs(gyro, accelerometer, { offset: 5 });
    expect(accelerometer.acceleration).toEqual(before);
    expect(gyro).not.toHaveProperty('acceleration');
  });
});

describe('vectorsAt', () => {
  const line = (n: number, rate: number): AccelerometerLog => {
    const times = Float64Array.from({ length: n }, (_, k) => k / rate);
    const acceleration = Float64Array.from([...times].flatMap((t) => [t, 2 * t, 1]));
    return createAccelerometerLog({ times, acceleration });
  };

  test.each([
    ['sparser', 13],
    ['as dense', 100],
    ['denser', 1000],
  ])('a straight line stays one where the other sensor is %s', (_what, rate) => {
    const { times, acceleration } = line(5 * rate, rate);
    const wanted = Float64Array.from({ length: 300 }, (_, k) => 0.5 + k / 100);
    const out = vectorsAt(times, acceleration, wanted);
    wanted.forEach((time, k) => {
      expect(out[3 * k]).toBeCloseTo(time, 9);
      expect(out[3 * k + 1]).toBeCloseTo(2 * time, 9);
      expect(out[3 * k + 2]).toBeCloseTo(1, 9);
    });
  });

  test('a dense sensor is averaged, so that what is faster than the rows does not fold down', () => {
    const times = Float64Array.from({ length: 5000 }, (_, k) => k / 1000);
    // Ten swings from row to row: sampled, it would stand still at its height.
    const acceleration = Float64Array.from(
      [...times].flatMap((t) => [Math.cos(2 * Math.PI * 100 * t), 0, 0]),
    );
    const wanted = Float64Array.from({ length: 30 }, (_, k) => 1 + k / 10);
    const out = vectorsAt(times, acceleration, wanted);
    // The mean over whole swings by trapezoids is zero up to rounding.
    for (let k = 0; k < 30; k++) expect(Math.abs(out[3 * k]!)).toBeLessThan(1e-9);
  });
});
