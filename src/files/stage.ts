import {
  closeSync,
  fsyncSync,
  mkdirSync,
  openSync,
  rmdirSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { dirname, join, relative, resolve, sep } from 'node:path';
import { cleanUp } from './cleanUp.js';
import { partialBeside } from './partials.js';

/** A file to be written. */
export interface FileToWrite {
  /** Where it shall stand. */
  readonly path: string;
  /** What shall stand there; pieces are asked for one after the other, and each is let go. */
  readonly content: string | Uint8Array | Iterable<string | Uint8Array>;
}

/** Files that are written and flushed, and wait for their names. */
export interface Staged {
  readonly files: readonly { readonly partial: string; readonly path: string }[];
  /** Takes all of it away, and folders that were made for it. */
  readonly discard: () => void;
}

/**
 * Writes files beside their places and flushes them to disk. Where one fails, nothing is left.
 *
 * @param mark - of the run, for the names
 * @param working - told the path of the file in hand
 * @throws errors of the file system, and of the pieces
 */
export function stage(
  files: readonly FileToWrite[],
  mark: string,
  working: (path: string) => void,
): Staged {
  const staged: { partial: string; path: string }[] = [];
  const folders: string[] = [];
  const discard = () => {
    cleanUp(
      ...staged.map(
        ({ partial }) =>
          () =>
            rmSync(partial, { force: true }),
      ),
      // Unless someone has put something into one meanwhile.
      ...folders.reverse().map((folder) => () => rmdirSync(folder)),
    );
  };
  try {
    for (const file of files) {
      const { path } = file;
      working(path);
      const made = mkdirSync(dirname(path), { recursive: true });
      if (made !== undefined) folders.push(...foldersFrom(made, dirname(path)));
      const partial = partialBeside(path, mark, 'partial');
      staged.push({ partial, path });
      // Asked for here and nowhere else: it may be made only now.
      writeFlushed(partial, file.content);
    }
  } catch (error) {
    discard();
    throw error;
  }
  return { files: staged, discard };
}

function writeFlushed(path: string, content: FileToWrite['content']): void {
  const descriptor = openSync(path, 'wx');
  try {
    const whole = typeof content === 'string' || content instanceof Uint8Array;
    for (const piece of whole ? [content] : content) writeFileSync(descriptor, piece);
    fsyncSync(descriptor);
  } catch (error) {
    cleanUp(() => closeSync(descriptor));
    throw error;
  }
  closeSync(descriptor);
}

/** The folders from an outer one to an inner one, both among them. */
function foldersFrom(outer: string, inner: string): string[] {
  const [from, to] = [resolve(outer), resolve(inner)];
  const deeper = relative(from, to)
    .split(sep)
    .filter((name) => name !== '');
  return [from, ...deeper.map((_, k) => join(from, ...deeper.slice(0, k + 1)))];
}
