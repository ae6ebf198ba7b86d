import { statSync } from 'node:fs';
import { resolve } from 'node:path';
import picomatch from 'picomatch';
import { byNaturalPath } from './naturalOrder.js';
import { isResultName } from './resultNames.js';
import { walkFolder } from './walkFolder.js';

/** Whether an entry stands for many files. Brackets and braces stand for themselves. */
export function isWildcard(written: string): boolean {
  return /[*?]/.test(written);
}

/** The folders of a wildcard before its first star or question mark, and the rest of it. */
export function splitWildcard(written: string): { readonly base: string; readonly rest: string } {
  const parts = written.split('/');
  const first = parts.findIndex(isWildcard);
  return { base: parts.slice(0, first).join('/'), rest: parts.slice(first).join('/') };
}

/**
 * The files that a wildcard stands for, in natural order, as a manifest would write them. `*` and `?`
 * stand for letters within a name, `**` for folders, however many. Hidden files and what twinkeel
 * itself wrote are never among them, and no link to a folder is followed.
 *
 * @param folder - from which the wildcard counts
 * @throws TwinkeelError `file/missing` for a folder that cannot be listed, `file/too-large` where
 *   there are more files than a shoot has
 */
export function expandWildcard(written: string, folder: string): string[] {
  const { base, rest } = splitWildcard(written);
  const start = resolve(folder, base === '' && written.startsWith('/') ? '/' : base);
  const matches = picomatch(rest.replace(LITERAL, '\\$&'));
  const depth = rest.includes('**') ? Number.POSITIVE_INFINITY : rest.split('/').length;
  return walkFolder(start, (_, level) => level < depth)
    .filter(({ path, name, kind }) => {
      if (kind === 'folder' || isResultName(name) || !matches(path)) return false;
      return kind !== 'link' || !isFolder(resolve(start, path));
    })
    .map(({ path }) => (base === '' && !written.startsWith('/') ? path : `${base}/${path}`))
    .sort(byNaturalPath);
}

/** What means something to the matcher and stands for itself here. */
const LITERAL = /[\\^$+.()|[\]{}!@#&~,]/g;

/** Whether a link leads to a folder; one that leads nowhere is a clip that will say so. */
function isFolder(link: string): boolean {
  return statSync(link, { throwIfNoEntry: false })?.isDirectory() === true;
}
