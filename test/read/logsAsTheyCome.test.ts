import { describe, expect, test } from 'vitest';
import { TwinkeelError } from '../../src/error.js';
import { parseMapping } from '../../src/read/mapping.js';
import { readAccelerometerLog, readMotionLog } from '../../src/read/readMotionLog.js';
import { readTrack } from '../../src/read/readTrack.js';
import { isUnitRow } from '../../src/read/unitRow.js';
import { complaint } from '../complaint.js';

const AXES = 'axes sensor: x right, y up, z back';

describe('rows of several sensors in one file', () => {
  const rows = Array.from({ length: 40 }, (_, k) => {
    const ns = (1_700_000_000_000_000_000n + BigInt(k) * 5_000_000n).toString();
    return k % 2 === 0 ? `${ns},gyro,0.5,-0.25,0` : `${ns},accel,0,9.5,${k / 10}`;
  });
  const text = `stamp,sensor,x,y,z\n${rows.join('\n')}\n1700000000300000000,light,,,\n`;
  const mapping = [
    'time: column "stamp" unit ns',
    'rate: x "x" y "y" z "z" rad/s where "sensor" is "gyro"',
    'accel: x "x" y "y" z "z" m/s2 at-rest up where "sensor" is "accel"',
    AXES,
  ].join('\n');

  test('are told apart by the words of the mapping, each at its own stamps', () => {
    const log = readMotionLog(text, { mapping });
    expect(log.times).toHaveLength(20);
    expect(log.times[1]).toBeCloseTo(0.01, 12);
    expect(log.startNs).toBe(1_700_000_000_000_000_000n);
    expect([...log.rate.subarray(3, 6)]).toEqual([0.5, -0.25, 0]);
    // Forces of 0.1 k m/s² at odd k lie half a row beside the rates: their mean, 0.1 k at even k.
    expect(log.acceleration![3 * 5 + 2]).toBeCloseTo(1, 12);
    expect(log.acceleration![3 * 5 + 1]).toBeCloseTo(9.5, 12);
  });

  test('a name that no row has is refused with those that are there', () => {
    expect(() =>
      readMotionLog(text, { mapping: mapping.replace('"gyro"', '"gyroscope"') }),
    ).toThrow(complaint('mapping/column', 'column "sensor": found "gyro", "accel", "light"'));
  });

  test('what other sensors hold in their rows may be anything, but not in those that count', () => {
    expect(() => readMotionLog(text.replace('gyro,0.5', 'gyro,-'), { mapping })).toThrow(
      complaint('read/cell', 'row 2, column "x": found "-"'),
    );
  });
});

test('counts are worth what the mapping says', () => {
  const mapping = [
    'time: column "t" unit us',
    'rate: x "gx" y "gy" z "gz" counts of 1/16.4 deg/s',
    'accel: x "ax" y "ay" z "az" counts of 0.00048828125 g at-rest down',
    AXES,
  ].join('\n');
  const text = 't,gx,gy,gz,ax,ay,az\n0,164,0,-328,0,-2048,0\n5000,164,0,-328,0,-2048,0\n';
  const log = readMotionLog(text, { mapping });
  expect(log.times[1]).toBeCloseTo(0.005, 15);
  const degree = Math.PI / 180;
  // Two roundings of a factor and one of a product.
  expect(log.rate[0]! / (10 * degree)).toBeCloseTo(1, 14);
  expect(log.rate[2]! / (-20 * degree)).toBeCloseTo(1, 14);
  expect(log.acceleration![1]).toBeCloseTo(9.80665, 12);
  expect(() => parseMapping('rate: x "a" y "b" z "c" counts of 1/0 deg/s')).toThrow(
    complaint('mapping/syntax', 'counts of 1/16.4 deg/s'),
  );
});

describe('a file of forces offered as rates', () => {
  const rows = Array.from({ length: 200 }, (_, k) => `${k / 100},0.3,${9.7 + 0.2 * (k % 2)},-0.5`);

  test('is recognised by its mean, in one sentence', () => {
    expect(() => readMotionLog(`time_s,gx,gy,gz\n${rows.join('\n')}\n`)).toThrow(
      complaint('log/units', 'this is what an accelerometer shows in m/s²'),
    );
  });

  test('as a track it is told where it belongs', () => {
    expect(() => readTrack(`time_s,ax,ay,az\n${rows.join('\n')}\n`)).toThrow(
      complaint('mapping/missing', "found an accelerometer's log, without angular rates"),
    );
  });

  test('as what it is, it is read without a mapping', () => {
    const log = readAccelerometerLog(`time_s,ax,ay,az\n${rows.join('\n')}\n`);
    expect([...log.acceleration.subarray(0, 3)]).toEqual([0.3, 9.7, -0.5]);
    expect(log).not.toHaveProperty('rate');
  });

  test('a log without a line about acceleration is no accelerometer log', () => {
    expect(() => readAccelerometerLog('time_s,gx,gy,gz\n0,0,0,0\n1,0,0,0\n')).toThrow(
      complaint('mapping/missing', 'no line about the acceleration'),
    );
  });
});

describe('a row of units below the header', () => {
  test('is no row of data', () => {
    const log = readMotionLog('time_s,gx,gy,gz\ns,rad/s,rad/s,rad/s\n0,0,0.1,0\n1,0,0.1,0\n');
    expect(log.times).toHaveLength(2);
    expect(log.rate[1]).toBe(0.1);
  });

  test.each([
    [['s', 'deg/s', 'deg/s', 'm/s²'], true],
    [['(s)', '[rad/s]', '', ''], true],
    [['', '', '', ''], false],
    [['s', 'x', 'y', 'z'], false],
    [['1', '-', '-', '-'], false],
  ])('%j: %j', (cells, expected) => {
    expect(isUnitRow(cells)).toBe(expected);
  });

  test('anything else that is no number is still named', () => {
    expect(() => readMotionLog('time_s,gx,gy,gz\nnow,a,b,c\n0,0,0.1,0\n')).toThrow(
      complaint('read/cell', 'row 2, column "time_s": found "now"'),
    );
  });
});

describe('the mapping that is suggested', () => {
  const suggestion = (text: string) => {
    try {
      readMotionLog(text);
    } catch (error) {
      if (error instanceof TwinkeelError) return error.remedy;
    }
    throw new Error('the file was read');
  };
  const table = (header: string, row: (k: number) => (number | string)[], units = '') =>
    `${header}\n${units}${Array.from({ length: 60 }, (_, k) => row(k).join(',')).join('\n')}\n`;

  test('takes time in microseconds, degrees and multiples of gravity from the numbers', () => {
    const text = table('timestamp,gyro_x,gyro_y,gyro_z,acc_x,acc_y,acc_z', (k) => [
      5000 * k,
      20 * Math.sin(k),
      15 * Math.cos(k),
      3,
      0.02,
      0.99,
      0.05,
    ]);
    const said = suggestion(text);
    expect(said).toContain('time: column "timestamp" unit us');
    expect(said).toContain('rate: x "gyro_x" y "gyro_y" z "gyro_z" deg/s');
    expect(said).toContain('accel: x "acc_x" y "acc_y" z "acc_z" g at-rest up');
    expect(said).toContain('200 a second in us');
  });

  test('takes units from the row below the header', () => {
    const text = table('t,gx,gy,gz', (k) => [k * 10, 1, 2, 3], 'ms,deg/s,deg/s,deg/s\n');
    const said = suggestion(text);
    expect(said).toContain('time: column "t" unit ms');
    expect(said).toContain('rate: x "gx" y "gy" z "gz" deg/s');
  });

  test('names the rows of a gyroscope and of an accelerometer', () => {
    const text = table('time,sensor,x,y,z', (k) => [k / 100, k % 2 ? 'GYR' : 'ACC', 0, 1, k]);
    const said = suggestion(text);
    expect(said).toContain('rate: x "x" y "y" z "z" rad/s where "sensor" is "GYR"');
    expect(said).toContain('m/s2 at-rest up where "sensor" is "ACC"');
  });

  test('sees pan, tilt and roll, a matrix, and rates of bare names', () => {
    const angles = suggestion(table('time,Pan,Tilt,Roll', (k) => [k / 60, k, -10, 0.5]));
    expect(angles).toContain(
      'angles: turn heading "Pan" deg about up, then tilt "Tilt" deg about right, then roll "Roll" deg about forward',
    );
    const entries = [1, 2, 3].flatMap((row) => [1, 2, 3].map((column) => `m${row}${column}`));
    const matrix = suggestion(
      table(`time,${entries.join(',')}`, (k) => [k / 60, 1, 0, 0, 0, 1, 0, 0, 0, 1]),
    );
    expect(matrix).toContain('matrix: rows "m11" "m12" "m13" "m21"');
    const rates = suggestion(
      table('time,x,y,z', (k) => [k / 100, Math.sin(k), Math.cos(k), 0.1 * Math.sin(2 * k)]),
    );
    expect(rates).toContain('rate: x "x" y "y" z "z" rad/s');
  });

  test('reads the file as it stands, but is never applied by itself', () => {
    const text = table('timestamp,gyro_x,gyro_y,gyro_z', (k) => [5 * k, 0.1, 0.2, 0.3]);
    const mapping = suggestion(text)
      .split(/--mapping[^\n]*:\n/)[1]!
      .split('\n')
      .filter((line) => !line.includes('accel:'))
      .join('\n');
    expect(readMotionLog(text, { mapping }).times[1]).toBeCloseTo(0.005, 12);
  });
});
