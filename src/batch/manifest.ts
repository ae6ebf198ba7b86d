import { basename, dirname, extname, isAbsolute, relative, resolve, sep } from 'node:path';
import { errorInFile, TwinkeelError } from '../error.js';
import { readAsText, readChunks, regularSize } from '../files/readFile.js';
import { parseJson } from '../read/jsonTable.js';
import { decodeText } from '../read/text.js';
import { type ClipSettings, checkValues, FILE_SETTINGS, SETTING_NAMES } from './clipSettings.js';
import { realOf } from './realPath.js';
import { UsageError } from './usage.js';

/** The name that marks a manifest; its schema is docs/schema/shoot.schema.json. */
const FORMAT = 'twinkeel-shoot';
const VERSION = 1;

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
  /** The shoot's defaults and over them the clip's own, with paths resolved. */
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

/** Whether a file is a manifest, by its first bytes. */
export function isManifest(path: string): boolean {
  if (extname(path).toLowerCase() !== '.json') return false;
  // A pipe cannot be read a second time.
  if (regularSize(path) === undefined) return false;
  for (const chunk of readChunks(path)) {
    // A misspelt format is told by readManifest, which names the entry.
    return /"format"\s*:\s*"twinkeel-shoot"|"clips"\s*:\s*\[/.test(
      decodeText(chunk.subarray(0, 4096)),
    );
  }
  return false;
}

/**
 * Reads a manifest. Paths in it count from its own folder and stay inside it unless `anywhere`
 * says otherwise; the same goes for what symbolic links point at.
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
    if (value.format !== FORMAT) throw invalid('format', shown(value.format), `"${FORMAT}"`);
    if (value.version !== VERSION) {
      throw invalid('version', shown(value.version), `${VERSION}, the version this release reads`);
    }
    refuseUnknown(value, ['format', 'version', 'defaults', 'clips'], '');
    const folder = dirname(resolve(path));
    const locate = (written: string, entry: string) => inside(folder, written, entry, anywhere);
    const given = value.defaults === undefined ? {} : value.defaults;
    const defaults = settingsOf(record(given, 'defaults'), 'defaults', [], locate);
    if (!Array.isArray(value.clips) || value.clips.length === 0) {
      throw invalid('clips', shown(value.clips), 'a list of at least one clip');
    }
    const clips = value.clips.map((clip, k): ShootClip => {
      const entry = `clips[${k}]`;
      const entries = record(clip, entry);
      const written = text(entries.file, `${entry}.file`);
      const name = nameOf(entries, written, entry);
      const own = settingsOf(entries, entry, ['file', 'name', 'movie'], locate);
      const settings = { ...defaults, ...own };
      // A slip of the pen stops the run here and not when the clip's turn comes.
      checkSettings(settings, entry);
      const movie =
        entries.movie === undefined
          ? undefined
          : locate(text(entries.movie, `${entry}.movie`), `${entry}.movie`);
      return {
        name,
        written,
        file: locate(written, `${entry}.file`),
        ...(movie !== undefined && { movie }),
        settings,
      };
    });
    refuseTwins(clips);
    return { path, clips };
  } catch (error) {
    throw errorInFile(error, path);
  }
}

/** The checks of a command line's values, as errors of the manifest. */
function checkSettings(settings: ClipSettings, entry: string): void {
  try {
    checkValues(settings, (key) => `"${key}"`);
  } catch (error) {
    if (!(error instanceof UsageError)) throw error;
    throw invalid(entry, error.message, 'settings that a clip can have');
  }
}

type Locate = (written: string, entry: string) => string;

/** The settings among the entries of a clip or of the defaults, with paths resolved. */
function settingsOf(
  entries: Record<string, unknown>,
  place: string,
  others: readonly string[],
  locate: Locate,
): ClipSettings {
  refuseUnknown(entries, [...SETTING_NAMES, ...others], `${place}.`);
  const settings = Object.keys(entries)
    .filter((key) => !others.includes(key))
    .map((key) => {
      const value = entries[key];
      const entry = `${place}.${key}`;
      if ((FILE_SETTINGS as readonly string[]).includes(key)) {
        return [key, locate(text(value, entry), entry)];
      }
      if (key === 'rate' && typeof value === 'number') {
        const remedy = 'write "60", or "60000/1001" for 59.94';
        throw invalid(entry, shown(value), 'the rate in quotes', remedy);
      }
      const word = WORDS_FOR_NUMBERS[key];
      if (!NUMBERS.includes(key)) return [key, text(value, entry)];
      if (!Number.isFinite(value) && (word === undefined || value !== word)) {
        throw invalid(entry, shown(value), word ? `a number or "${word}"` : 'a number');
      }
      return [key, value];
    });
  return Object.fromEntries(settings) as ClipSettings;
}

const WORDS_FOR_NUMBERS: Readonly<Record<string, string>> = { limit: 'none', uncovered: 'never' };
const NUMBERS = ['level', 'levelAt', 'logOffset', 'limit', 'uncovered'];

/** A path of the manifest, resolved; refused where it leaves the folder, by itself or by a link. */
function inside(folder: string, written: string, entry: string, anywhere: boolean): string {
  const path = resolve(folder, written);
  if (anywhere) return path;
  const leaves = (from: string, to: string) => {
    const way = relative(from, to);
    return way === '..' || way.startsWith(`..${sep}`) || isAbsolute(way);
  };
  if (isAbsolute(written) || leaves(folder, path) || leaves(realOf(folder), realOf(path))) {
    throw invalid(
      entry,
      `"${written}", which leads out of the manifest's folder`,
      'a path inside it',
      'move the file, or pass --anywhere if you trust the manifest',
    );
  }
  return path;
}

function nameOf(entries: Record<string, unknown>, written: string, entry: string): string {
  const name =
    entries.name === undefined
      ? basename(written, extname(written))
      : text(entries.name, `${entry}.name`);
  // A name becomes a file name on any system.
  if (!/^[\p{L}\p{N}_][\p{L}\p{M}\p{N} ._-]{0,99}$/u.test(name) || /[. ]$/.test(name)) {
    throw invalid(
      `${entry}.name`,
      shown(name),
      'up to 100 letters, digits, blanks, dots, hyphens and underscores, beginning with a letter or digit',
    );
  }
  const bytes = Buffer.byteLength(name);
  if (bytes > LONGEST_NAME) {
    throw invalid(
      `${entry}.name`,
      `${shown(name)}, which takes ${bytes} bytes`,
      `at most ${LONGEST_NAME} bytes, so that the names of its results fit on a disk`,
      'give the clip a shorter "name"',
    );
  }
  if (DEVICES.test(name)) {
    throw invalid(`${entry}.name`, shown(name), 'a name that stands for no device on some systems');
  }
  return name;
}

/** File names end at 255 bytes on most systems; the longest ending of ours, `.opentrackio.jsonl`, takes 18. */
const LONGEST_NAME = 236;

/** Reserved on Windows with any ending (Microsoft, "Naming Files, Paths, and Namespaces"). */
const DEVICES = /^(?:con|prn|aux|nul|(?:com|lpt)[0-9\u00b9\u00b2\u00b3])(?: *\.|$)/i;

/**
 * Two clips of one name would write over each other; some systems do not tell cases apart, or
 * letters with accents from letters and accents.
 */
function refuseTwins(clips: readonly ShootClip[]): void {
  const seen = new Map<string, number>();
  clips.forEach(({ name }, k) => {
    const key = name.normalize('NFC').toLowerCase();
    const other = seen.get(key);
    if (other !== undefined) {
      throw invalid(
        `clips[${k}].name`,
        `the name "${name}" of clips[${other}] again`,
        'names that differ by more than capitals',
        'give one of them another "name"',
      );
    }
    seen.set(key, k);
  });
}

function record(value: unknown, entry: string): Record<string, unknown> {
  if (value === null || typeof value !== 'object' || Array.isArray(value)) {
    throw invalid(entry, shown(value), 'an object');
  }
  return value as Record<string, unknown>;
}

function text(value: unknown, entry: string): string {
  if (typeof value === 'string' && value !== '' && !value.includes('\0')) return value;
  throw invalid(entry, shown(value), 'a text');
}

function refuseUnknown(
  entries: Record<string, unknown>,
  known: readonly string[],
  prefix: string,
): void {
  const unknown = Object.keys(entries).find((name) => !known.includes(name));
  if (unknown === undefined) return;
  throw invalid(`${prefix}${unknown}`, 'an unknown entry', `one of ${known.join(', ')}`);
}

function shown(value: unknown): string {
  if (value === undefined) return 'nothing';
  // Whole objects say little in a sentence, and may nest deeper than they can be written.
  if (Array.isArray(value)) return value.length === 0 ? 'an empty list' : 'a list';
  return typeof value === 'object' && value ? 'an object' : JSON.stringify(value).slice(0, 60);
}

function invalid(
  entry: string,
  found: string,
  expected: string,
  remedy = 'correct the manifest',
): TwinkeelError {
  return new TwinkeelError('manifest/invalid', { column: `"${entry}"`, found, expected, remedy });
}
