import { basename, extname } from 'node:path';
import { nameKey, wrongName } from './clipName.js';
import { MANIFEST_FORMAT, MANIFEST_VERSION } from './manifest.js';
import type { ClipSettings, SettingKey } from './settings.js';
import { type FoundClip, type WrittenClip, writtenClip } from './writtenClip.js';

/** A manifest as it is written, key by key. */
export interface WrittenManifest {
  readonly format: string;
  readonly version: number;
  readonly notes: readonly string[];
  readonly defaults?: ClipSettings;
  readonly folders?: readonly ({ readonly folder: string } & ClipSettings)[];
  readonly clips: readonly ({ readonly file: string; readonly name?: string } & ClipSettings)[];
}

/**
 * The manifest of a shoot: what all clips share stands in the defaults, what those of one folder share
 * with that folder, the rest with the clip. Every guess has a note beside it.
 *
 * @param clips - in the order of the shoot
 * @param prefix - from the manifest's folder to the shoot's: '' or a path that ends in `/`
 */
export function manifestOf(
  clips: readonly FoundClip[],
  notes: readonly string[],
  prefix = '',
): WrittenManifest {
  const written = named(clips.map((clip) => writtenClip(clip, prefix)));
  const defaults = sharedBy(written);
  const bare = written.map((clip) => without(clip, defaults));
  const folders = [...new Set(bare.map(({ file }) => folderOf(file)))].flatMap((folder) => {
    // What is said of a folder goes for the folders in it as well.
    const below = bare.filter(({ file }) => folder !== '' && file.startsWith(`${folder}/`));
    const shared = sharedBy(below);
    return Object.keys(shared).length === 0 ? [] : [{ folder, shared }];
  });
  const sharedAbove = ({ file }: WrittenClip) =>
    Object.assign(
      {},
      ...folders.filter(({ folder }) => file.startsWith(`${folder}/`)).map(({ shared }) => shared),
    ) as ClipSettings;
  return {
    format: MANIFEST_FORMAT,
    version: MANIFEST_VERSION,
    notes,
    ...(Object.keys(defaults).length > 0 && { defaults }),
    ...(folders.length > 0 && {
      folders: folders.map(({ folder, shared }) => ({ folder, ...shared })),
    }),
    clips: bare.map((clip) => {
      const { settings, notes: own, ...files } = without(clip, sharedAbove(clip));
      return { ...files, ...settings, ...(own.length > 0 && { notes: own }) };
    }),
  };
}

/** The text of a manifest. */
export function manifestText(manifest: WrittenManifest): string {
  return `${JSON.stringify(manifest, null, 2)}\n`;
}

/** Settings that the clips of a folder mostly have in common. */
const COMMON: readonly SettingKey[] = ['mapping', 'logMapping', 'rig', 'rate'];

/** The common settings that are the same in all of several clips. */
function sharedBy(clips: readonly WrittenClip[]): ClipSettings {
  const [first, ...others] = clips;
  if (!first || others.length === 0) return {};
  const same = COMMON.filter((key) => {
    const value = first.settings[key];
    return value !== undefined && others.every(({ settings }) => settings[key] === value);
  });
  return Object.fromEntries(same.map((key) => [key, first.settings[key]]));
}

function without(clip: WrittenClip, shared: ClipSettings): WrittenClip {
  const left = Object.entries(clip.settings).filter(
    ([key, value]) => shared[key as SettingKey] !== value,
  );
  return { ...clip, settings: Object.fromEntries(left) };
}

function folderOf(file: string): string {
  return file.slice(0, Math.max(0, file.lastIndexOf('/')));
}

/** Clips with a name of their own where that of the file will not do, or is another's too. */
function named(clips: readonly WrittenClip[]): WrittenClip[] {
  const stems = clips.map(({ file }) => basename(file, extname(file)));
  const taken = new Set<string>();
  return clips.map((clip, k) => {
    const stem = stems[k]!;
    const twins = stems.filter((other) => nameKey(other) === nameKey(stem)).length > 1;
    const wish = tidied(twins ? clip.file.replace(/\.[^./]*$/, '').replaceAll('/', '-') : stem);
    let name = wish;
    for (let number = 2; taken.has(nameKey(name)); number++) name = `${shortened(wish)}-${number}`;
    taken.add(nameKey(name));
    const { file, ...rest } = clip;
    if (name === stem) return clip;
    return { file, name, ...rest };
  });
}

/** The nearest name that a clip may have. */
function tidied(wish: string): string {
  const plain = shortened(
    wish
      .replace(/[^\p{L}\p{M}\p{N} ._-]+/gu, '_')
      .replace(/^[^\p{L}\p{N}_]+/u, '')
      .replace(/[. ]+$/, ''),
  );
  if (plain === '') return 'clip';
  return wrongName(plain) ? `clip-${shortened(plain)}` : plain;
}

/** Room for a number behind it, and for what each letter takes on a disk. */
function shortened(name: string): string {
  const letters = [...name].slice(0, 90);
  while (Buffer.byteLength(letters.join('')) > 200) letters.pop();
  return letters.join('').replace(/[. ]+$/, '');
}
