import { join } from 'node:path';
import { isTwinkeelError, TwinkeelError } from '../error.js';
import { parseMapping } from '../read/mapping.js';
import { readRig } from '../rig/stereoRig.js';
import { inNamedFile } from './inNamedFile.js';
import { byNaturalPath } from './naturalOrder.js';
import { type NamedMapping, type Recording, recogniseFile } from './recogniseFile.js';
import { isResultName } from './resultNames.js';
import { walkFolder } from './walkFolder.js';

/** A track or a log of a shoot, with the rig of its folder. */
export interface FoundRecording extends Recording {
  /** From the folder of the shoot, with `/` between folders. */
  readonly path: string;
  /** The description of the lenses that applies, as a path from the same folder. */
  readonly rig?: string;
}

/** What lies in the folder of a shoot. */
export interface ShootFiles {
  readonly tracks: readonly FoundRecording[];
  readonly logs: readonly FoundRecording[];
  readonly movies: readonly { readonly path: string }[];
  /** What could not be used, and why. */
  readonly notes: readonly string[];
  /** How many files are none of all this, and nobody's loss: pictures, sound, results. */
  readonly others: number;
}

/**
 * Finds the tracks, logs and movies in a folder and below it. A file is read with the mapping that
 * stands nearest: `STEM.mapping.txt` beside it, then in its folder and each one above
 * `track.mapping.txt`, `log.mapping.txt` and `mapping.txt`. The rig is the nearest `rig.json`.
 *
 * @throws TwinkeelError `file/missing` for the folder, `file/too-large` where it is no shoot's
 */
export async function findShootFiles(
  folder: string,
  onFile: (path: string, total: number) => void = () => {},
): Promise<ShootFiles> {
  const entries = walkFolder(folder).sort((a, b) => byNaturalPath(a.path, b.path));
  const notes: string[] = [];
  const tracks: FoundRecording[] = [];
  const logs: FoundRecording[] = [];
  const movies: { path: string }[] = [];
  const files = entries.filter(({ kind }) => kind === 'file');
  const around = new Surroundings(
    folder,
    files.map(({ path }) => path),
    notes,
  );
  for (const { path, kind } of entries) {
    if (kind === 'link')
      notes.push(`${path}: left out, a link; what it leads to may lie elsewhere`);
    if (kind === 'other') notes.push(`${path}: left out, a pipe or a device`);
  }
  let others = 0;
  for (const { path, name } of files) {
    onFile(path, files.length);
    if (isResultName(name) || isSetting(name)) {
      others++;
      continue;
    }
    const found = await recognise(join(folder, path), around.mappingsOf(path));
    if (found.kind === 'other') {
      others++;
      if (found.why !== undefined) notes.push(`${path}: left out: ${found.why}`);
    } else if (/[*?]/.test(path)) {
      notes.push(`${path}: left out: * and ? stand for many files in a manifest; rename it`);
    } else if (found.kind === 'movie') {
      movies.push({ path });
    } else {
      const { kind, ...facts } = found;
      const rig = around.rigOf(path);
      (kind === 'track' ? tracks : logs).push({
        path,
        ...facts,
        ...(rig !== undefined && { rig }),
      });
    }
  }
  return { tracks, logs, movies, notes, others };
}

async function recognise(path: string, mappings: readonly NamedMapping[]) {
  try {
    return await recogniseFile(path, mappings);
  } catch (error) {
    const { code, syscall } = error as NodeJS.ErrnoException;
    if (syscall === undefined) throw error;
    return { kind: 'other', why: `a file that cannot be read (${code})` } as const;
  }
}

/** Files beside recordings that say how to read them. */
function isSetting(name: string): boolean {
  return /^(?:.+\.)?mapping\.txt$/i.test(name) || name === 'rig.json';
}

/** Mappings and rigs of a shoot, each read once. */
class Surroundings {
  readonly #folder: string;
  readonly #there: ReadonlySet<string>;
  readonly #notes: string[];
  readonly #mappings = new Map<string, NamedMapping | undefined>();
  readonly #rigs = new Map<string, string | undefined>();

  constructor(folder: string, paths: readonly string[], notes: string[]) {
    this.#folder = folder;
    this.#there = new Set(paths);
    this.#notes = notes;
  }

  /** The mappings that may apply to a file, the most probable first. */
  mappingsOf(path: string): NamedMapping[] {
    const stem = path.replace(/(?<=[^/])\.[^./]*$/, '');
    const names = /(?:gyro|imu|log)[^/]*$/i.test(stem)
      ? ['log.mapping.txt', 'track.mapping.txt', 'mapping.txt']
      : ['track.mapping.txt', 'log.mapping.txt', 'mapping.txt'];
    const inFolders = foldersUp(path).flatMap((folder) => names.map((name) => folder + name));
    return [`${stem}.mapping.txt`, ...inFolders].flatMap(
      (candidate) =>
        this.#read(candidate, this.#mappings, (text) => ({
          path: candidate,
          mapping: parseMapping(text),
        })) ?? [],
    );
  }

  /** The nearest description of the lenses. */
  rigOf(path: string): string | undefined {
    for (const folder of foldersUp(path)) {
      const candidate = `${folder}rig.json`;
      const found = this.#read(candidate, this.#rigs, (text) => {
        readRig(text);
        return candidate;
      });
      if (found !== undefined) return found;
    }
    return undefined;
  }

  #read<T>(
    path: string,
    cache: Map<string, T | undefined>,
    read: (text: string) => T,
  ): T | undefined {
    if (!this.#there.has(path)) return undefined;
    if (!cache.has(path)) cache.set(path, this.#attempt(path, read));
    return cache.get(path);
  }

  #attempt<T>(path: string, read: (text: string) => T): T | undefined {
    try {
      return inNamedFile(join(this.#folder, path), read);
    } catch (error) {
      if (!isTwinkeelError(error)) throw error;
      this.#notes.push(`${path}: not used: found ${error.found}, expected ${error.expected}`);
      return undefined;
    }
  }
}

/** The folder of a file and those above it up to that of the shoot, each with its `/`; '' for that. */
function foldersUp(path: string): string[] {
  const parts = path.split('/').slice(0, -1);
  return [...parts.map((_, k) => `${parts.slice(0, parts.length - k).join('/')}/`), ''];
}

/** The error for a folder without anything that could be corrected. */
export function nothingToCorrect(folder: string, { movies, notes }: ShootFiles): TwinkeelError {
  const [first, ...more] = notes;
  const seen = [
    movies.length === 0 ? '' : ` (${movies.length} movie${movies.length === 1 ? '' : 's'} alone)`,
    first === undefined ? '' : `; ${first}${more.length === 0 ? '' : `, and ${more.length} more`}`,
  ];
  return new TwinkeelError('file/missing', {
    file: folder,
    found: `no track and no motion log${seen.join('')}`,
    expected: 'a folder with at least one',
    remedy:
      'track the movies first, or say how to read the files in a mapping.txt beside them ("twinkeel inspect FILE" shows how)',
  });
}
