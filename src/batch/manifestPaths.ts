import { dirname, isAbsolute, relative, resolve, sep } from 'node:path';
import { invalid } from './manifestEntries.js';
import { realOf } from './realPath.js';

/** A path as a manifest writes it, resolved; the entry is for the refusal. */
export type Locate = (written: string, entry: string) => string;

/** How paths of a manifest are resolved: from its own folder, and inside it unless `anywhere`. */
export function locator(manifest: string, anywhere: boolean): Locate {
  const folder = dirname(resolve(manifest));
  return (written, entry) => {
    const path = resolve(folder, written);
    if (anywhere) return path;
    if (
      isAbsolute(written) ||
      leaves(folder, path) ||
      // By a link.
      leaves(realOf(folder), realOf(path))
    ) {
      throw invalid(
        entry,
        `"${written}", which leads out of the manifest's folder`,
        'a path inside it',
        'move the file, or pass --anywhere if you trust the manifest',
      );
    }
    return path;
  };
}

/** Whether a path lies outside a folder. */
export function leaves(folder: string, path: string): boolean {
  const way = relative(folder, path);
  return way === '..' || way.startsWith(`..${sep}`) || isAbsolute(way);
}
