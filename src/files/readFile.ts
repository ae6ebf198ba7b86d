import { readFileSync, statSync } from 'node:fs';
import { TwinkeelError } from '../error.js';

/**
 * The bytes of a file.
 *
 * @throws TwinkeelError `file/missing` when it cannot be read, saying why
 */
export function readBytes(path: string): Uint8Array {
  try {
    if (statSync(path).isDirectory()) throw unreadable(path, 'a folder');
    return readFileSync(path);
  } catch (error) {
    if (error instanceof TwinkeelError) throw error;
    const { code } = error as NodeJS.ErrnoException;
    throw unreadable(
      path,
      code === 'ENOENT' ? 'no such file' : `a file that cannot be read (${code})`,
    );
  }
}

function unreadable(path: string, found: string): TwinkeelError {
  return new TwinkeelError('file/missing', {
    file: path,
    found,
    expected: 'a readable file',
    remedy: 'check the path and the permissions',
  });
}
