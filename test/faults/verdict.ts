import { createHash } from 'node:crypto';
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import type { Ended } from './call.js';

/** Every file below a folder by its path, with its fingerprint; unfinished ones apart. */
export interface State {
  readonly files: Readonly<Record<string, string>>;
  /** Files that begin with a dot: what was being written, and locks. */
  readonly hidden: readonly string[];
}

export function stateOf(folder: string): State {
  const names = (readdirSync(folder, { recursive: true }) as string[])
    .filter((name) => statSync(join(folder, name)).isFile())
    .sort();
  const isHidden = (name: string) => name.split('/').some((part) => part.startsWith('.'));
  const print = (name: string) =>
    createHash('sha256')
      .update(readFileSync(join(folder, name)))
      .digest('hex');
  return {
    files: Object.fromEntries(
      names.filter((name) => !isHidden(name)).map((name) => [name, print(name)]),
    ),
    hidden: names.filter(isHidden),
  };
}

/** Two lists of files that must change together: both old or both new. */
const PARTNERS = /\.(?:corrections\.csv|result\.json)$/;

/** A sentence of the command and nothing else. */
const SENTENCES = /^(?:twinkeel: [^\n]+\n)+$/;
const TRACE = /\n +at |Error:/;

/**
 * What is wrong with how a disturbed call ended, if anything: every file is as it was before or as a
 * good run leaves it, partners alike; the exit code says when one is missing; and there is one
 * sentence for it.
 *
 * @param ended - undefined where the process was killed
 * @param stays - whether the disk stayed broken, so that nothing could be cleaned
 */
export function complaintAbout(
  before: State,
  good: State,
  after: State,
  ended: Ended | undefined,
  stays: boolean,
): string | undefined {
  const unfinished = ended === undefined || stays;
  const changed: Record<string, string[]> = {};
  let missing = 0;
  for (const name of new Set([...Object.keys(good.files), ...Object.keys(after.files)])) {
    const [was, wanted, is] = [before.files[name], good.files[name], after.files[name]];
    // The summary of a shoot tells of failed clips.
    if (/shoot\.summary.*\.json$/.test(name) && is !== undefined && ended?.status === 1) continue;
    if (is !== wanted) missing++;
    if (is !== wanted && is !== was) return `${name} is neither as before nor as in a good run`;
    if (PARTNERS.test(name) && was !== wanted) {
      const stem = name.replace(PARTNERS, '');
      changed[stem] = [...(changed[stem] ?? []), is === wanted ? 'new' : 'old'];
    }
  }
  const torn = Object.entries(changed).find(([, all]) => new Set(all).size > 1);
  if (torn && !unfinished) return `half of ${torn[0]}`;
  if (!unfinished && after.hidden.length > 0) return `left ${after.hidden.join(', ')}`;
  if (!ended) return undefined;
  const { status, stderr } = ended;
  if (missing > 0 && status === 0) return `exit code 0 with ${missing} files missing`;
  if (TRACE.test(stderr)) return `a trace: ${stderr.slice(0, 300)}`;
  if (status !== 0 && !SENTENCES.test(stderr)) return `no sentence: ${stderr.slice(0, 200)}`;
  return undefined;
}
