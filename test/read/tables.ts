import { fc } from '../seed.js';

/** A numeric table as text, and what it says. */
export interface WrittenTable {
  readonly text: string;
  readonly header: readonly string[] | undefined;
  /** The cells as written, with a decimal point. */
  readonly cells: readonly (readonly string[])[];
  /** The line of each row, from 1. */
  readonly lines: readonly number[];
}

/** How a table is written. */
export interface Writing {
  readonly separator: string;
  readonly decimal: '.' | ',';
  readonly newline: '\n' | '\r\n';
  readonly header: boolean;
  readonly comments: boolean;
  readonly blanks: boolean;
  readonly mark: boolean;
  readonly closed: boolean;
}

const digits = (minLength: number, maxLength: number) =>
  fc.array(fc.integer({ min: 0, max: 9 }), { minLength, maxLength }).map((list) => list.join(''));

const sign = fc.constantFrom('', '-', '+');
const exponent = fc
  .tuple(fc.constantFrom('e', 'E'), sign, fc.integer({ min: 0, max: 300 }))
  .map(([e, s, k]) => `${e}${s}${k}`);

/** Decimal texts: 1 to 19 digits with the point anywhere or nowhere, signs and exponents. */
export const numberTexts: fc.Arbitrary<string> = fc
  .tuple(
    sign,
    fc.oneof(
      digits(1, 19),
      fc.tuple(digits(1, 9), digits(0, 10)).map(([whole, part]) => `${whole}.${part}`),
      digits(1, 19).map((part) => `.${part}`),
      fc.tuple(digits(15, 19), digits(0, 4)).map(([whole, part]) => `${whole}.${part}`),
      fc.tuple(digits(1, 2), digits(14, 24)).map(([whole, part]) => `${whole}.${part}`),
    ),
    fc.option(exponent, { nil: '', freq: 3 }),
  )
  .map((parts) => parts.join(''))
  .filter((text) => Number.isFinite(Number(text)));

export const writings: fc.Arbitrary<Writing> = fc.record({
  separator: fc.constantFrom(',', ';', '\t', ' '),
  decimal: fc.constant('.' as const),
  newline: fc.constantFrom('\n', '\r\n'),
  header: fc.boolean(),
  comments: fc.boolean(),
  blanks: fc.boolean(),
  mark: fc.boolean(),
  closed: fc.boolean(),
});

/** One to eight rows of one to five cells; a table in one column would leave the separator open. */
export const cellRows = fc.integer({ min: 2, max: 5 }).chain((width) =>
  fc.array(fc.array(numberTexts, { minLength: width, maxLength: width }), {
    minLength: 1,
    maxLength: 8,
  }),
);

/** Writes rows as text, each cell as `quote` has it. */
export function writeTable(
  rows: readonly (readonly string[])[],
  writing: Writing,
  quote: (cell: string, index: number) => string = (cell) => cell,
): WrittenTable {
  const { separator, decimal, newline } = writing;
  const header = writing.header ? rows[0]!.map((_, k) => `column_${k}`) : undefined;
  const out: string[] = [];
  const lines: number[] = [];
  let index = 0;
  const join = (cells: readonly string[]) =>
    cells.map((cell) => quote(cell, index++)).join(separator);
  if (writing.comments) out.push('# a slow walk past the moonflowers with a lantern at night');
  if (header) out.push(join(header));
  rows.forEach((row, k) => {
    if (writing.blanks && k % 3 === 1) out.push('', '  ');
    if (writing.comments && k % 4 === 2)
      out.push('# here the walk turns left at the old water tank');
    out.push(join(row.map((cell) => cell.replace('.', decimal))));
    lines.push(out.length);
  });
  const text = `${writing.mark ? '\uFEFF' : ''}${out.join(newline)}${writing.closed ? newline : ''}`;
  return { text, header, cells: rows, lines };
}
