import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { type ClipSettings, FILE_SETTINGS } from './clipSettings.js';

/**
 * A fingerprint of everything a clip's result follows from: the file, every file its settings name
 * and the settings themselves by their content, wherever they lie, and the release that computes.
 *
 * @param release - of twinkeel
 * @returns SHA-256, hexadecimal
 */
export async function clipHash(
  file: string,
  settings: ClipSettings,
  release: string,
): Promise<string> {
  const named = FILE_SETTINGS.filter((key) => settings[key] !== undefined);
  const contents = await Promise.all(named.map((key) => fileHash(settings[key]!)));
  const plain = Object.entries(settings)
    .filter(([key]) => !(FILE_SETTINGS as readonly string[]).includes(key))
    .sort(([a], [b]) => (a < b ? -1 : 1));
  const parts = { release, clip: await fileHash(file), plain, named, contents };
  return createHash('sha256').update(JSON.stringify(parts)).digest('hex');
}

/** SHA-256 of a file's bytes, hexadecimal; a file that cannot be read has none. */
export function fileHash(path: string): Promise<string | undefined> {
  return new Promise((resolve) => {
    const hash = createHash('sha256');
    createReadStream(path)
      .on('data', (chunk) => hash.update(chunk))
      .on('error', () => resolve(undefined))
      .on('end', () => resolve(hash.digest('hex')));
  });
}
