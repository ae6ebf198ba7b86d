import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { TwinkeelError } from '../error.js';

/** What lies in a folder or below it. */
export interface FolderEntry {
  /** From the folder, with `/` between folders. */
  readonly path: string;
  /** Its own name. */
  readonly name: string;
  /** A link is not followed; a pipe or device is `other`. */
  readonly kind: 'file' | 'folder' | 'link' | 'other';
}

/** More entries are no shoot but a disk (our judgement). */
const MOST_ENTRIES = 50_000;

/**
 * Everything in a folder and below it but hidden entries, without following links: nothing that it
 * gives lies elsewhere. In no order.
 *
 * @param enter - whether to look into a folder; `depth` is 1 for those right in `folder`
 * @throws TwinkeelError `file/missing` for a folder that cannot be listed, `file/too-large` for more
 *   than 50,000 entries
 */
export function walkFolder(
  folder: string,
  enter: (path: string, depth: number) => boolean = () => true,
): FolderEntry[] {
  const found: FolderEntry[] = [];
  const waiting = [{ path: '', depth: 0 }];
  for (let next = waiting.pop(); next; next = waiting.pop()) {
    for (const entry of listed(join(folder, next.path))) {
      if (entry.name.startsWith('.')) continue;
      const path = next.path === '' ? entry.name : `${next.path}/${entry.name}`;
      found.push({ path, name: entry.name, kind: kindOf(entry) });
      if (found.length > MOST_ENTRIES) throw tooMany(folder);
      const depth = next.depth + 1;
      if (entry.isDirectory() && enter(path, depth)) waiting.push({ path, depth });
    }
  }
  return found;
}

type Entry = ReturnType<typeof listed>[number];

function kindOf(entry: Entry): FolderEntry['kind'] {
  if (entry.isSymbolicLink()) return 'link';
  if (entry.isDirectory()) return 'folder';
  return entry.isFile() ? 'file' : 'other';
}

function listed(folder: string) {
  try {
    return readdirSync(folder, { withFileTypes: true });
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    throw new TwinkeelError('file/missing', {
      file: folder,
      found: code === 'ENOENT' ? 'no such folder' : `a folder that cannot be listed (${code})`,
      expected: 'a readable folder',
      remedy: 'check the path and the permissions',
    });
  }
}

function tooMany(folder: string): TwinkeelError {
  return new TwinkeelError('file/too-large', {
    file: folder,
    found: `more than ${MOST_ENTRIES} files and folders`,
    expected: 'the folder of one shoot',
    remedy: 'name the folder of one day',
  });
}
