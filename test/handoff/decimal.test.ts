import { describe, expect, test } from 'vitest';
import { formatDecimal } from '../../src/handoff/decimal.js';
import { fc } from '../seed.js';

/** Every finite double but −0, which text writes as 0. */
const finite = fc
  .double({ noNaN: true, noDefaultInfinity: true })
  .filter((value) => !Object.is(value, -0));

describe('formatDecimal', () => {
  test('every double reads back to the last bit', () => {
    fc.assert(
      fc.property(finite, (value) => {
        expect(Number(formatDecimal(value))).toBe(value);
      }),
      { numRuns: 5000 },
    );
  });

  test('components of quaternions have nine decimals or more and no exponent', () => {
    const components = fc.double({ min: 1e-6, max: 1, noNaN: true });
    fc.assert(
      fc.property(components, fc.constantFrom('', '-'), (value, sign) => {
        expect(formatDecimal(Number(`${sign}${value}`))).toMatch(/^-?[01]\.\d{9,}$/);
      }),
    );
  });

  test('large numbers have no exponent either', () => {
    fc.assert(
      fc.property(fc.double({ min: 1, max: Number.MAX_VALUE, noNaN: true }), (value) => {
        expect(formatDecimal(value)).toMatch(/^\d+\.\d{9,}$/);
      }),
    );
  });

  test.each([1e-7, -1.5e-7, 1e-8])('%d has nine decimals or more too', (value) => {
    expect(formatDecimal(value)).toMatch(/^-?0\.\d{9,}$/);
  });

  test.each([
    [0, '0.000000000'],
    [0.5, '0.500000000'],
    [-1, '-1.000000000'],
    [1 / 3, '0.3333333333333333'],
    [1e-12, '0.000000000001'],
    [-1.25e-10, '-0.000000000125'],
    [1e21, '1000000000000000000000.000000000'],
    [1.5e22, '15000000000000000000000.000000000'],
  ])('%d is written %s', (value, text) => {
    expect(formatDecimal(value)).toBe(text);
  });
});
