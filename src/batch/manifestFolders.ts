import { dirname, relative, resolve, sep } from 'node:path';
import { meant } from '../nearestWord.js';
import { checkNotes, invalid, record, text } from './manifestEntries.js';
import { type Locate, leaves } from './manifestPaths.js';
import { shown } from './settingKinds.js';
import type { ClipSettings } from './settings.js';

/** Settings of everything under a folder. */
export interface FolderSettings {
  /** The folder as the manifest writes it. */
  readonly written: string;
  /** Where it lies. */
  readonly path: string;
  readonly settings: ClipSettings;
  /** The entry, for messages. */
  readonly entry: string;
}

/**
 * The entry `folders` of a manifest.
 *
 * @param settingsOf - reads the settings of an entry
 */
export function readFolders(
  value: unknown,
  locate: Locate,
  settingsOf: (entries: Record<string, unknown>, entry: string) => ClipSettings,
): FolderSettings[] {
  if (value === undefined) return [];
  if (!Array.isArray(value)) throw invalid('folders', shown(value), 'a list of folders');
  const seen = new Set<string>();
  return value.map((each: unknown, k) => {
    const entry = `folders[${k}]`;
    const entries = record(each, entry);
    const written = text(entries.folder, `${entry}.folder`);
    const path = locate(written, `${entry}.folder`);
    if (seen.has(path)) {
      throw invalid(`${entry}.folder`, `"${written}" a second time`, 'each folder once');
    }
    seen.add(path);
    checkNotes(entries.notes, `${entry}.notes`);
    return { written, path, settings: settingsOf(entries, entry), entry };
  });
}

/** What the folders say of a file in them: the inner one over the outer one, in any order. */
export function settingsUnder(folders: readonly FolderSettings[], file: string): ClipSettings {
  const around = folders
    .filter(({ path }) => !leaves(path, file))
    .sort((a, b) => a.path.length - b.path.length);
  return Object.assign({}, ...around.map(({ settings }) => settings)) as ClipSettings;
}

/** Refuses a folder in which no clip lies: it is misspelt. */
export function refuseIdleFolders(
  folders: readonly FolderSettings[],
  files: readonly string[],
  manifest: string,
): void {
  const idle = folders.find(({ path }) => files.every((file) => leaves(path, file)));
  if (!idle) return;
  const known = [
    ...new Set(files.flatMap((file) => foldersAbove(dirname(resolve(manifest)), file))),
  ];
  throw invalid(
    `${idle.entry}.folder`,
    `"${idle.written}", in which no clip lies`,
    'a folder with a clip in it',
    meant(idle.written, known),
  );
}

/** The folders in which a file lies, as a manifest in `folder` writes them. */
function foldersAbove(folder: string, file: string): string[] {
  const parts = relative(folder, file).split(sep).slice(0, -1);
  return parts.map((_, k) => parts.slice(0, k + 1).join('/'));
}
