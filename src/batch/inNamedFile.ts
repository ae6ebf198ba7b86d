import { errorInFile } from '../error.js';
import { readBytes } from '../files/readFile.js';
import { decodeText } from '../read/text.js';

/** What a reader of text makes of a file; its errors name the file. */
export function inNamedFile<T>(path: string, read: (text: string) => T): T {
  try {
    return read(decodeText(readBytes(path)));
  } catch (error) {
    throw errorInFile(error, path);
  }
}
