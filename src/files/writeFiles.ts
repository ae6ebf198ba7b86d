import {
  closeSync,
  existsSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readFileSync,
  renameSync,
  rmdirSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { hostname } from 'node:os';
import { dirname, join, relative, resolve, sep } from 'node:path';
import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import { toCsvBytes } from '../handoff/csv.js';
import { toJson } from '../handoff/json.js';

/** How to write. */
export interface WriteOptions {
  /** Replace files that exist. */
  readonly force?: boolean;
  /** Files that exist with the very bytes to be written are no obstacle. */
  readonly same?: boolean;
}

/**
 * Writes files so that each is either whole or not there: to temporary names first, flushed to
 * disk, then renamed once all are written.
 *
 * @param options - what to do about files that exist
 * @param files - paths and what shall stand there; folders are made where they do not exist
 * @throws TwinkeelError `file/exists` before anything is written, `file/unwritable`
 * @example
 * writeFiles([{ path: `${folder}/corrected/cactus.csv`, content: toCsv(result) }]);
 * readCorrections(toCsv(result)).times.length; // 721
 */
export function writeFiles(
  files: readonly { readonly path: string; readonly content: string | Uint8Array }[],
  { force = false, same = false }: WriteOptions = {},
): void {
  for (const { path, content } of files) {
    if (existsSync(path) && statSync(path).isDirectory()) {
      throw unwritable(path, 'a folder of this name');
    }
    if (!force && existsSync(path) && !(same && holds(path, content))) {
      throw new TwinkeelError('file/exists', {
        file: path,
        found: 'a file of this name',
        expected: 'a new name',
        remedy: 'choose another folder or pass --force to replace it',
      });
    }
  }
  const temporary: string[] = [];
  const folders: string[] = [];
  let current = '';
  try {
    for (const { path, content } of files) {
      current = path;
      const made = mkdirSync(dirname(path), { recursive: true });
      if (made !== undefined) folders.push(...foldersFrom(made, dirname(path)));
      const name = `${path}${TEMPORARY_END}`;
      temporary.push(name);
      // Left over from a run that was killed and had the same number: in containers they repeat.
      rmSync(name, { force: true });
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
    for (const folder of folders.reverse()) removeEmpty(folder);
    const { code } = error as NodeJS.ErrnoException;
    throw unwritable(current, `a place that cannot be written (${code ?? error})`);
  }
}

/** Whether a file holds exactly this content. */
function holds(path: string, content: string | Uint8Array): boolean {
  try {
    const bytes = readFileSync(path);
    return bytes.equals(Buffer.from(content));
  } catch {
    return false;
  }
}

/** Marks files being written; machines and runs that share a folder do not touch each other's. */
const TEMPORARY_END = `.${hostname().replace(/[^\w-]/g, '-')}-${process.pid}.tmp`;

/** Whether a name is that of a file which this run was writing. */
export function isTemporaryOfThisRun(name: string): boolean {
  return name.endsWith(TEMPORARY_END);
}

/** The folders from an outer one to an inner one, both among them. */
function foldersFrom(outer: string, inner: string): string[] {
  const [from, to] = [resolve(outer), resolve(inner)];
  const deeper = relative(from, to)
    .split(sep)
    .filter((name) => name !== '');
  return [from, ...deeper.map((_, k) => join(from, ...deeper.slice(0, k + 1)))];
}

/** Removes a folder unless someone has put something into it meanwhile. */
function removeEmpty(folder: string): void {
  try {
    rmdirSync(folder);
  } catch {
    // It stays, with what is in it.
  }
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
 * @param result - of `correct`
 * @param folder - made where it does not exist
 * @param stem - the clip's name, with which the files begin
 * @param options - what to do about files that exist
 * @returns the paths
 * @throws TwinkeelError `file/exists`, `file/unwritable`
 * @example
 * const paths = writeResult(result, folder, 'cactus');
 * paths[0] === `${folder}/cactus.corrections.csv`; // true
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
      { path: corrections, content: toCsvBytes(result) },
      { path: whole, content: toJson(result) },
    ],
    options,
  );
  return [corrections, whole];
}
