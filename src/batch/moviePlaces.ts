import { existsSync, mkdirSync, renameSync } from 'node:fs';
import { TwinkeelError } from '../error.js';

/** Refuses to replace a movie. */
export function requireNew(out: string): void {
  if (!existsSync(out)) return;
  throw new TwinkeelError('file/exists', {
    file: out,
    found: 'a file of this name',
    expected: 'a new name',
    remedy: 'choose another name or pass --force to replace it',
  });
}

/** Makes a folder where there is none. */
export function makeFolder(folder: string): void {
  try {
    mkdirSync(folder, { recursive: true });
  } catch (error) {
    throw unwritable(folder, error);
  }
}

/** Gives a movie its name. */
export function moveInto(from: string, to: string): void {
  try {
    renameSync(from, to);
  } catch (error) {
    throw unwritable(to, error);
  }
}

function unwritable(file: string, error: unknown): TwinkeelError {
  return new TwinkeelError('file/unwritable', {
    file,
    found: `a place that cannot be written (${(error as NodeJS.ErrnoException).code ?? error})`,
    expected: 'a writable folder with room',
    remedy: 'choose another place',
  });
}
