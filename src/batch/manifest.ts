import { dirname, resolve } from 'node:path';
import { errorInFile } from '../error.js';
import { readAsText } from '../files/readFile.js';
import { parseJson } from '../read/jsonTable.js';
import { decodeText } from '../read/text.js';
import { entryNameOf, wrongTogether, wrongValue } from './checkSettings.js';
import { clipName, refuseNamesakes } from './clipName.js';
import { checkNotes, invalid, record, refuseUnknown, text } from './manifestEntries.js';
import {
  type FolderSettings,
  readFolders,
  refuseIdleFolders,
  settingsUnder,
} from './manifestFolders.js';
import { type Locate, locator } from './manifestPaths.js';
import { shown } from './settingKinds.js';
import { type ClipSettings, namedFiles, SETTING_NAMES, SETTINGS } from './settings.js';
import { expandWildcard, isWildcard, splitWildcard } from './wildcard.js';

/** The name that marks a manifest; its schema is docs/schema/shoot.schema.json. */
export const MANIFEST_FORMAT = 'twinkeel-shoot';
export const MANIFEST_VERSION = 1;

/** One clip of a shoot. */
export interface ShootClip {
  /** Names the results; the file's own name without its ending when left out. */
  readonly name: string;
  /** The file as the manifest writes it. */
  readonly written: string;
  /** Where it lies. */
  readonly file: string;
  /** Where the movie lies whose orientation the file tells, for `resample`. */
  readonly movie?: string;
  /** The shoot's defaults, those of the folder over them, and over these the clip's own. */
  readonly settings: ClipSettings;
}

/** A shoot day: what lies in a manifest. */
export interface Shoot {
  readonly path: string;
  readonly clips: readonly ShootClip[];
}

/** How to read a manifest. */
export interface ManifestOptions {
  /** Also take files outside the manifest's own folder. */
  readonly anywhere?: boolean;
}

/**
 * Reads a manifest. Paths in it count from its own folder and stay inside it unless `anywhere`
 * says otherwise; the same goes for what symbolic links point at and wildcards match.
 *
 * @throws TwinkeelError `manifest/invalid` naming the clip and the entry; `read/json`, `file/missing`
 */
export function readManifest(path: string, { anywhere = false }: ManifestOptions = {}): Shoot {
  try {
    const value = record(
      parseJson(decodeText(readAsText(path, 'a manifest')), {
        expected: 'a manifest in JSON',
        remedy: 'look for a comma, quote or bracket too many or too few near that place',
      }),
      'the manifest',
    );
    if (value.format !== MANIFEST_FORMAT) {
      throw invalid('format', shown(value.format), `"${MANIFEST_FORMAT}"`);
    }
    if (value.version !== MANIFEST_VERSION) {
      const expected = `${MANIFEST_VERSION}, the version this release reads`;
      throw invalid('version', shown(value.version), expected);
    }
    refuseUnknown(value, ['format', 'version', 'notes', 'defaults', 'folders', 'clips'], '');
    checkNotes(value.notes, 'notes');
    const locate = locator(path, anywhere);
    const given = record(value.defaults === undefined ? {} : value.defaults, 'defaults');
    const defaults = settingsOfEntry(given, 'defaults', [], locate);
    const folders = readFolders(value.folders, locate, (entries, place) =>
      settingsOfEntry(entries, place, ['folder', 'notes'], locate),
    );
    if (!Array.isArray(value.clips) || value.clips.length === 0) {
      throw invalid('clips', shown(value.clips), 'a list of at least one clip');
    }
    const clips = value.clips.flatMap((clip, k) =>
      clipsOfEntry(record(clip, `clips[${k}]`), `clips[${k}]`, {
        defaults,
        folders,
        locate,
        folder: dirname(resolve(path)),
      }),
    );
    refuseNamesakes(clips);
    refuseIdleFolders(
      folders,
      clips.map(({ file }) => file),
      path,
    );
    return { path, clips: clips.map(({ entry: _, ...clip }) => clip) };
  } catch (error) {
    throw errorInFile(error, path);
  }
}

/** What an entry of the list of clips is read with. */
interface Around {
  readonly defaults: ClipSettings;
  readonly folders: readonly FolderSettings[];
  readonly locate: Locate;
  /** The manifest's own. */
  readonly folder: string;
}

type ReadClip = ShootClip & { readonly entry: string };

/** The clip of an entry, or the clips where its file is a wildcard. */
function clipsOfEntry(entries: Record<string, unknown>, entry: string, around: Around): ReadClip[] {
  const { locate } = around;
  const written = text(entries.file, `${entry}.file`);
  const own = settingsOfEntry(entries, entry, ['file', 'name', 'movie', 'notes'], locate);
  checkNotes(entries.notes, `${entry}.notes`);
  if (isWildcard(written)) {
    const one = ['name', 'movie'].find((key) => entries[key] !== undefined);
    if (one !== undefined) {
      const expected = 'none beside a wildcard, which stands for many clips';
      throw invalid(`${entry}.${one}`, shown(entries[one]), expected);
    }
    return matchesOf(written, entry, own, around).map((each) =>
      clipOf({ written: each, name: clipName(undefined, each, entry) }, own, entry, around),
    );
  }
  const name = clipName(entries.name, written, entry);
  const clip = clipOf({ written, name }, own, entry, around);
  if (entries.movie === undefined) return [clip];
  const movie = locate(text(entries.movie, `${entry}.movie`), `${entry}.movie`);
  return [{ ...clip, movie }];
}

function clipOf(
  { name, written }: Pick<ShootClip, 'name' | 'written'>,
  own: ClipSettings,
  entry: string,
  { defaults, folders, locate }: Around,
): ReadClip {
  const file = locate(written, `${entry}.file`);
  const settings = { ...defaults, ...settingsUnder(folders, file), ...own };
  // What does not go together stops the run here and not when the clip's turn comes.
  const wrong = wrongTogether(settings, entryNameOf);
  if (wrong) throw invalid(`${entry}.${wrong.key}`, wrong.found, wrong.expected, wrong.remedy);
  return { name, written, file, settings, entry };
}

/** The files of a wildcard but for those that the same entry names as something else: its log is no clip. */
function matchesOf(
  written: string,
  entry: string,
  own: ClipSettings,
  { locate, folder }: Around,
): string[] {
  locate(splitWildcard(written).base || '.', `${entry}.file`);
  const named = new Set(namedFiles(own));
  const found = expandWildcard(written, folder).filter((each) => !named.has(resolve(folder, each)));
  if (found.length > 0) return found;
  throw invalid(
    `${entry}.file`,
    `"${written}", which no file matches`,
    'a wildcard for at least one file, such as "walk/*.csv"',
  );
}

/** The settings among the entries of a clip, a folder or the defaults, with paths resolved. */
function settingsOfEntry(
  entries: Record<string, unknown>,
  place: string,
  others: readonly string[],
  locate: Locate,
): ClipSettings {
  refuseUnknown(entries, [...SETTING_NAMES, ...others], `${place}.`);
  const settings = SETTING_NAMES.filter((key) => Object.hasOwn(entries, key)).map((key) => {
    const value = entries[key];
    const entry = `${place}.${key}`;
    const wrong = wrongValue(key, value);
    if (wrong) throw invalid(entry, wrong.found, wrong.expected, wrong.remedy);
    return [key, SETTINGS[key].kind.isFile ? locate(value as string, entry) : value];
  });
  return Object.fromEntries(settings) as ClipSettings;
}
