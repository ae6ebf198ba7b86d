import { describe, expect, test } from 'vitest';
import { readQuotedTable } from '../../src/files/quotedTable.js';
import { scanTable, TableScanner } from '../../src/read/scanTable.js';
import type { Table, TableLayout } from '../../src/read/table.js';
import { encodeText } from '../../src/read/text.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';
import { cellRows, numberTexts, type WrittenTable, writeTable, writings } from './tables.js';

const scan = (text: string, layout?: TableLayout): Table => scanTable(encodeText(text), layout);

/** Every row of a table as numbers. */
function rowsOf(table: Table): number[][] {
  const columns = Array.from({ length: table.columnCount }, (_, k) => table.numbers(k));
  return Array.from({ length: table.rowCount }, (_, row) => columns.map((column) => column[row]!));
}

function expectTable(table: Table, { header, cells, lines }: WrittenTable): void {
  expect(table.header).toEqual(header);
  expect(rowsOf(table)).toEqual(cells.map((row) => row.map(Number)));
  expect(cells.map((_, row) => table.lineOf(row))).toEqual(lines);
}

describe('scanTable', () => {
  test('any separator, line ending, comment, blank line, header and byte order mark is read', () => {
    fc.assert(
      fc.property(cellRows, writings, (rows, writing) => {
        const written = writeTable(rows, writing);
        expectTable(scan(written.text), written);
      }),
      { numRuns: 500 },
    );
  });

  test('decimal commas are read wherever the separator is no comma', () => {
    const commas = writings.filter(({ separator }) => separator !== ',');
    fc.assert(
      fc.property(cellRows, commas, (rows, writing) => {
        const half = rows[0]!.map(() => '0.5');
        const written = writeTable([half, ...rows], { ...writing, decimal: ',', comments: false });
        // Between blanks a comma could be either; there the person has to say which.
        const layout = writing.separator === ' ' ? { separator: 'space' } : {};
        expectTable(scan(written.text, layout), written);
      }),
      { numRuns: 300 },
    );
  });

  test('every number is the double nearest to its text', () => {
    fc.assert(
      fc.property(fc.array(numberTexts, { minLength: 1, maxLength: 50 }), (texts) => {
        const table = scan(texts.map((text) => `${text},0`).join('\n'));
        table.numbers(0).forEach((value, row) => {
          if (!Object.is(value, Number(texts[row]))) expect(value).toBe(Number(texts[row]));
        });
      }),
      { numRuns: 1000 },
    );
  });

  test.each([
    ['9007199254740993', 9007199254740992],
    ['0.1', 0.1],
    ['123456789012345e-22', 1.23456789012345e-8],
    ['4.9406564584124654e-324', 5e-324],
    ['1.7976931348623157e308', Number.MAX_VALUE],
    ['-0', -0],
    ['+.5', 0.5],
    ['5.', 5],
    ['000000000000000000000000000001', 1],
    ['0.0000000000000000000001', 1e-22],
    ['0.00000000000000000000003', 3e-23],
    ['0.0000000000000000000000000000001', 1e-31],
  ])('"%s" is %d', (text, value) => {
    expect(Object.is(scan(`${text},1`).numbers(0)[0], value)).toBe(true);
  });

  test.each(['', 'abc', 'NaN', 'inf', '0x10', '1e', '1.2.3', '1 2', '--1', '.', '+', '1e999'])(
    'the cell "%s" is refused, naming row, column and the cell',
    (cell) => {
      const table = scan(`time_s,tilt\n\n0,1\n1,${cell}\n2,3\n`);
      const found = cell === '' ? 'an empty cell' : `"${cell}"`;
      expect(() => table.numbers(1)).toThrow(
        complaint('read/cell', `row 4, column "tilt": found ${found}, expected a finite number`),
      );
      expect([...table.numbers(0)]).toEqual([0, 1, 2]);
    },
  );

  test('without a header a bad cell is found by the number of its column', () => {
    expect(() => scan('0,1\n1,x\n').numbers(1)).toThrow('row 2, column 2: found "x"');
  });

  test.each([
    ['0,1\n1,2,3\n', 'row 2: found 3 cells, expected 2'],
    ['t,tilt\n0,1\n\n# \n1\n', 'row 4: found 1 cell, expected 2'],
    ['t;tilt\r\n0;1\r\n1;2;\r\n', 'row 3: found 3 cells, expected 2'],
  ])('a row of another length is refused: %j', (text, words) => {
    expect(() => scan(text)).toThrow(complaint('read/row-length', words));
  });

  test.each([
    ['', 'found an empty file'],
    ['\uFEFF \r\n\t\n', 'found no rows'],
    ['time_s,x,y,z,w\n', 'found a header and no rows'],
    ['# only a remark\n', 'found no rows'],
  ])('a file without a row is refused: %j', (text, words) => {
    expect(() => scan(text)).toThrow(complaint('read/empty', words));
  });

  test('binary data is refused', () => {
    expect(() => scanTable(Uint8Array.of(0x50, 0x4b, 3, 4, 0, 0, 8, 0))).toThrow(
      complaint('read/binary', 'found binary data, expected a text table (CSV) or JSON'),
    );
  });

  test('quoted numbers are left to the reader for Node', () => {
    expect(() => scan('t,x\n0,"1"\n').numbers(1)).toThrow(
      complaint('read/quoted', 'row 2: found quoted cells'),
    );
  });

  test('a separator between quotes needs the reader for Node, which the error names', () => {
    const words = 'row 2: found quoted cells, expected plain numbers in the browser-safe reader';
    expect(() => scan('t,x\n0,"1,5"\n')).toThrow(complaint('read/quoted', words));
    expect(() => scan('t,x\n0,"1,5"\n')).toThrow('read the file through twinkeel/node');
  });

  test('a quoted header over plain numbers needs no other reader', () => {
    expect(scan('"time_s","x"\n0,1\n').header).toEqual(['time_s', 'x']);
  });

  test('a header may stand in the last comment before the rows', () => {
    const table = scan('# a walk at night\n#time_s, tilt\n0,1\n# the tank\n1,2\n');
    expect(table.header).toEqual(['time_s', 'tilt']);
    expect(rowsOf(table)).toEqual([
      [0, 1],
      [1, 2],
    ]);
  });

  test('cells are given as trimmed text too', () => {
    expect(scan('tc, tilt\n00:00:01:02 ,1\r\n 00:00:01:03, 2').texts(0)).toEqual([
      '00:00:01:02',
      '00:00:01:03',
    ]);
  });

  test('blanks at the end of a row are no further cell', () => {
    expect(rowsOf(scan('0 1 \n1  2  \n'))).toEqual([
      [0, 1],
      [1, 2],
    ]);
  });

  test('ten thousand rows keep their numbers and lines', () => {
    const rows = Array.from({ length: 10_000 }, (_, k) => `${k},${k / 8}`);
    const table = scan(`k,eighth\n${rows.join('\n')}`);
    expect(table.numbers(1).every((value, k) => value === k / 8)).toBe(true);
    expect(table.lineOf(9_999)).toBe(10_001);
  });
});

describe('a stated layout', () => {
  test('lines at the top are skipped, and rows keep the lines of the file', () => {
    const table = scan('greenhouse tracker 3\nrun 12\nt,x\n0,1\n', { skip: 2 });
    expect(table.header).toEqual(['t', 'x']);
    expect(table.lineOf(0)).toBe(4);
  });

  test('every k-th row is kept', () => {
    const table = scan('0,1\n9,9\n1,2\n9,9\n2,3\n', { every: 2 });
    expect([...table.numbers(0)]).toEqual([0, 1, 2]);
    expect(table.lineOf(1)).toBe(3);
  });

  test('another comment sign is left out', () => {
    expect([...scan('0,1\n% the bench\n1,2\n', { comment: '%' }).numbers(0)]).toEqual([0, 1]);
  });

  test.each([
    ['|', '0|1\n'],
    ['tab', '0\t1\n'],
    ['space', '  0   1\n'],
    [',', '0,1\n'],
  ])('the separator "%s" is taken as stated', (separator, text) => {
    expect(rowsOf(scan(text, { separator }))).toEqual([[0, 1]]);
  });
});

/** All that a table says, errors included. */
function said(table: Table) {
  const columns = Array.from({ length: table.columnCount }, (_, k) => k);
  const numbersOf = (column: number) => {
    try {
      return [...table.numbers(column)];
    } catch (error) {
      return (error as Error).message;
    }
  };
  return {
    header: table.header,
    texts: columns.map((column) => table.texts(column)),
    numbers: columns.map(numbersOf),
    lines: Array.from({ length: table.rowCount }, (_, row) => table.lineOf(row)),
  };
}

/** What a reader says in the end: a table or a sentence. */
async function outcome(read: () => Table | Promise<Table>) {
  try {
    return said(await read());
  } catch (error) {
    return (error as Error).message;
  }
}

/** Reads bytes in pieces through one buffer that each piece overwrites. */
function scanInPieces(bytes: Uint8Array, cuts: readonly number[], layout?: TableLayout): Table {
  const scanner = new TableScanner(layout);
  const buffer = new Uint8Array(bytes.length);
  let start = 0;
  for (const cut of [...cuts, bytes.length].sort((a, b) => a - b)) {
    buffer.fill(QUOTE).set(bytes.subarray(start, cut));
    scanner.push(buffer.subarray(0, cut - start));
    start = cut;
  }
  return scanner.finish();
}

const QUOTE = 34;

/** Rows as they should be, and cells that spoil them. */
const spoiledRows = fc.tuple(
  cellRows,
  fc.option(
    fc.tuple(
      fc.nat(),
      fc.nat(),
      fc.constantFrom('', 'soon', '1e999', '1,5,7', '5\u00a0', 'spät', '00:00:01:02', '1 2', '-'),
    ),
    { freq: 2 },
  ),
);

function spoiled([rows, bad]: readonly [string[][], [number, number, string] | null]): string[][] {
  const out = rows.map((row) => [...row]);
  if (bad) {
    const row = out[bad[0] % out.length]!;
    row[bad[1] % row.length] = bad[2];
  }
  return out;
}

const layouts: fc.Arbitrary<TableLayout> = fc.record(
  { skip: fc.integer({ min: 0, max: 2 }), every: fc.integer({ min: 1, max: 3 }) },
  { requiredKeys: [] },
);

describe('a table in pieces', () => {
  test('says the same, and refuses with the same sentence, wherever it is cut', async () => {
    await fc.assert(
      fc.asyncProperty(
        spoiledRows,
        writings,
        layouts,
        fc.array(fc.nat(1000)),
        async (rows, writing, layout, places) => {
          const bytes = encodeText(writeTable(spoiled(rows), writing).text);
          const cuts = places.map((place) => place % (bytes.length + 1));
          const whole = await outcome(() => scanTable(bytes, layout));
          expect(await outcome(() => scanInPieces(bytes, cuts, layout))).toEqual(whole);
        },
      ),
      { numRuns: 400 },
    );
  });

  test('so it does byte by byte, far beyond the lines that tell the layout', () => {
    const rows = Array.from(
      { length: 9000 },
      (_, k) => `${k},${(k / 8).toFixed(3)}${k % 7 ? '' : '0'}`,
    );
    const bytes = encodeText(`# night\nk,eighth\r\n${rows.join('\r\n')}`);
    expect(bytes.length).toBeGreaterThan(2 ** 16);
    const cuts = Array.from(bytes, (_, k) => k);
    const table = scanInPieces(bytes, cuts);
    expect(table.numbers(1)).toEqual(Float64Array.from(rows, (_, k) => k / 8));
    expect(said(table)).toEqual(said(scanTable(bytes)));
    expect(table.texts(1)).toEqual(rows.map((row) => row.split(',')[1]));
    expect(table.numbers(1)).toBe(table.numbers(1));
  });

  test('rows far shorter than the first ones still find room', () => {
    const long = Array.from({ length: 5000 }, (_, k) => `${k}.${'0'.repeat(60)},1`);
    const short = Array.from({ length: 60_000 }, (_, k) => `${k % 10},2`);
    const table = scan([...long, ...short].join('\n'));
    expect(table.rowCount).toBe(65_000);
    expect(table.numbers(0).every((v, k) => v === (k < 5000 ? k : (k - 5000) % 10))).toBe(true);
    expect(table.texts(0).slice(4998, 5002)).toEqual(
      [...long.slice(4998), '0,2', '1,2'].map((row) => row.split(',')[0]),
    );
  });
});

describe('fast-csv as the reference', () => {
  test('finds the same table, or the same sentence', async () => {
    await fc.assert(
      fc.asyncProperty(spoiledRows, writings, layouts, async (rows, writing, layout) => {
        const bytes = encodeText(writeTable(spoiled(rows), writing).text);
        const theirs = await outcome(() => readQuotedTable(bytes, layout));
        expect(await outcome(() => scanTable(bytes, layout))).toEqual(theirs);
      }),
      { numRuns: 400 },
    );
  });
});

describe('bytes that are no table', () => {
  const rows = Array.from({ length: 9000 }, (_, k) => `${k},${k / 8}`).join('\n');

  test.each([
    ['in a cell', `${rows}\n1,\0\n`],
    ['in a comment', `#\n${rows}\n#\0\n`.replace('#\n', '# \n')],
  ])('a zero byte %s beyond the first lines is refused by its row', (_, text) => {
    const line = text.split('\n').findIndex((row) => row.includes('\0')) + 1;
    expect(() => scan(text)).toThrow(
      complaint('read/binary', `row ${line}: found binary data, expected a text table`),
    );
  });

  test.each(['', '0,1\n', '0,1\n# '])('a line beyond 1 MiB is refused after %j', (before) => {
    const text = `${before}${'0,'.repeat(2 ** 19)}00`;
    const words = `row ${before === '' ? 1 : 2}: found a line of more than 1 MiB`;
    for (const end of ['', '\n', '\n0,1\n']) {
      const bytes = encodeText(text + end);
      expect(() => scanTable(bytes)).toThrow(complaint('read/line-length', words));
      expect(() => scanInPieces(bytes, [70_000, 2 ** 19])).toThrow(
        complaint('read/line-length', words),
      );
    }
  });

  test('a line without an end is refused before it fills memory', () => {
    const scanner = new TableScanner();
    const piece = new Uint8Array(2 ** 18).fill(49);
    let taken = 0;
    expect(() => {
      for (; taken < 100; taken++) scanner.push(piece);
    }).toThrow(complaint('read/line-length', 'row 1'));
    // 1 MiB is four pieces; the fifth is one too many.
    expect(taken).toBe(4);
  });

  test('what is no UTF-8 is a cell like any other that holds no number', () => {
    const bytes = Uint8Array.of(...encodeText('t,x\n0,'), 0xff, 0x31, 10);
    expect(() => scanTable(bytes).numbers(1)).toThrow(
      complaint('read/cell', 'row 2, column "x": found "\uFFFD1"'),
    );
  });
});

describe('cells keep their text', () => {
  test('however they are written, in any column', () => {
    const texts = fc.oneof(numberTexts, fc.constantFrom('', 'move', '1700000000016683001', '1.50'));
    fc.assert(
      fc.property(fc.array(texts, { minLength: 1, maxLength: 60 }), (cells) => {
        expect(scan(cells.map((cell) => `0,${cell}`).join('\n')).texts(1)).toEqual(cells);
      }),
      { numRuns: 500 },
    );
  });

  test('with a decimal comma too', () => {
    expect(scan('0;1,50\n1;-0,25\n2;+1,0\n').texts(1)).toEqual(['1,50', '-0,25', '+1,0']);
  });
});
