import { describe, expect, test } from 'vitest';
import { columnName, numberFromText, tableFromCells } from '../../src/read/table.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';
import { numberTexts } from './tables.js';

describe('numberFromText', () => {
  test('decimal notation is the number that JavaScript reads', () => {
    fc.assert(
      fc.property(numberTexts, (text) => {
        expect(numberFromText(text)).toBe(Number(text));
      }),
    );
  });

  test.each([
    '',
    ' ',
    ' 1',
    '1 ',
    '0x1F',
    '0b1',
    '1_000',
    '1,5',
    'Infinity',
    'NaN',
    'e5',
    '.',
    '1e',
  ])('"%s" is no decimal number', (text) => {
    expect(numberFromText(text)).toBeNaN();
  });
});

describe('columnName', () => {
  test('a column is named by its header, or counted from 1', () => {
    expect(columnName(['t', 'nose up'], 1)).toBe('"nose up"');
    expect(columnName(undefined, 1)).toBe('2');
  });
});

describe('tableFromCells', () => {
  const table = tableFromCells(
    ['t', 'x'],
    [
      [' 0', '1,5 '],
      ['1', '2,5'],
    ],
    [2, 7],
    true,
  );

  test('cells are trimmed, and decimal commas read where they are announced', () => {
    expect([...table.numbers(1)]).toEqual([1.5, 2.5]);
    expect(table.texts(0)).toEqual(['0', '1']);
    expect(table).toMatchObject({ rowCount: 2, columnCount: 2, header: ['t', 'x'] });
  });

  test('a bad cell is refused by row and column, and a long one cut', () => {
    const long = tableFromCells(['t'], [['1'], ['m'.repeat(60)]], [2, 7]);
    expect(() => long.numbers(0)).toThrow(
      complaint('read/cell', `row 7, column "t": found "${'m'.repeat(40)}…", expected`),
    );
  });
});
