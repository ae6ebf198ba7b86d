import { createHash } from 'node:crypto';
import { fileHash } from '../files/fileHash.js';
import { type ClipSettings, FILE_SETTINGS } from './settings.js';

/**
 * A fingerprint of everything a clip's result follows from: the file, every file its settings name
 * and the settings themselves by their content, wherever they lie, and the release that computes.
 *
 * @param release - of twinkeel
 * @returns SHA-256, hexadecimal
 * @throws TwinkeelError `file/missing` when one of the files cannot be read
 */
export function clipHash(file: string, settings: ClipSettings, release: string): string {
  const named = FILE_SETTINGS.filter((key) => settings[key] !== undefined);
  const contents = named.map((key) => fileHash(settings[key]!));
  const plain = Object.entries(settings)
    .filter(([key]) => !(FILE_SETTINGS as readonly string[]).includes(key))
    .sort(([a], [b]) => (a < b ? -1 : 1));
  const parts = { release, clip: fileHash(file), plain, named, contents };
  return createHash('sha256').update(JSON.stringify(parts)).digest('hex');
}
