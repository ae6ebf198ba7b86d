import { createHash } from 'node:crypto';
import { existsSync } from 'node:fs';
import { readChunks } from './readFile.js';

/**
 * SHA-256 of a file's bytes.
 *
 * @returns hexadecimal
 * @throws TwinkeelError `file/missing` when it cannot be read to its end: half a file has no hash
 */
export function fileHash(path: string): string {
  const hash = createHash('sha256');
  for (const chunk of readChunks(path)) hash.update(chunk);
  return hash.digest('hex');
}

/** The hash of a file, or undefined where there is none. */
export function hashIfThere(path: string): string | undefined {
  return existsSync(path) ? fileHash(path) : undefined;
}
