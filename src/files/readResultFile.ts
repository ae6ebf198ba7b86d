import type { CorrectionResult } from '../correct.js';
import { errorInFile } from '../error.js';
import { readResult } from '../handoff/json.js';
import { decodeText } from '../read/text.js';
import { readAsText } from './readFile.js';

/**
 * Reads a `STEM.result.json`.
 *
 * @throws TwinkeelError naming the file
 */
export function readResultFile(path: string): CorrectionResult {
  try {
    return readResult(decodeText(readAsText(path, 'a result')));
  } catch (error) {
    throw errorInFile(error, path);
  }
}
