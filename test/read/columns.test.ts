import { describe, expect, test } from 'vitest';
import { findColumn, readFrames, readTimes, readVectors } from '../../src/read/columns.js';
import type { TimeSource } from '../../src/read/mapping.js';
import { scanTable } from '../../src/read/scanTable.js';
import { encodeText } from '../../src/read/text.js';
import { frameTime, parseFrameRate } from '../../src/track/frameRate.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';

const tableOf = (text: string) => scanTable(encodeText(text));
const oneColumn = (values: readonly unknown[]) =>
  tableOf(`stamp,x\n${values.map((value) => `${value},0`).join('\n')}\n`);

const stamp = (secondsPerUnit: number): TimeSource => ({
  kind: 'stamp',
  column: 'stamp',
  secondsPerUnit,
});

describe('findColumn', () => {
  const withHeader = tableOf('t,nose up\n0,1\n');
  const bare = tableOf('0,1\n');

  test('a column is found by its header or by its number from 1', () => {
    expect(findColumn(withHeader, 'nose up')).toBe(1);
    expect(findColumn(withHeader, 2)).toBe(1);
    expect(findColumn(bare, 1)).toBe(0);
  });

  test('another name is refused, listing those that exist', () => {
    expect(() => findColumn(withHeader, 'tilt')).toThrow(
      complaint(
        'mapping/column',
        'found the columns "t", "nose up", expected the column "tilt" that the mapping names',
      ),
    );
  });

  test.each([0, 3])('column %d of two is refused', (column) => {
    expect(() => findColumn(withHeader, column)).toThrow(complaint('mapping/column', `${column}`));
  });

  test('names are refused where a file has no header, and numbers asked for', () => {
    expect(() => findColumn(bare, 't')).toThrow(
      complaint('mapping/column', '2 columns without a header'),
    );
  });
});

test('columns are joined row by row and scaled', () => {
  const table = tableOf('a,b,c\n1,2,3\n4,5,6\n');
  expect([...readVectors(table, ['c', 1], 2)]).toEqual([6, 2, 12, 8]);
});

describe('readTimes', () => {
  test.each([
    [1, [0.5, 1.5]],
    [1e-3, [500, 1500]],
    [1e-6, [500_000, 1_500_000]],
  ])('a stamp counts units of %d s', (unit, stamps) => {
    const { times, startNs } = readTimes(oneColumn(stamps), stamp(unit));
    expect([...times]).toEqual([0.5, 1.5]);
    expect(startNs).toBe(500_000_000n);
  });

  test('whole nanoseconds since any epoch keep their last digit', () => {
    const epochs = fc.bigInt({ min: -(10n ** 18n), max: 9n * 10n ** 18n });
    const steps = fc.array(fc.integer({ min: 1, max: 40_000_000 }), { minLength: 1 });
    fc.assert(
      fc.property(epochs, steps, (start, list) => {
        let passed = 0;
        const since = [0, ...list.map((step) => (passed += step))];
        const table = oneColumn(since.map((ns) => start + BigInt(ns)));
        const { times, startNs } = readTimes(table, stamp(1e-9));
        expect(startNs).toBe(start);
        expect([...times]).toEqual(since.map((ns) => ns * 1e-9));
      }),
    );
  });

  test.each(['1.5', '1e9', 'soon', ''])('"%s" is no whole number of nanoseconds', (cell) => {
    const table = tableOf(`stamp,x\n0,0\n${cell},0\n`);
    expect(() => readTimes(table, stamp(1e-9))).toThrow(
      complaint('read/cell', 'row 3, column "stamp": found'),
    );
  });

  const rate = parseFrameRate('60000/1001');

  test('frame numbers become exact times', () => {
    const { times, frames, frameRate } = readTimes(oneColumn([100, 101, 104]), {
      kind: 'frames',
      column: 'stamp',
      rate,
    });
    expect([...times]).toEqual([100, 101, 104].map((frame) => frameTime(rate, frame)));
    expect(frames).toEqual(Int32Array.of(100, 101, 104));
    expect(frameRate).toEqual(rate);
  });

  test('without a column the rows are the frames', () => {
    const { frames } = readTimes(oneColumn([7, 7, 7]), { kind: 'frames', rate });
    expect(frames).toEqual(Int32Array.of(0, 1, 2));
  });

  test('time code counts from the first row, over the labels that dropping leaves out', () => {
    const codes = ['00:00:59;29', '00:01:00;02', '00:01:00;04'];
    const { frames } = readTimes(tableOf(`tc\tx\n${codes.map((tc) => `${tc}\t0`).join('\n')}`), {
      kind: 'timecode',
      column: 'tc',
      rate: parseFrameRate('30000/1001'),
      dropFrame: true,
    });
    expect(frames).toEqual(Int32Array.of(0, 1, 3));
  });

  test('a label that is no time code is refused by row and column', () => {
    const table = tableOf('tc,x\n00:00:59:29,0\n00:01:00:00,0\n');
    const source: TimeSource = {
      kind: 'timecode',
      column: 'tc',
      rate: parseFrameRate('30000/1001'),
      dropFrame: true,
    };
    expect(() => readTimes(table, source)).toThrow(
      complaint('timecode/invalid', 'row 3, column "tc": found the time code "00:01:00:00"'),
    );
  });
});

test('frame numbers must be whole', () => {
  expect(() => readFrames(oneColumn([0, 1.5]), 0)).toThrow(
    complaint('read/cell', 'row 3, column "stamp": found 1.5, expected a whole frame number'),
  );
});
