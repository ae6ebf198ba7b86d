import { extname } from 'node:path';
import { readChunks, regularSize } from '../files/readFile.js';
import { decodeText } from '../read/text.js';

/** Whether a file is a manifest, by its first bytes. */
export function isManifest(path: string): boolean {
  if (extname(path).toLowerCase() !== '.json') return false;
  // A pipe cannot be read a second time.
  if (regularSize(path) === undefined) return false;
  for (const chunk of readChunks(path)) {
    // A misspelt format is told by readManifest, which names the entry.
    return /"format"\s*:\s*"twinkeel-shoot"|"clips"\s*:\s*\[/.test(
      decodeText(chunk.subarray(0, 4096)),
    );
  }
  return false;
}
