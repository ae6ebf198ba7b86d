import type { CorrectionResult } from '../correct.js';
import { errorInFile } from '../error.js';
import { readResult } from '../handoff/json.js';
import { decodeText } from '../read/text.js';
import { readAsText } from './readFile.js';

/**
 * Reads a `STEM.result.json`.
 *
 * @param path - of the file
 * @returns the result, as {@link readResult} gives it
 * @throws TwinkeelError naming the file
 * @example
 * const [, path] = writeResult(result, folder, 'cactus');
 * readResultFile(path!).verdict; // 'deliver with care'
 */
export function readResultFile(path: string): CorrectionResult {
  try {
    return readResult(decodeText(readAsText(path, 'a result')));
  } catch (error) {
    throw errorInFile(error, path);
  }
}
