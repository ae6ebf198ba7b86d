import { describe, expect, test } from 'vitest';
import { DecimalWriter } from '../../src/handoff/writeDecimals.js';
import { fc } from '../seed.js';

// ECMA-262, Number.prototype.toFixed, is the reference: the nearest decimal, the larger of two.

function fixed(value: number, decimals: number): string {
  const writer = new DecimalWriter(1);
  writer.fixed(value, decimals);
  return new TextDecoder().decode(writer.finish());
}

function integer(value: number): string {
  const writer = new DecimalWriter(1);
  writer.integer(value);
  return new TextDecoder().decode(writer.finish());
}

const decimals = fc.integer({ min: 1, max: 18 });

describe('a number with a fixed count of decimals', () => {
  test('is what toFixed writes, for every double', () => {
    const every = fc.double({ noNaN: true, noDefaultInfinity: true });
    fc.assert(
      fc.property(every, decimals, (value, count) => {
        expect(fixed(value, count)).toBe(value.toFixed(count));
      }),
      { numRuns: 3000 },
    );
  });

  test('and for numbers of the sizes that files hold', () => {
    const sizes = fc
      .tuple(fc.double({ min: -1, max: 1, noNaN: true }), fc.integer({ min: -14, max: 7 }))
      .map(([mantissa, power]) => mantissa * 10 ** power);
    fc.assert(
      fc.property(sizes, fc.constantFrom(1, 6, 9, 12, 18), (value, count) => {
        expect(fixed(value, count)).toBe(value.toFixed(count));
      }),
      { numRuns: 5000 },
    );
  });

  test('next to a tie too, where scaling alone would round the wrong way', () => {
    const units = fc.integer({ min: 0, max: 2 ** 40 });
    const steps = fc.integer({ min: -3, max: 3 });
    fc.assert(
      fc.property(units, decimals, steps, fc.boolean(), (whole, count, step, negative) => {
        const tie = (whole + 0.5) / 10 ** count;
        const value = (negative ? -1 : 1) * tie * (1 + step * Number.EPSILON);
        expect(fixed(value, count)).toBe(value.toFixed(count));
      }),
      { numRuns: 5000 },
    );
  });

  test.each([
    [-0, 9, '0.000000000'],
    [-1e-15, 12, '-0.000000000000'],
    [5e-324, 12, '0.000000000000'],
    [1.005, 2, '1.00'],
    [0.5, 1, '0.5'],
    [2.5e-10, 9, '0.000000000'],
    [0.9999999999996, 12, '1.000000000000'],
    [-9.9999999999, 9, '-10.000000000'],
    [123456789012, 1, '123456789012.0'],
    [1e21, 9, '1e+21'],
    [Number.MAX_VALUE, 9, String(Number.MAX_VALUE)],
  ])('%d with %d decimals is %s', (value, count, text) => {
    expect(fixed(value, count)).toBe(text);
  });
});

test('whole numbers are written as they are', () => {
  fc.assert(
    fc.property(fc.maxSafeInteger(), fc.integer({ min: 0, max: 52 }), (large, shift) => {
      const value = Math.trunc(large / 2 ** shift) + 0;
      expect(integer(value)).toBe(String(value));
    }),
    { numRuns: 2000 },
  );
});

test('what is written stands one behind the other, however often memory grows', () => {
  const writer = new DecimalWriter(1);
  let text = '';
  for (let k = 0; k < 1000; k++) {
    writer.integer(k);
    writer.byte(59);
    writer.fixed(-k / 8, 3);
    writer.text('|\n');
    text += `${k};${k === 0 ? '0.000' : (-k / 8).toFixed(3)}|\n`;
  }
  expect(new TextDecoder().decode(writer.finish())).toBe(text);
});
