import { closeSync, openSync, readFileSync, readSync, type Stats, statSync } from 'node:fs';
import { TwinkeelError } from '../error.js';
import { cleanUp } from './cleanUp.js';

/** How much of a table is read at once. */
const CHUNK_BYTES = 2 ** 20;

/** V8 holds no text longer than 2^29 − 24 characters, and such files are read as one text. */
const MOST_AS_TEXT = 2 ** 29 - 24;

/**
 * The bytes of a file.
 *
 * @throws TwinkeelError `file/missing` when it cannot be read, saying why
 */
export function readBytes(path: string): Uint8Array {
  return readable(path, () => {
    fileStats(path);
    return readFileSync(path);
  });
}

/**
 * The bytes of a file that becomes one text.
 *
 * @param kind - what the file holds, for the message
 * @throws TwinkeelError `file/missing`; `file/too-large` above 512 MiB
 */
export function readAsText(path: string, kind: string): Uint8Array {
  const { size } = readable(path, () => fileStats(path));
  if (size > MOST_AS_TEXT) throw tooLarge(path, `${(size / 2 ** 20).toFixed(0)} MiB of ${kind}`);
  return readBytes(path);
}

/** The size of a file that can be read again from its start, else undefined: a pipe cannot. */
export function regularSize(path: string): number | undefined {
  const stats = readable(path, () => fileStats(path));
  return stats.isFile() ? stats.size : undefined;
}

/**
 * The bytes of a file piece by piece, each in the memory of the one before.
 *
 * @param into - memory to read the next piece into, where there is better than fresh one
 * @throws TwinkeelError `file/missing` when it cannot be read, saying why
 */
export function* readChunks(
  path: string,
  into: () => Uint8Array | undefined = () => undefined,
): Generator<Uint8Array, void> {
  const own = new Uint8Array(CHUNK_BYTES);
  const descriptor = readable(path, () => {
    fileStats(path);
    return openSync(path, 'r');
  });
  try {
    for (;;) {
      const chunk = into() ?? own;
      const length = readable(path, () => readSync(descriptor, chunk, 0, chunk.length, null));
      if (length === 0) return;
      yield length === chunk.length ? chunk : chunk.subarray(0, length);
    }
  } finally {
    // What was read stands, whatever closing says.
    cleanUp(() => closeSync(descriptor));
  }
}

/** Tells a file from another, and from itself after a change: path, size and time of change. */
export function fileStamp(path: string): string {
  const { size, mtimeMs } = readable(path, () => statSync(path));
  return `${path} ${size} ${mtimeMs}`;
}

/** The error for a file that does not fit into memory. */
export function tooLarge(path: string, found: string): TwinkeelError {
  return new TwinkeelError('file/too-large', {
    file: path,
    found,
    expected:
      'at most 512 MiB of JSON or of a table with quotes, or a plain table that fits memory',
    remedy: 'export a plain table of numbers without quotes, or split the recording',
  });
}

function fileStats(path: string): Stats {
  const stats = statSync(path);
  if (stats.isDirectory()) throw unreadable(path, 'a folder');
  return stats;
}

function readable<T>(path: string, read: () => T): T {
  try {
    return read();
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
