/** The figures of the guides on disk are the ones that the library's numbers give. */
import { readdirSync, readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { drawFigures } from '../../docs/figures/draw.js';

const folder = new URL('../../docs/figures/', import.meta.url);
const drawn = drawFigures();

test('no figure lies on disk that nothing draws', () => {
  const names = readdirSync(folder).filter((name) => name.endsWith('.svg'));
  expect(names.sort()).toEqual([...drawn.keys()].sort());
});

test.each([...drawn])('%s is on disk as it is drawn now', (name, svg) => {
  // After a meant change: npx tsx docs/figures/draw.ts, and look at it.
  expect(readFileSync(new URL(name, folder), 'utf8')).toBe(svg);
});

test.each([...drawn])('%s says what it is and what it shows', (_name, svg) => {
  const title = /<title[^>]*>([^<]+)<\/title>/.exec(svg)?.[1] ?? '';
  const description = /<desc[^>]*>([^<]+)<\/desc>/.exec(svg)?.[1] ?? '';
  expect(title.trim()).not.toBe('');
  expect(description.length).toBeGreaterThan(title.length);
});

/** Degrees and percentages in a text, without their signs. */
function measures(text: string): number[] {
  return [...text.matchAll(/(\d+(?:\.\d+)?) ?[°%]/g)].map(([, number]) => Number(number));
}

test.each([...drawn])(
  '%s stands in a guide, whose words for it give the same numbers',
  (name, svg) => {
    const guides = new URL('../../docs/guide/', import.meta.url);
    const alternatives = readdirSync(guides).flatMap((guide) => [
      ...readFileSync(new URL(guide, guides), 'utf8').matchAll(/!\[([^\]]+)\]\(([^)]+)\)/g),
    ]);
    const words = alternatives.filter(([, , path]) => path === `../figures/${name}`);
    expect(words.length).toBeGreaterThan(0);
    const known = measures(/<desc[^>]*>([^<]+)<\/desc>/.exec(svg)?.[1] ?? '');
    for (const [, alternative] of words) {
      expect(known).toEqual(expect.arrayContaining(measures(alternative!)));
    }
  },
);

test.each([...drawn])('%s has letters of at least 12 px', (_name, svg) => {
  const sizes = [...svg.matchAll(/font-size="([^"]+)"/g)].map(([, size]) => Number(size));
  expect(sizes.length).toBeGreaterThan(0);
  expect(Math.min(...sizes)).toBeGreaterThanOrEqual(12);
});

test.each([...drawn])('%s has no number that is none', (_name, svg) => {
  expect(svg).not.toMatch(/NaN|Infinity|undefined/);
});
