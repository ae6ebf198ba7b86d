import { linkSync, lstatSync, renameSync, rmSync, statSync } from 'node:fs';
import { dirname, relative, resolve, sep } from 'node:path';
import { cleanUp } from './cleanUp.js';
import { fileHash } from './fileHash.js';
import { lockFolder, type Move } from './folderLock.js';
import { partialBeside } from './partials.js';
import { alreadyThere, unwritable } from './placeErrors.js';
import type { Staged } from './stage.js';

/** How to put files in place. */
export interface CommitOptions {
  /** Of the run, for names. */
  readonly mark: string;
  /** Which files that stand there may be replaced. */
  readonly mayReplace: 'any' | 'equal' | 'none';
  /** Told the path of the file in hand. */
  readonly working: (path: string) => void;
}

/**
 * Gives staged files their names: all of them, or, where one fails, none, and what stood there before
 * stands there again. More than one are named under the folder's lock, which says what is to be
 * finished should the process be killed on the way.
 *
 * @throws TwinkeelError `file/exists` for a file that may not be replaced, `file/locked`; errors of
 *   the file system
 */
export function commit({ files, discard }: Staged, options: CommitOptions): void {
  const { mark, mayReplace, working } = options;
  const places = files.map(({ partial, path }) => ({
    ...{ partial, path, former: partialBeside(path, mark, 'former') },
  }));
  let unlock = () => {};
  try {
    if (places.length > 1) {
      const folder = sharedFolder(places.map(({ path }) => path));
      unlock = lockFolder(folder, mark, movesBelow(folder, places));
    }
    for (const { partial, path } of places) {
      working(path);
      if (lstatSync(path, { throwIfNoEntry: false })?.isDirectory()) {
        throw unwritable(path, 'a folder of this name');
      }
      if (
        mayReplace !== 'any' &&
        exists(path) &&
        !(mayReplace === 'equal' && equal(partial, path))
      ) {
        throw alreadyThere(path);
      }
    }
  } catch (error) {
    discard();
    unlock();
    throw error;
  }
  const undo: (() => void)[] = [];
  try {
    for (const place of places) {
      working(place.path);
      const kept = keepFormer(place.path, place.former);
      undo.unshift(() => bringBack(place, kept));
      renameSync(place.partial, place.path);
    }
  } catch (error) {
    // What cannot be undone now, such as on a disk that stays broken, stays as the lock says it, and
    // the next run finishes it.
    if (cleanUp(...undo)) {
      discard();
      unlock();
    }
    throw error;
  }
  cleanUp(
    ...places.map(
      ({ former }) =>
        () =>
          rmSync(former, { force: true }),
    ),
  );
  unlock();
}

interface Place {
  readonly partial: string;
  readonly path: string;
  readonly former: string;
}

/** Keeps what stands in a place under another name; without links it leaves its place for it. */
function keepFormer(path: string, former: string): boolean {
  if (!exists(path)) return false;
  try {
    linkSync(path, former);
  } catch {
    renameSync(path, former);
  }
  return true;
}

/** Undoes one rename, whether it came about or not. */
function bringBack({ partial, path, former }: Place, kept: boolean): void {
  if (kept) {
    if (exists(former)) renameSync(former, path);
    // Two names of one file are left both where one is renamed to the other.
    rmSync(former, { force: true });
  } else if (!exists(partial)) {
    rmSync(path, { force: true });
  }
}

/** Whether anything has this name, a link to nothing too. */
function exists(path: string): boolean {
  return lstatSync(path, { throwIfNoEntry: false }) !== undefined;
}

/** Whether two files hold the same bytes. */
function equal(a: string, b: string): boolean {
  return lstatSync(a).size === statSync(b).size && fileHash(a) === fileHash(b);
}

/** The folder, of those that files go to, in which the others lie; the first where there is none. */
function sharedFolder(paths: readonly string[]): string {
  const folders = paths.map((path) => resolve(dirname(path)));
  const outermost = folders.reduce((a, b) => (b.length < a.length ? b : a));
  return folders.every((folder) => folder === outermost || folder.startsWith(outermost + sep))
    ? outermost
    : folders[0]!;
}

/** What is going to be done, for whoever has to finish it: files elsewhere are left out. */
function movesBelow(folder: string, places: readonly Place[]): Move[] {
  return places.flatMap(({ partial, path, former }) => {
    const [from, to, aside] = [partial, path, former].map((name) =>
      relative(folder, resolve(name)),
    );
    return to!.startsWith('..') ? [] : [{ from: from!, to: to!, former: aside! }];
  });
}
