/** Every relative link of the pages leads to a file, and every anchor to a heading. */
import { existsSync, readdirSync, readFileSync, statSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { describe, expect, test } from 'vitest';

const ROOT = new URL('../../', import.meta.url).pathname;

/** The reference is made from the docstrings, and typedoc checks its links itself. */
const pages = [
  'README.md',
  'DEVELOPERS.md',
  'CHANGELOG.md',
  ...readdirSync(join(ROOT, 'docs'), { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.md') && !name.startsWith('api/'))
    .map((name) => `docs/${name}`),
];

/** A page without its code, in which brackets are no links. */
function withoutCode(text: string): string {
  return text.replace(/^ *(```+|~~~+).*?^ *\1.*?$/gms, '').replace(/(`+)(?!`).+?(?<!`)\1/gs, '');
}

/** Targets of links and pictures, in Markdown or HTML, and of definitions below the text. */
function targetsOf(text: string): string[] {
  const patterns = [
    /\]\(\s*<?([^\s<>)]+)>?(?:\s+["'(][^)]*)?\)/g,
    /^ {0,3}\[[^\]]+\]:\s+<?([^\s<>]+)/gm,
    /<[a-z]+\s[^>]*?(?:href|src)="([^"]+)"/gi,
  ];
  return patterns.flatMap((pattern) =>
    [...withoutCode(text).matchAll(pattern)].map(([, target]) => target!),
  );
}

/**
 * The anchors of a page: headings in lower case, without marks and punctuation, with hyphens for
 * blanks; one that comes again gets a number.
 *
 * @see GitHub Docs, "Basic writing and formatting syntax", section links (from memory)
 */
function anchorsOf(text: string): Set<string> {
  const prose = text.replace(/^---\n.*?^---\n/ms, '').replace(/^ *(```+|~~~+).*?^ *\1.*?$/gms, '');
  const anchors = new Set<string>();
  for (const [, heading] of prose.matchAll(/^ {0,3}#{1,6}\s+(.+?)(?:\s+#+)?\s*$/gm)) {
    const words = heading!.replace(/!?\[([^\]]*)\]\([^)]*\)/g, '$1').toLowerCase();
    const anchor = words.replace(/[^\p{L}\p{M}\p{N}\p{Pc} -]/gu, '').replaceAll(' ', '-');
    let unique = anchor;
    for (let again = 1; anchors.has(unique); again++) unique = `${anchor}-${again}`;
    anchors.add(unique);
  }
  for (const [, name] of prose.matchAll(/<a\s[^>]*?(?:id|name)="([^"]+)"/g)) anchors.add(name!);
  return anchors;
}

/** The links of a text at a place in the repository that lead nowhere, and why. */
function deadLinks(page: string, text: string): string[] {
  return targetsOf(text).flatMap((target) => {
    // Web pages and mail are not ours to look after.
    if (/^[a-z][a-z+.-]*:/i.test(target)) return [];
    const [path, anchor] = target.split('#').map(decodeURIComponent);
    const file = path === '' ? join(ROOT, page) : resolve(ROOT, dirname(page), path!);
    if (relative(ROOT, file).startsWith('..')) return [`${target}: outside the repository`];
    if (!existsSync(file)) return [`${target}: no such file`];
    if (anchor === undefined || !file.endsWith('.md')) return [];
    if (statSync(file).isDirectory()) return [`${target}: a folder has no headings`];
    const headings = anchorsOf(path === '' ? text : readFileSync(file, 'utf8'));
    return headings.has(anchor) ? [] : [`${target}: no such heading`];
  });
}

describe('links', () => {
  test.each(pages)('of %s lead somewhere', (page) => {
    expect(deadLinks(page, readFileSync(join(ROOT, page), 'utf8'))).toEqual([]);
  });

  test('that lead nowhere are told, wherever they stand', () => {
    const text = [
      '# The `greenhouse`: a walk, at night',
      '## Cactus',
      '## Cactus',
      '[a](#the-greenhouse-a-walk-at-night) [b](#cactus-1) [c](DEVELOPERS.md#tests) [d](docs)',
      '`[code](nowhere.md)`',
      '```text',
      '[code](nowhere.md)',
      '```',
      '[e](#cactus-2) ![f](docs/moth.svg "a moth") [g](../outside.md) [h](DEVELOPERS.md#moths)',
      '<img src="fern.png">',
      '[i]: fern.md',
    ].join('\n');
    expect(deadLinks('README.md', text)).toEqual([
      '#cactus-2: no such heading',
      'docs/moth.svg: no such file',
      '../outside.md: outside the repository',
      'DEVELOPERS.md#moths: no such heading',
      'fern.md: no such file',
      'fern.png: no such file',
    ]);
  });
});
