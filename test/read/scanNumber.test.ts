import { describe, expect, test } from 'vitest';
import { NO_FORM, scanNumber, textOfForm } from '../../src/read/scanNumber.js';
import { fc } from '../seed.js';
import { NO_NUMBERS } from './noNumbers.js';
import { numberTexts } from './tables.js';

// ECMA-262, StringToNumber, is the reference: Number() rounds to the nearest double, ties to even
// (an engine may round otherwise behind the twentieth digit; V8 does not).

const COMMA = 44;
const POINT = 46;
const form = new Int32Array(1);

/** The inverse of 5 modulo 2^54: five times this is 2^54 + 1. */
const FIFTH = (2n ** 54n + 1n) / 5n;

/** Scans a text that stands between other digits, so that reading beyond its ends shows. */
function scan(text: string, decimal = POINT): number {
  const bytes = new TextEncoder().encode(`7${text}7`);
  return scanNumber(bytes, 1, bytes.length - 1, decimal, form);
}

function expectExact(text: string): void {
  const value = scan(text);
  if (!Object.is(value, Number(text))) expect(`${text}: ${value}`).toBe(`${text}: ${Number(text)}`);
  if (form[0] !== NO_FORM) expect(textOfForm(value, form[0]!)).toBe(text);
}

const digits = (minLength: number, maxLength: number) =>
  fc.array(fc.integer({ min: 0, max: 9 }), { minLength, maxLength }).map((list) => list.join(''));
const sign = fc.constantFrom('', '-', '+');

/** A decimal text of a whole number of units 10^power, with the point where it belongs. */
function positional(units: bigint, power: number): string {
  if (power >= 0) return `${units}${'0'.repeat(power)}`;
  const text = units.toString().padStart(1 - power, '0');
  return `${text.slice(0, power)}.${text.slice(power)}`;
}

describe('a number is the double nearest to its text', () => {
  test('with 1 to 25 digits, the point anywhere, and any exponent', () => {
    const texts = fc
      .tuple(
        sign,
        digits(0, 3).map((zeros) => zeros.replace(/./g, '0')),
        digits(1, 25),
        fc.integer({ min: 0, max: 25 }),
        fc.option(fc.integer({ min: -345, max: 310 })),
        fc.constantFrom('e', 'E', 'e+', 'e0'),
      )
      .map(([s, zeros, list, point, power, e]) => {
        const at = Math.min(point, list.length);
        const mantissa = `${s}${zeros}${list.slice(0, at)}.${list.slice(at)}`;
        if (power === null) return mantissa;
        return `${mantissa}${power < 0 ? 'e' : e}${power}`;
      });
    fc.assert(fc.property(texts, expectExact), { numRuns: 20_000 });
  });

  test('as texts of tables have it', () => {
    fc.assert(fc.property(numberTexts, expectExact), { numRuns: 5000 });
  });

  test('halfway between two doubles, and a digit to each side of it', () => {
    // m + ½ with 53 bits in m, times a power of two: a decimal that ends, written in full.
    const halves = fc.tuple(
      fc.bigInt({ min: 2n ** 52n, max: 2n ** 53n - 1n }),
      fc.integer({ min: -12, max: 10 }),
      fc.constantFrom(-1n, 0n, 1n),
    );
    fc.assert(
      fc.property(halves, ([m, power, beside]) => {
        const shift = power - 1;
        const odd = 2n * m + 1n;
        if (shift >= 0) expectExact(String(odd * 2n ** BigInt(shift) + beside));
        else expectExact(positional(odd * 5n ** BigInt(-shift) + beside, shift));
      }),
      { numRuns: 5000 },
    );
  });

  test('halfway with few digits and a power of ten behind: 17 to 19 digits decide', () => {
    const near = fc.tuple(
      fc.bigInt({ min: 10n ** 15n, max: 10n ** 19n - 1n }),
      fc.integer({ min: -44, max: 44 }),
    );
    fc.assert(
      fc.property(near, ([units, power]) => expectExact(`${units}e${power}`)),
      { numRuns: 20_000 },
    );
  });

  test('next to halfway by less than two doubles can tell', () => {
    // n 5^k = r modulo 2^54 for odd n of 54 bits puts M = (n 5^k − r) / 2^54 so that M / 10^k is
    // n / 2^(54 + k), halfway between doubles, but for r / (n 5^k): down to 2^-116 of itself.
    const modulus = 2n ** 54n;
    for (const k of [23n, 24n, 25n, 26n, 27n]) {
      let inverse = 1n;
      for (let i = 0n; i < k; i++) inverse = (inverse * FIFTH) % modulus;
      for (let r = -199n; r < 200n; r += 2n) {
        const n = (((r * inverse) % modulus) + modulus) % modulus;
        if (n < modulus / 2n) continue;
        const units = (n * 5n ** k - r) / modulus;
        expect(units * modulus + r).toBe(n * 5n ** k);
        if (units < 10n ** 19n) expectExact(`${units}e-${k}`);
      }
    }
  });

  test('as JavaScript writes doubles, which come back to the last bit with their text', () => {
    const every = fc.double({ noNaN: true, noDefaultInfinity: true });
    const ordinary = fc
      .tuple(fc.double({ min: -1, max: 1, noNaN: true }), fc.integer({ min: -5, max: 6 }))
      .map(([mantissa, power]) => mantissa * 10 ** power);
    fc.assert(
      fc.property(fc.oneof(every, ordinary), (value) => {
        expectExact(String(value));
        expect(Object.is(scan(String(value)), value + 0)).toBe(true);
      }),
      { numRuns: 5000 },
    );
  });

  test.each([
    '-0',
    '-0.000',
    '0e99999999999',
    '-0e-5',
    '5e-324',
    '2.4703282292062327e-324',
    '2.4703282292062328e-324',
    '2.2250738585072011e-308',
    '2.2250738585072014e-308',
    '1.7976931348623157e308',
    '1.7976931348623159e308',
    '1e999',
    '9007199254740993',
    '9007199254740992.5',
    '9007199254740993.00000000000000000000000001',
    '1e23',
    '8.5e22',
    '1e-23',
    '6.02214076e+23',
    `${'0'.repeat(400)}1`,
    `0.${'0'.repeat(300)}1`,
    `1${'0'.repeat(300)}e-300`,
    `${'9'.repeat(400)}e-399`,
  ])('%s', expectExact);

  test.each([...NO_NUMBERS, ' ', '1,5', 'Infinity'])('"%s" is no decimal number', (text) => {
    expect(scan(text)).toBeNaN();
    expect(form[0]).toBe(NO_FORM);
  });

  test('a decimal comma takes the place of the point', () => {
    expect(scan('-12,25', COMMA)).toBe(-12.25);
    expect(scan('0,12345678901234567', COMMA)).toBe(Number('0.12345678901234567'));
    expect(scan('1,00000000000000000000000001', COMMA)).toBe(1);
    expect(scan('1.5', COMMA)).toBeNaN();
  });
});

describe('the text of a number', () => {
  test.each([
    '0',
    '-0',
    '42',
    '-0.00',
    '1.50',
    '0.100000000000000006',
    '123456.000001',
    '-3.14159265358979',
    '1.000000000000000000e+00',
    '-9.806649999999999423e+00',
    '1.2500000000E-03',
    '1e-7',
    '1.5e+21',
    '0.000000e+00',
  ])('%s comes back from its value and form', (text) => {
    const value = scan(text);
    expect(form[0]).not.toBe(NO_FORM);
    expect(textOfForm(value, form[0]!)).toBe(text);
  });

  test.each([
    '+1',
    '007',
    '00.5',
    '.5',
    '5.',
    '1700000000016683001',
    '0.12345678901234568901',
    '0.5e-3',
    '10e5',
    '1e5',
    '1e-0',
    '1e+005',
    '0e+05',
  ])('%s is one that its value does not give back', (text) => {
    expect(scan(text)).toBe(Number(text));
    expect(form[0]).toBe(NO_FORM);
  });
});
