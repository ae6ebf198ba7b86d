import {
  closeSync,
  existsSync,
  fsyncSync,
  mkdirSync,
  openSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { hostname } from 'node:os';
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
  files: readonly { readonly path: string; readonly content: string | Uint8Array }[],
  { force = false }: WriteOptions = {},
): void {
  for (const { path } of files) {
    if (existsSync(path) && statSync(path).isDirectory()) {
      throw unwritable(path, 'a folder of this name');
    }
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
  let current = '';
  try {
    for (const { path, content } of files) {
      current = path;
      mkdirSync(dirname(path), { recursive: true });
      const name = `${path}${TEMPORARY_END}`;
      temporary.push(name);
      const descriptor = openSync(name, 'wx');
      try {
        writeFileSync(descriptor, content);
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
    const { code } = error as NodeJS.ErrnoException;
    throw unwritable(current, `a place that cannot be written (${code ?? error})`);
  }
}

/** Marks files being written; machines and runs that share a folder do not touch each other's. */
const TEMPORARY_END = `.${hostname().replace(/[^\w-]/g, '-')}-${process.pid}.tmp`;

/** Whether a name is that of a file which this run was writing. */
export function isTemporaryOfThisRun(name: string): boolean {
  return name.endsWith(TEMPORARY_END);
}

function unwritable(file: string, found: string): TwinkeelError {
  return new TwinkeelError('file/unwritable', {
    file,
    found,
    expected: 'a writable folder with room',
    remedy: 'choose another folder',
  });
}

/** Where the results of a clip go: `STEM.corrections.csv` and `STEM.result.json`. */
export function resultPaths(folder: string, stem: string): [corrections: string, result: string] {
  return [join(folder, `${stem}.corrections.csv`), join(folder, `${stem}.result.json`)];
}

/**
 * Writes `STEM.corrections.csv` and `STEM.result.json` into a folder.
 *
 * @returns the paths
 * @throws TwinkeelError `file/exists`, `file/unwritable`
 */
export function writeResult(
  result: CorrectionResult,
  folder: string,
  stem: string,
  options: WriteOptions = {},
): readonly string[] {
  const [corrections, whole] = resultPaths(folder, stem);
  writeFiles(
    [
      { path: corrections, content: toCsv(result) },
      { path: whole, content: toJson(result) },
    ],
    options,
  );
  return [corrections, whole];
}
