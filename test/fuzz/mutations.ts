import { fc } from '../seed.js';

/** What readers stumble over, as text. */
const TOKENS = [
  ...['NaN', 'nan', 'Infinity', '-inf', '1e999', '-1e999', '1e-320', '-0', '0x10', '1e', '.', '-'],
  ...[
    '9007199254740993',
    '99999999999999999999',
    '-1',
    '0',
    '1',
    '2147483648',
    '1e9',
    '0.5',
    '1/0',
  ],
  ...['null', 'true', '"', '""', "'", '[', ']', '{', '}', '[]', '{}', '[[]]', ',', ':', ';', '\t'],
  ...['"__proto__":', '"constructor":', '"length":', '=1+1', '#', '%', ' ', '\n', '\r', '\r\n'],
  ...[
    '\0',
    '\uFEFF',
    '\uFFFD',
    '\u2028',
    '..',
    '/',
    '\\',
    '00:00:00:00',
    '(',
    ')',
    'sense',
    'skip',
  ],
].map((text) => Buffer.from(text));

/** A float32 that is no number, from its lowest byte on. */
const NOT_A_NUMBER = Uint8Array.of(0, 0, 0xc0, 0x7f);

/** Values that stand in for a value of a JSON text. */
const JSON_VALUES: fc.Arbitrary<string> = fc.oneof(
  fc.constantFrom(
    ...['null', 'true', 'false', '0', '-1', '1e999', '-1e999', '1e-320', '9007199254740993', '1e9'],
    ...['0.5', '""', '"aisle"', '"NaN"', '"1"', '"1e999"', '[]', '{}', '[null]', '[[]]', '[{}]'],
    ...['{"__proto__":{"x":1}}', '{"length":4}', '[1e999]', '[0,0,0,0]', '{"rotation":null}'],
  ),
  fc.json({ maxDepth: 3 }),
);

/** One change of some bytes. */
type Change = (bytes: Uint8Array) => Uint8Array;

/** A share of the length, even over it: drawn with a bias, most would be its start or end. */
const place = fc.noBias(fc.integer({ min: 0, max: 2 ** 30 - 1 })).map((k) => k / 2 ** 30);
const at = (bytes: Uint8Array, share: number) => Math.floor(share * (bytes.length + 1));
const filled = (bytes: Uint8Array, from: number, to: number, with_: Uint8Array) =>
  Buffer.concat([bytes.subarray(0, from), with_, bytes.subarray(to)]);

const pieces: fc.Arbitrary<Uint8Array> = fc.oneof(
  fc.constantFrom(...TOKENS, NOT_A_NUMBER),
  fc.uint8Array({ minLength: 1, maxLength: 4 }),
);

const changes: fc.Arbitrary<Change> = fc.oneof(
  fc.tuple(place, pieces).map(
    ([share, piece]): Change =>
      (bytes) => {
        const from = at(bytes, share);
        return filled(bytes, from, from, piece);
      },
  ),
  fc.tuple(place, fc.nat(12), pieces).map(
    ([share, length, piece]): Change =>
      (bytes) => {
        const from = at(bytes, share);
        return filled(bytes, from, from + length, piece);
      },
  ),
  fc.tuple(place, place).map(
    ([a, b]): Change =>
      (bytes) => {
        const [from, to] = [at(bytes, Math.min(a, b)), at(bytes, Math.max(a, b))];
        return filled(bytes, from, to, new Uint8Array(0));
      },
  ),
  fc.tuple(place, place, place).map(
    ([a, b, c]): Change =>
      (bytes) => {
        const piece = bytes.subarray(at(bytes, Math.min(a, b)), at(bytes, Math.max(a, b)));
        const from = at(bytes, c);
        return filled(bytes, from, from, piece);
      },
  ),
  place.map(
    (share): Change =>
      (bytes) =>
        bytes.subarray(0, at(bytes, share)),
  ),
  // A number, whole, becomes a token: cells, entries of lists and settings alike.
  fc.tuple(place, pieces).map(
    ([share, piece]): Change =>
      (bytes) => {
        const numbers = [
          ...Buffer.from(bytes)
            .toString('latin1')
            .matchAll(/[-+.\deE]*\d[-+.\deE]*/g),
        ];
        const number = numbers[Math.floor(share * numbers.length)];
        if (!number) return bytes;
        return filled(bytes, number.index, number.index + number[0].length, piece);
      },
  ),
  // A value of a JSON text becomes another, or its key and the comma behind it go.
  fc.tuple(place, place, fc.option(JSON_VALUES)).map(
    ([line, share, value]): Change =>
      (bytes) => {
        return Buffer.from(withValue(Buffer.from(bytes).toString(), line, share, value));
      },
  ),
);

/** A JSON text, or the lines of one, with one value replaced or taken away. */
function withValue(text: string, line: number, share: number, value: string | null): string {
  const lines = text.split('\n');
  const chosen = Math.floor(line * lines.length);
  const whole = parsed(text);
  const root = whole ?? parsed(lines[chosen]!);
  if (root === null || typeof root !== 'object') return text;
  const spots: [Record<string, unknown>, string][] = [];
  const visit = (node: object) => {
    for (const [key, inner] of Object.entries(node)) {
      spots.push([node as Record<string, unknown>, key]);
      if (inner !== null && typeof inner === 'object') visit(inner);
    }
  };
  visit(root);
  const spot = spots[Math.floor(share * spots.length)];
  if (!spot) return text;
  const [owner, key] = spot;
  // Through a marker, since JSON.stringify knows no 1e999 and no second key of a name.
  if (value === null) delete owner[key];
  else owner[key] = '@value@';
  const written = JSON.stringify(root).replace('"@value@"', () => value ?? '');
  if (whole !== undefined) return written;
  lines[chosen] = written;
  return lines.join('\n');
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

/** Files: valid ones with one change or several, tokens in a row, or any bytes. */
export function files(valid: readonly Uint8Array[]): fc.Arbitrary<Uint8Array> {
  const changed = fc
    .tuple(fc.constantFrom(...valid), fc.array(changes, { minLength: 1, maxLength: 3 }))
    .map(([file, all]) => all.reduce((bytes, change) => change(bytes), file));
  const tokens = fc.array(pieces, { maxLength: 12 }).map((all): Uint8Array => Buffer.concat(all));
  return fc.oneof(
    { weight: 20, arbitrary: changed },
    { weight: 1, arbitrary: tokens },
    { weight: 1, arbitrary: fc.uint8Array({ maxLength: 300 }) },
  );
}
