import type { CorrectionResult } from '../correct.js';
import { errorInFile } from '../error.js';
import { readResultPieces } from '../handoff/readResult.js';
import { readChunks } from './readFile.js';

/**
 * Reads a `STEM.result.json`.
 *
 * @param path - of the file
 * @returns the result, as `readResult` gives it
 * @throws TwinkeelError naming the file
 * @example
 * const [, path] = writeResult(result, folder, 'cactus');
 * readResultFile(path!).verdict; // 'deliver with care'
 */
export function readResultFile(path: string): CorrectionResult {
  try {
    return readResultPieces(readChunks(path));
  } catch (error) {
    throw errorInFile(error, path);
  }
}
