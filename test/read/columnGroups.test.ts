import { describe, expect, test } from 'vitest';
import { eachAlone } from '../../src/read/columnGroups.js';
import { readVectors } from '../../src/read/columns.js';
import { parseMapping } from '../../src/read/mapping.js';
import { scanTable, TableScanner } from '../../src/read/scanTable.js';
import { encodeText } from '../../src/read/text.js';
import { vectorColumns } from '../../src/read/vectorColumns.js';
import { complaint } from '../complaint.js';

const LOG = parseMapping(`time: column "t" unit s
rate: x "gz" y "gx" z "gy" rad/s
accel: x 6 y 7 z 8 m/s2 at-rest up
axes sensor: x right, y up, z back`);
const HEADER = ['t', 'gx', 'gy', 'gz', 'temp', 'ax', 'ay', 'az'];

describe('columns that are wanted side by side', () => {
  test('are the vectors of a mapping, in its order; the others stand alone', () => {
    expect(vectorColumns(LOG)(HEADER, 8)).toEqual([[3, 1, 2], [5, 6, 7], [0], [4]]);
  });

  test('are those of a header of our own', () => {
    const header = ['frame', 'time_s', 'x', 'y', 'z', 'w'];
    expect(vectorColumns(undefined)(header, 6)).toEqual([[2, 3, 4, 5], [0], [1]]);
    expect(vectorColumns(undefined)(['a', 'b'], 2)).toEqual([[0], [1]]);
  });

  test.each([
    ['one is missing', ['t', 'other', ...HEADER.slice(2)]],
    ['a name stands twice', [...HEADER.slice(0, 4), 'gx', ...HEADER.slice(5)]],
    ['there is no header', undefined],
  ])('are none where %s, which whoever reads them will say', (_, header) => {
    expect(vectorColumns(LOG)(header, 8)).toEqual([[5, 6, 7], [0], [1], [2], [3], [4]]);
  });

  test('are none that another vector has, nor one named twice', () => {
    const rate = (columns: string) =>
      parseMapping(`time: column 1 unit s
rate: ${columns} rad/s
accel: x 3 y 4 z 5 m/s2 at-rest up
axes sensor: x right, y up, z back`);
    expect(vectorColumns(rate('x 2 y 3 z 4'))(undefined, 5)).toEqual([[1, 2, 3], [0], [4]]);
    expect(vectorColumns(rate('x 2 y 2 z 1'))(undefined, 5)).toEqual([[2, 3, 4], [0], [1]]);
  });
});

describe('a table with columns side by side', () => {
  const rows = Array.from({ length: 5000 }, (_, k) => [k, k / 8, -k, 0.25 * k]);
  const text = `t,x,y,z\n${rows.map((row) => row.join(',')).join('\n')}\n`;
  const together = () => [[3, 1], [0], [2]];

  test.each([
    ['in one block', text.length],
    ['in many', 0],
  ])('gives the same columns as any other, %s', (_, expectedBytes) => {
    const scanner = new TableScanner({}, expectedBytes, together);
    scanner.push(encodeText(text));
    const table = scanner.finish();
    const alone = scanTable(encodeText(text), {}, eachAlone);
    const whole = table.sideBySide!([3, 1])!;
    expect([...whole]).toEqual(rows.flatMap((row) => [row[3], row[1]]));
    for (const column of [0, 1, 2, 3]) {
      expect(table.numbers(column)).toEqual(alone.numbers(column));
      expect(table.texts(column)).toEqual(alone.texts(column));
    }
    expect(table.sideBySide!([1, 3])).toBeUndefined();
    expect(readVectors(table, ['z', 'x'])).toBe(whole);
    expect(readVectors(table, ['z', 'x'], 2)).toEqual(whole.map((value) => 2 * value));
    expect(readVectors(table, ['x', 'z'])).toEqual(readVectors(alone, ['x', 'z']));
  });

  test('refuses a bad cell as any other does, of the first column that has one', () => {
    const bad = scanTable(encodeText('t,x,y,z\n0,1,2,oak\n1,fern,3,4\n'), {}, together);
    const words = 'row 2, column "z": found "oak"';
    expect(() => bad.sideBySide!([3, 1])).toThrow(complaint('read/cell', words));
    expect(() => readVectors(bad, ['z', 'x'])).toThrow(complaint('read/cell', words));
    expect(bad.texts(3)).toEqual(['oak', '4']);
  });
});
