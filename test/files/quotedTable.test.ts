import { describe, expect, test } from 'vitest';
import { readQuotedTable } from '../../src/files/quotedTable.js';
import { scanTable } from '../../src/read/scanTable.js';
import type { Table, TableLayout } from '../../src/read/table.js';
import { encodeText } from '../../src/read/text.js';
import { complaint } from '../complaint.js';
import { cellRows, writeTable, writings } from '../read/tables.js';
import { fc } from '../seed.js';

const read = (text: string, layout?: TableLayout) => readQuotedTable(encodeText(text), layout);

/** All that a table says. */
function said(table: Table) {
  const columns = Array.from({ length: table.columnCount }, (_, k) => k);
  return {
    header: table.header,
    numbers: columns.map((k) => [...table.numbers(k)]),
    texts: columns.map((k) => table.texts(k)),
    lines: Array.from({ length: table.rowCount }, (_, row) => table.lineOf(row)),
  };
}

describe('readQuotedTable', () => {
  /** Runs of blanks between quoted cells are another matter. */
  const quotable = writings.filter(({ separator }) => separator !== ' ');

  test('with or without quotes, a table says the same as through the plain scanner', async () => {
    await fc.assert(
      fc.asyncProperty(
        cellRows,
        quotable,
        fc.infiniteStream(fc.boolean()),
        async (rows, writing, quotes) => {
          const plain = scanTable(encodeText(writeTable(rows, writing).text));
          const quote = (cell: string) => (quotes.next().value ? `"${cell}"` : cell);
          const quoted = await read(writeTable(rows, writing, quote).text);
          expect(said(quoted)).toEqual(said(plain));
        },
      ),
    );
  });

  test('decimal commas between quotes are read where the separator is another', async () => {
    const table = await read('"t";"tilt"\n"0";"1,5"\n1;"-2,5"\n');
    expect([...table.numbers(1)]).toEqual([1.5, -2.5]);
  });

  test('a cell may hold separators, quotes and line breaks, and rows keep their lines', async () => {
    const table = await read(
      '"t","what the operator\nsaid, at ""the tank"""\r\n0,"left,\r\nthen stop"\r\n\r\n1,"on"\n',
    );
    expect(table.header).toEqual(['t', 'what the operator\nsaid, at "the tank"']);
    expect(table.texts(1)).toEqual(['left,\nthen stop', 'on']);
    expect([0, 1].map(table.lineOf)).toEqual([3, 6]);
  });

  test('a bad cell after a cell of several lines is found by its line in the file', async () => {
    const table = await read('t,"note","x"\n0,"a\nb\nc",1\n1,"d","?"\n');
    expect(() => table.numbers(2)).toThrow(
      complaint('read/cell', 'row 5, column "x": found "?", expected a finite number'),
    );
  });

  test('a row of another length is refused by its line in the file', async () => {
    await expect(read('"t","x"\n0,"a\nb"\n\n1,2,3\n')).rejects.toThrow(
      complaint('read/row-length', 'row 5: found 3 cells, expected 2'),
    );
  });

  test('a quote that is never closed is refused where it opens', async () => {
    await expect(read('"t","x"\n0,1\n1,"2\n2,3\n')).rejects.toThrow(
      complaint('read/quoted', 'row 3: found a quote that is never closed'),
    );
  });

  test.each([
    ['"t","x"\n', 'a header and no rows'],
    ['# "nothing"\n', 'no rows'],
  ])('%j has no row', async (text, words) => {
    await expect(read(text)).rejects.toThrow(complaint('read/empty', `found ${words}`));
  });

  test('a stated layout holds for quoted tables too', async () => {
    const layout = { separator: '|', comment: '%', skip: 1, every: 2 };
    const table = await read('tracker "3"\n% walk\n"t"|x\n"0"|1\n9|9\n1|"2"\n', layout);
    expect(said(table)).toMatchObject({
      header: ['t', 'x'],
      numbers: [
        [0, 1],
        [1, 2],
      ],
      lines: [4, 6],
    });
  });

  test('a header in the last comment is taken as in a plain table', async () => {
    expect((await read('#t,x\n"0","1"\n')).header).toEqual(['t', 'x']);
  });

  test('any run of blanks parts cells, as in a plain table', async () => {
    expect((await read('"t"  "x"\n 0   1\n')).header).toEqual(['t', 'x']);
  });

  test('text behind a closed quote is refused by its row', async () => {
    await expect(read('"t","x"\n"0"1,2\n')).rejects.toThrow(complaint('read/quoted', 'row 2'));
  });
});
