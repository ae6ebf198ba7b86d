import { existsSync, statSync } from 'node:fs';
import { join } from 'node:path';
import type { CorrectionResult } from '../correct.js';
import { isTwinkeelError } from '../error.js';
import { csvPieces } from '../handoff/csv.js';
import { jsonPieces } from '../handoff/json.js';
import { commit } from './commit.js';
import { newMark } from './partials.js';
import { alreadyThere, unwritable } from './placeErrors.js';
import { type FileToWrite, stage } from './stage.js';

/** How to write. */
export interface WriteOptions {
  /** Replace files that exist. */
  readonly force?: boolean;
  /** Files that exist with the very bytes to be written are no obstacle. */
  readonly same?: boolean;
  /** Eight hexadecimal digits that tell the run's unfinished files from those of others. */
  readonly mark?: string;
}

/**
 * Writes files so that either all of them are there, each whole, or none: under temporary names
 * first, flushed to disk, then renamed once all are written. Where a rename fails those before it are
 * undone; where the process is killed between two, the next that writes into the folder finishes them.
 *
 * @param files - paths and what shall stand there, whole or in pieces; folders are made where they do
 *   not exist
 * @param options - what to do about files that exist
 * @throws TwinkeelError `file/exists` before anything is written, `file/unwritable`, `file/locked`
 *   when another run writes into the folder for more than 10 s
 * @example
 * writeFiles([{ path: `${folder}/corrected/cactus.csv`, content: toCsv(result) }]);
 * readCorrections(toCsv(result)).times.length; // 721
 */
export function writeFiles(
  files: readonly FileToWrite[],
  { force = false, same = false, mark = newMark() }: WriteOptions = {},
): void {
  for (const { path } of files) {
    if (isFolder(path)) throw unwritable(path, 'a folder of this name');
    if (!force && !same && existsSync(path)) throw alreadyThere(path);
  }
  let current = files[0]?.path ?? '';
  const working = (path: string) => {
    current = path;
  };
  try {
    const staged = stage(files, mark, working);
    commit(staged, { mark, mayReplace: force ? 'any' : same ? 'equal' : 'none', working });
  } catch (error) {
    if (isTwinkeelError(error)) throw error;
    const { code } = error as NodeJS.ErrnoException;
    throw unwritable(current, `a place that cannot be written (${code ?? error})`);
  }
}

function isFolder(path: string): boolean {
  try {
    return statSync(path, { throwIfNoEntry: false })?.isDirectory() === true;
  } catch {
    // What is wrong with the place shows, with its reason, when something is to be written there.
    return false;
  }
}

/** Where the results of a clip go: `STEM.corrections.csv` and `STEM.result.json`. */
export function resultPaths(folder: string, stem: string): [corrections: string, result: string] {
  return [join(folder, `${stem}.corrections.csv`), join(folder, `${stem}.result.json`)];
}

/**
 * Writes `STEM.corrections.csv` and `STEM.result.json` into a folder, both or neither.
 *
 * @param result - of `correct`
 * @param folder - made where it does not exist
 * @param stem - the clip's name, with which the files begin
 * @param options - what to do about files that exist
 * @returns the paths
 * @throws TwinkeelError `file/exists`, `file/unwritable`, `file/locked`
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
      { path: corrections, content: csvPieces(result) },
      { path: whole, content: jsonPieces(result) },
    ],
    options,
  );
  return [corrections, whole];
}
