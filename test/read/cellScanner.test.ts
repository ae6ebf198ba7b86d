import { afterEach, describe, expect, test, vi } from 'vitest';
import { type CellScanner, typescriptScanner } from '../../src/read/cellScanner.js';
import { createCellScanner } from '../../src/read/createCellScanner.js';
import { NO_FORM, textOfForm } from '../../src/read/scanNumber.js';
import { scanTable, TableScanner } from '../../src/read/scanTable.js';
import { encodeText } from '../../src/read/text.js';
import { wasmScanner } from '../../src/read/wasm/wasmScanner.js';
import { fc } from '../seed.js';
import { NO_NUMBERS } from './noNumbers.js';
import { numberTexts } from './tables.js';

// ECMA-262, StringToNumber, is the reference: Number() rounds to the nearest double, ties to even.

const LAYOUT = { separator: 44, decimal: 46, commentByte: 35 };
const GROUPS = [[1, 0], [2]];
const wasm = wasmScanner(LAYOUT, GROUPS, 2 ** 16)!;
const typescript = typescriptScanner(LAYOUT, GROUPS);

/** A cell that was read: its value, form, and the text that was kept. */
interface ReadCell {
  readonly value: number;
  readonly form: number;
  readonly kept: string | undefined;
}

/** What a scanner reads before it stops, and where that is. */
function cellsOf(scanner: CellScanner, text: string, most = 3000) {
  const bytes = encodeText(`7${text}`);
  const kept = new Map<number, string>();
  scanner.forget();
  scanner.rows.cells = 0;
  const stop = scanner.scan(bytes, 1, bytes.length, most, (cell, from, to) => {
    kept.set(cell, new TextDecoder().decode(bytes.subarray(from, to)));
  });
  const { cells, forms, slots, values } = scanner.rows;
  const read: ReadCell[] = Array.from({ length: cells }, (_, k) => ({
    value: values[slots[k]!]!,
    form: forms[k]!,
    kept: kept.get(k),
  }));
  return { read, stop: stop - 1 };
}

/** Three cells a row, the texts in the middle. */
const tableOf = (texts: readonly string[]) => texts.map((text) => `0,${text},-1.5\n`).join('');

/** Reads one text, which WebAssembly may leave to others, and expects the nearest double. */
function expectExact(text: string): boolean {
  const { read, stop } = cellsOf(wasm, tableOf([text]));
  if (read.length === 1) {
    expect(stop).toBe(2);
    return false;
  }
  const { value, form, kept } = read[1]!;
  if (!Object.is(value, Number(text))) expect(`${text}: ${value}`).toBe(`${text}: ${Number(text)}`);
  expect(kept ?? textOfForm(value, form)).toBe(text);
  expect(kept === undefined).toBe(form !== NO_FORM);
  return true;
}

/** Texts of which all may be left to others, but not many. */
function expectMostlyRead(texts: fc.Arbitrary<string>, share: number): void {
  let read = 0;
  let all = 0;
  fc.assert(
    fc.property(texts, (text) => {
      all++;
      if (expectExact(text)) read++;
    }),
    { numRuns: 5000 },
  );
  expect(read / all).toBeGreaterThan(share);
}

describe('a number read in WebAssembly is the double nearest to its text', () => {
  test('as tables have it', () => {
    // Exponents up to 300 and up to 26 digits are beyond what two doubles hold.
    expectMostlyRead(numberTexts, 0.35);
  });

  test('with 15 to 19 digits and any power of ten that two doubles hold', () => {
    const texts = fc
      .tuple(
        fc.bigInt({ min: 10n ** 14n, max: 10n ** 19n - 1n }),
        fc.integer({ min: -44, max: 44 }),
      )
      .map(([units, power]) => `${units}e${power}`);
    expectMostlyRead(texts, 0.9);
  });

  test('with 15 to 19 digits and the point anywhere', () => {
    const texts = fc
      .tuple(
        fc.constantFrom('', '-'),
        fc.bigInt({ min: 10n ** 14n, max: 10n ** 19n - 1n }),
        fc.nat(25),
      )
      .map(([sign, units, places]) => {
        const digits = `${units}`.padStart(places + 1, '0');
        return `${sign}${digits.slice(0, digits.length - places)}.${digits.slice(digits.length - places)}`;
      });
    expectMostlyRead(texts, 0.9);
  });

  test('halfway between two doubles, and a digit to each side of it', () => {
    // An odd number of 54 bits by a power of two ends with as many decimals as it was halved.
    const texts = fc
      .tuple(
        fc.bigInt({ min: 2n ** 52n, max: 2n ** 53n - 1n }),
        fc.integer({ min: 1, max: 3 }),
        fc.constantFrom(-1n, 0n, 1n),
      )
      .map(([m, halvings, beside]) => {
        const digits = `${(2n * m + 1n) * 5n ** BigInt(halvings) + beside}`;
        return `${digits.slice(0, -halvings)}.${digits.slice(-halvings)}`;
      });
    // Those between are what two doubles cannot tell, and so are some of their neighbours.
    fc.assert(
      fc.property(texts, (text) => void expectExact(text)),
      { numRuns: 5000 },
    );
  });

  test('as JavaScript writes doubles, of which few are left to others', () => {
    const texts = fc
      .tuple(fc.maxSafeInteger(), fc.integer({ min: -24, max: 6 }))
      .map(([units, power]) => String(units * 1.1 * 10 ** power));
    expectMostlyRead(texts, 0.9);
  });

  test.each([
    ...['0', '-0', '-0.000', '0e+00', '-0e-5', '0e5', '0e99999999999', '1e+22', '1e22', '8.5e-22'],
    ...['007', '00.5', '.5', '5.', '+1', '+.5', '-.5', '1.5E+05', '1.5e-05', '1e+005', '0.5e-3'],
    ...['1700000000016683001', '9999999999999999999', '0.100000000000000006'],
    ...['1.000000000000000000e+00', `${'0'.repeat(40)}1`, `0.${'0'.repeat(25)}1234567890123456789`],
    ...['2251799813685247', '2251799813685248', '2251799813685249e-22', '-2251799813685248e22'],
    `1${'0'.repeat(18)}`,
  ])('%s, which is read', (text) => {
    expect(expectExact(text)).toBe(true);
  });

  test.each([
    ...NO_NUMBERS,
    ...['1 ', 'inf', '"1"', '1:2', '1/2', '1e999', '1e45', '9007199254740993'],
    ...[`0.${'0'.repeat(1000)}1e10`, '12345678901234567890'],
    ...['1\u00a0', '1\0', '\t1', '00:00:01:02'],
  ])('%j is left to others', (text) => {
    expect(cellsOf(wasm, tableOf([text]))).toEqual({
      read: [{ value: 0, form: 0, kept: undefined }],
      stop: 2,
    });
  });
});

describe('both scanners', () => {
  const pieces = fc.oneof(
    { weight: 6, arbitrary: fc.constantFrom('0', '1', '9', '12345678', '.', ',', '\n') },
    { weight: 2, arbitrary: fc.constantFrom('-', ' ', '\r\n', '#', '0.25,1,2\n', '1,-2,3.5\n') },
    { weight: 1, arbitrary: fc.constantFrom('e', '+', '\r', '\t', '"', '\0', '/', ':', ';') },
  );

  test('read the same as far as the one in TypeScript reads', () => {
    fc.assert(
      fc.property(
        fc.array(pieces, { maxLength: 60 }),
        fc.integer({ min: 1, max: 9 }),
        (list, rows) => {
          const text = `${list.join('')}\n`;
          const theirs = cellsOf(typescript, text, 3 * rows);
          const ours = cellsOf(wasm, text, 3 * rows);
          expect(ours.stop).toBeGreaterThanOrEqual(theirs.stop);
          expect(ours.read.slice(0, theirs.read.length)).toEqual(theirs.read);
          if (ours.stop > theirs.stop) expect(ours.read.length).toBeGreaterThan(theirs.read.length);
        },
      ),
      { numRuns: 5000 },
    );
  });

  test.each([wasm, typescript])(
    'say when a column is written in another form than before',
    (scanner) => {
      const { rows } = scanner;
      rows.usualForms.set([0, 2, 1]);
      rows.unusual = false;
      cellsOf(scanner, '0,1.25,1.5\n1,2.25,2.5\n');
      expect(rows.unusual).toBe(false);
      cellsOf(scanner, '0,1.25,1.5\n1,2.250,2.5\n');
      expect(rows.unusual).toBe(true);
    },
  );

  test('columns that belong together lie side by side', () => {
    for (const scanner of [wasm, typescript]) {
      cellsOf(scanner, '1,2,3\n4,5,6\n');
      const { values } = scanner.rows;
      expect([...values.subarray(0, 4)]).toEqual([2, 1, 5, 4]);
      expect([...values.subarray((values.length / 3) * 2).subarray(0, 2)]).toEqual([3, 6]);
    }
  });
});

test('bytes put into the memory of WebAssembly are read as any others, wherever they are cut', () => {
  const rows = Array.from(
    { length: 4000 },
    (_, k) =>
      `${k},${k % 50 ? k / 7 : 'fern'},${(k / 8).toFixed(k % 3)}\r\n${k % 90 ? '' : '# night\n'}`,
  );
  const bytes = encodeText(`# walk\nt,x,y\n${rows.join('')}`);
  const whole = scanTable(bytes);
  for (const size of [1000, 8191, 65537]) {
    const scanner = new TableScanner({}, 2 ** 20);
    let at = 0;
    while (at < bytes.length) {
      const place = scanner.room ?? new Uint8Array(70_000);
      const chunk = bytes.subarray(at, at + size);
      place.set(chunk);
      scanner.push(place.subarray(0, chunk.length));
      at += size;
    }
    expect(scanner.room).toBeDefined();
    const table = scanner.finish();
    for (const column of [0, 1, 2]) expect(table.texts(column)).toEqual(whole.texts(column));
    expect(table.numbers(2)).toEqual(whole.numbers(2));
    expect(table.lineOf(3999)).toBe(whole.lineOf(3999));
    expect(() => table.numbers(1)).toThrow('row 3, column "x": found "fern"');
  }
});

describe('which scanner reads', () => {
  afterEach(() => vi.unstubAllGlobals());

  test('WebAssembly reads long texts', () => {
    expect(createCellScanner(LAYOUT, GROUPS, 2 ** 20, 2 ** 20).kind).toBe('wasm');
    expect(createCellScanner(LAYOUT, GROUPS, 1000, 2 ** 20).kind).toBe('typescript');
  });

  test('TypeScript reads where there is no WebAssembly, or no room for it', () => {
    vi.stubGlobal('WebAssembly', undefined);
    expect(createCellScanner(LAYOUT, GROUPS, 2 ** 20, 2 ** 20).kind).toBe('typescript');
    vi.unstubAllGlobals();
    expect(createCellScanner(LAYOUT, GROUPS, 2 ** 20, 2 ** 40).kind).toBe('typescript');
  });
});
