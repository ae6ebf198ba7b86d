import { basename, extname } from 'node:path';
import { invalid, text } from './manifestEntries.js';
import { shown, type WrongValue } from './settingKinds.js';

/** What a clip may be called, as a pattern for the schema too. */
export const CLIP_NAME = '^[\\p{L}\\p{N}_][\\p{L}\\p{M}\\p{N} ._-]{0,99}$';

/** File names end at 255 bytes on most systems; the longest ending of ours, `.opentrackio.jsonl`, takes 18. */
const LONGEST_NAME = 236;

/** Reserved on Windows with any ending (Microsoft, "Naming Files, Paths, and Namespaces"). */
const DEVICES = /^(?:con|prn|aux|nul|(?:com|lpt)[0-9\u00b9\u00b2\u00b3])(?: *\.|$)/i;

/** What is wrong with a name that is to become a file name on any system; nothing of most names. */
export function wrongName(name: string): WrongValue | undefined {
  if (!new RegExp(CLIP_NAME, 'u').test(name) || /[. ]$/.test(name)) {
    const expected =
      'up to 100 letters, digits, blanks, dots, hyphens and underscores, beginning with a letter or digit';
    return { found: shown(name), expected };
  }
  const bytes = Buffer.byteLength(name);
  if (bytes > LONGEST_NAME) {
    return {
      found: `${shown(name)}, which takes ${bytes} bytes`,
      expected: `at most ${LONGEST_NAME} bytes, so that the names of its results fit on a disk`,
      remedy: 'give the clip a shorter "name"',
    };
  }
  if (DEVICES.test(name)) {
    return { found: shown(name), expected: 'a name that stands for no device on some systems' };
  }
  return undefined;
}

/** The name of a clip: its own, or that of its file without the ending. */
export function clipName(own: unknown, file: string, entry: string): string {
  const name = own === undefined ? basename(file, extname(file)) : text(own, `${entry}.name`);
  const wrong = wrongName(name);
  if (wrong) throw invalid(`${entry}.name`, wrong.found, wrong.expected, wrong.remedy);
  return name;
}

/** The same for names that write over each other: some systems do not tell capitals or accents apart. */
export function nameKey(name: string): string {
  return name.normalize('NFC').toLowerCase();
}

/** Refuses two clips of one name, which would write over each other. */
export function refuseNamesakes(
  clips: readonly { readonly name: string; readonly entry: string }[],
): void {
  const seen = new Map<string, string>();
  for (const { name, entry } of clips) {
    const key = nameKey(name);
    const other = seen.get(key);
    if (other !== undefined) {
      throw invalid(
        `${entry}.name`,
        `the name "${name}" of ${other} again`,
        'names that differ by more than capitals',
        'give one of them another "name"',
      );
    }
    seen.set(key, entry);
  }
}
