import { expect, test } from 'vitest';
import { percent, rounded, withUnit } from '../src/readable.js';

test.each([
  [14.62, '15'],
  [9.96, '10'],
  [9.94, '9.9'],
  [0.31, '0.31'],
  [0.08, '0.08'],
  [0.0049, '0'],
  [-3.21, '−3.2'],
])('%d is read as %s', (value, text) => {
  expect(rounded(value)).toBe(text);
});

test('a degree stands close to its number, other units after a space', () => {
  const shown = ['°', '%', '°/s', 'arcmin'].map((unit) => withUnit(12, unit));
  expect(shown).toEqual(['12°', '12 %', '12 °/s', '12 arcmin']);
});

test('some is never nothing, and nearly all is not all', () => {
  expect([0, 0.004, 0.04, 0.996, 1].map(percent)).toEqual([
    '0 %',
    'less than 1 %',
    '4 %',
    'over 99 %',
    '100 %',
  ]);
});
