import { expect, test } from 'vitest';
import { meant, nearestWord } from '../src/nearestWord.js';

const WORDS = ['auto', 'travelling', 'pan', 'locked-off'];

test.each([
  ['travelin', 'travelling'],
  ['Pan', 'pan'],
  ['locked off', 'locked-off'],
  ['atuo', 'auto'],
  ['out', undefined],
  ['pane', 'pan'],
  ['', undefined],
  ['x'.repeat(1e6), undefined],
])('%s is near %s', (written, word) => {
  expect(nearestWord(written, WORDS)).toBe(word);
});

test('what was meant is a remedy, in the quotes of its place', () => {
  expect(meant('pane', WORDS)).toBe('write "pan" if that was meant');
  expect(meant('pane', WORDS, (word) => `--${word}`)).toBe('write --pan if that was meant');
  expect(meant('moonflower', WORDS)).toBeUndefined();
});
