import {
  closeSync,
  existsSync,
  fsyncSync,
  mkdirSync,
  openSync,
  renameSync,
  rmSync,
  writeSync,
} from 'node:fs';
import { dirname, join } from 'node:path';
import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import { toCsv } from '../handoff/csv.js';
import { toJson } from '../handoff/json.js';

/** How to write. */
export interface WriteOptions {
  /** Replace files that exist. */
  readonly force?: boolean;
}

/**
 * Writes files so that each is either whole or not there: to temporary names first, flushed to
 * disk, then renamed once all are written.
 *
 * @throws TwinkeelError `file/exists` before anything is written, `file/unwritable`
 */
export function writeFiles(
  files: readonly { readonly path: string; readonly text: string }[],
  { force = false }: WriteOptions = {},
): void {
  for (const { path } of files) {
    if (!force && existsSync(path)) {
      throw new TwinkeelError('file/exists', {
        file: path,
        found: 'a file of this name',
        expected: 'a new name',
        remedy: 'choose another folder or pass --force to replace it',
      });
    }
  }
  const temporary: string[] = [];
  try {
    for (const { path, text } of files) {
      mkdirSync(dirname(path), { recursive: true });
      const name = `${path}.${process.pid}.tmp`;
      temporary.push(name);
      const descriptor = openSync(name, 'wx');
      try {
        writeSync(descriptor, text);
        fsyncSync(descriptor);
      } finally {
        closeSync(descriptor);
      }
    }
    files.forEach(({ path }, k) => {
      renameSync(temporary[k]!, path);
    });
  } catch (error) {
    for (const name of temporary) rmSync(name, { force: true });
    const { code, path } = error as NodeJS.ErrnoException;
    throw new TwinkeelError('file/unwritable', {
      file: path ?? files[0]?.path ?? '',
      found: `a place that cannot be written (${code ?? String(error)})`,
      expected: 'a writable folder with room',
      remedy: 'choose another folder',
    });
  }
}

/**
 * Writes `STEM.corrections.csv` and `STEM.result.json` into a folder.
 *
 * @returns the paths
 */
export function writeResult(
  result: CorrectionResult,
  folder: string,
  stem: string,
  options: WriteOptions = {},
): readonly string[] {
  const files = [
    { path: join(folder, `${stem}.corrections.csv`), text: toCsv(result) },
    { path: join(folder, `${stem}.result.json`), text: toJson(result) },
  ];
  writeFiles(files, options);
  return files.map(({ path }) => path);
}
