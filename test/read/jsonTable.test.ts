import { describe, expect, test } from 'vitest';
import { isJson, tableFromJson } from '../../src/read/jsonTable.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';

describe('tableFromJson', () => {
  const columns = { header: ['t', 'tilt'], rowCount: 2, columnCount: 2 };

  test('a list of objects has a row for each and a column for each key', () => {
    const table = tableFromJson('[{"t": 0, "tilt": 1.5}, {"tilt": 2.5, "t": 1, "note": "tank"}]');
    expect(table).toMatchObject(columns);
    expect([...table.numbers(0)]).toEqual([0, 1]);
    expect([...table.numbers(1)]).toEqual([1.5, 2.5]);
    expect(table.lineOf(1)).toBe(2);
  });

  test('an object of lists has a column for each list; what is no list is left out', () => {
    const table = tableFromJson('{"camera": "left", "t": [0, 1], "tilt": [1.5, 2.5]}');
    expect(table).toMatchObject(columns);
    expect([...table.numbers(1)]).toEqual([1.5, 2.5]);
  });

  test('nested objects and lists become columns named by their path', () => {
    const table = tableFromJson(
      '{"samples": [{"t": 0, "pose": {"q": [0, 0.1, 0, 1]}}, {"t": 1, "pose": {"q": [0, 0.2, 0, 1]}}]}',
    );
    expect(table.header).toEqual(['samples.t', ...[0, 1, 2, 3].map((k) => `samples.pose.q.${k}`)]);
    expect([...table.numbers(2)]).toEqual([0.1, 0.2]);
  });

  test('a list of lists has columns 0, 1, 2 …', () => {
    expect(tableFromJson('[[0, 1.5], [1, 2.5]]').header).toEqual(['0', '1']);
  });

  test('every number keeps its bits', () => {
    const finite = fc
      .double({ noNaN: true, noDefaultInfinity: true })
      .filter((v) => !Object.is(v, -0));
    fc.assert(
      fc.property(fc.array(finite, { minLength: 1 }), (values) => {
        expect([...tableFromJson(JSON.stringify({ values })).numbers(0)]).toEqual(values);
      }),
    );
  });

  test('texts stay texts, and numbers written as texts are numbers', () => {
    const table = tableFromJson('[{"tc": "00:00:01:02", "ns": "1700000000016683001"}]');
    expect(table.texts(0)).toEqual(['00:00:01:02']);
    expect(table.texts(1)).toEqual(['1700000000016683001']);
    expect(() => table.numbers(0)).toThrow('row 1, column "tc": found "00:00:01:02"');
  });

  test.each([
    ['[{"t": 0, "x": 1}, {"t": 1}]', 'row 2, column "x": found no value'],
    ['[{"t": 0, "x": 1}, {"t": 1, "x": null}]', 'row 2, column "x": found no value'],
    ['[{"t": 0, "x": 1}, {"t": 1, "x": true}]', 'row 2, column "x": found no value'],
    ['[{"t": 0}, 7]', 'row 2: found 7, expected an object with one value per column'],
    ['[null]', 'row 1: found null, expected an object'],
    ['{"t": [0, 1], "x": [1]}', 'column "x": found 1 values, expected 2, as in "t"'],
    ['{"t": 0}', 'found an object without lists'],
    ['{}', 'found an object without lists'],
    ['[{"t": 0', 'found text that is not JSON'],
  ])('%s is refused', (text, words) => {
    expect(() => tableFromJson(text)).toThrow(complaint('read/json', words));
  });

  test.each(['[]', '{"t": []}'])('%s holds no sample', (text) => {
    expect(() => tableFromJson(text)).toThrow(complaint('read/empty', 'a list without samples'));
  });
});

test('a text is JSON when it starts with a brace or a bracket', () => {
  expect([' \n[', '{"t"', 't,x\n', '', '"t","x"'].map(isJson)).toEqual([
    true,
    true,
    false,
    false,
    false,
  ]);
});
