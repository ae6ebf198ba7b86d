import { describe, expect, test } from 'vitest';
import { readMotionLog } from '../../src/read/readMotionLog.js';
import type { Vector3 } from '../../src/rotation/quaternion.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';
import { vectors } from '../turns.js';
import { inOurs, leftHanded, rightHanded, sentence } from './fileAxes.js';

const COLUMNS = 't,wx,wy,wz,fx,fy,fz';
const TIME = 'time: column "t" unit s';
const RATE = 'rate: x "wx" y "wy" z "wz" rad/s';
const ACCEL = 'accel: x "fx" y "fy" z "fz" m/s2 at-rest up';
const AXES = 'axes sensor: x right, y up, z back';

/** A log whose two rows hold the same rate and the same specific force. */
const logOf = (rate: Vector3, force: Vector3, ...lines: readonly string[]) => {
  const cells = [...rate, ...force].join(',');
  return readMotionLog(`${COLUMNS}\n0,${cells}\n0.5,${cells}\n`, {
    mapping: [TIME, ...lines].join('\n'),
  });
};

/** The first vector of a list; adding zero turns −0 into 0. */
const first = (list: Float64Array) => [...list.subarray(0, 3)].map((x) => x + 0);
const times = (sign: number, v: Vector3) => v.map((x) => sign * x + 0);

describe('readMotionLog', () => {
  test('any right-handed sensor axes are turned into ours, to the last bit', () => {
    fc.assert(
      fc.property(rightHanded, vectors, vectors, (axes, rate, force) => {
        const log = logOf(rate, force, RATE, ACCEL, `axes sensor: ${sentence(axes)}`);
        expect(first(log.rate)).toEqual(times(1, inOurs(axes, rate)));
        expect(first(log.acceleration!)).toEqual(times(1, inOurs(axes, force)));
      }),
    );
  });

  test('in left-handed axes, forces are mirrored and turns count the other way round', () => {
    fc.assert(
      fc.property(leftHanded, vectors, vectors, (axes, rate, force) => {
        const line = `axes sensor: ${sentence(axes)}\nmirrored yes`;
        const log = logOf(rate, force, RATE, ACCEL, line);
        expect(first(log.rate)).toEqual(times(-1, inOurs(axes, rate)));
        expect(first(log.acceleration!)).toEqual(times(1, inOurs(axes, force)));
      }),
    );
  });

  test('degrees per second and standard gravities become SI units', () => {
    const units = [RATE.replace('rad', 'deg'), ACCEL.replace('m/s2', 'g')];
    const log = logOf([180, -90, 0], [0, 1, -0.5], ...units, AXES);
    expect(first(log.rate)).toEqual([180 * (Math.PI / 180), -90 * (Math.PI / 180), 0]);
    expect(first(log.acceleration!)).toEqual([0, 9.80665, -4.903325]);
  });

  test('a sensor that shows gravity downwards at rest is turned round', () => {
    const log = logOf([0.1, 0, 0], [0, -9.8, 1], RATE, ACCEL.replace('up', 'down'), AXES);
    expect(first(log.acceleration!)).toEqual([0, 9.8, -1]);
    expect(first(log.rate)).toEqual([0.1, 0, 0]);
  });

  test('without a line about acceleration there is none', () => {
    expect(logOf([0, 0, 0], [0, 0, 0], RATE, AXES)).not.toHaveProperty('acceleration');
  });

  test('our own header needs no mapping', () => {
    const gyro = readMotionLog('time_s,gx,gy,gz\n2,0,0.1,0\n2.25,0,0.2,0\n');
    expect([...gyro.times]).toEqual([0, 0.25]);
    expect([...gyro.rate]).toEqual([0, 0.1, 0, 0, 0.2, 0]);
    expect(gyro).toMatchObject({ startNs: 2_000_000_000n, warnings: [] });
    const both = readMotionLog('time_s,gx,gy,gz,ax,ay,az\n0,0,0.1,0,0,9.8,0\n1,0,0,0,0,9.7,0\n');
    expect([...both.acceleration!]).toEqual([0, 9.8, 0, 0, 9.7, 0]);
  });

  test('rates that no hand reaches look like degrees, and a note says so', () => {
    const { warnings } = logOf([0, 25, 0], [0, 9.8, 0], RATE, ACCEL, AXES);
    expect(warnings).toMatchObject([
      { code: 'read/units', message: expect.stringContaining('write "deg/s" in the mapping') },
    ]);
    expect(logOf([0, 5, 0], [0, 9.8, 0], RATE, ACCEL, AXES).warnings).toEqual([]);
  });

  test.each([
    [[AXES], 'expected a line like rate: x "gx" y "gy" z "gz" rad/s'],
    [[RATE], 'expected a line like "axes sensor: x right, y up, z back"'],
  ])('with %j alone the missing line is asked for', (lines, words) => {
    expect(() => logOf([0, 0, 0], [0, 0, 0], ...lines)).toThrow(
      complaint('mapping/missing', words),
    );
  });

  test('without a line about time the log is refused', () => {
    expect(() =>
      readMotionLog('1,2,3\n1,2,3\n', { mapping: `rate: x 1 y 2 z 3 rad/s\n${AXES}` }),
    ).toThrow(complaint('mapping/missing', 'expected a line like time: column "t" unit s'));
  });

  test('what is wrong is named by its row and column', () => {
    expect(() => readMotionLog('time_s,gx,gy,gz\n0,0,0,0\n0.1,0,-,0\n')).toThrow(
      complaint('read/cell', 'row 3, column "gy": found "-"'),
    );
    expect(() => readMotionLog('time_s,gx,gy,gz\n0,0,0,0\n\n0,0,0,0\n')).toThrow(
      complaint('track/time-order', 'row 4, column time: found the time 0 s twice'),
    );
  });
});
