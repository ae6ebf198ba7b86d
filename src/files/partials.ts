import { randomBytes } from 'node:crypto';
import { readdirSync, rmSync } from 'node:fs';
import { hostname } from 'node:os';
import { basename, dirname, join } from 'node:path';
import { cleanUp } from './cleanUp.js';

/** This machine in a file name. */
export const HOST = hostname()
  .replace(/[^\w-]/g, '-')
  .slice(0, 60);

/** Whoever stages files: what a run was writing is told from the files of another by its mark. */
export function newMark(): string {
  return randomBytes(4).toString('hex');
}

/** The stems of two names may differ late; the random part keeps them apart. */
const STEM_LENGTH = 20;

/**
 * A name for a file that is being written, beside the place it will go to: hidden, never as long as a
 * file system forbids, and saying whose it is: `.STEM.HOST-PID-MARK-RANDOM.partial`.
 *
 * @param end - `partial` for what is being written, `former` for what it will replace
 */
export function partialBeside(path: string, mark: string, end: 'partial' | 'former'): string {
  const stem = basename(path)
    .replace(/[^\w.-]/g, '')
    .replace(/^\.+/, '')
    .slice(0, STEM_LENGTH);
  const name = `.${stem}.${HOST}-${process.pid}-${mark}-${randomBytes(4).toString('hex')}.${end}`;
  return join(dirname(path), name);
}

const NAME = /^\..*\.([\w-]+)-(\d+)-([0-9a-f]{8})-[0-9a-f]{8}\.(?:partial|former)$/;

/** Whose file a name says it is; undefined for any other name. */
export function ownerOf(name: string): { host: string; pid: number; mark: string } | undefined {
  const match = NAME.exec(name);
  return match ? { host: match[1]!, pid: Number(match[2]), mark: match[3]! } : undefined;
}

/** Whether a process of this machine is running. */
export function isRunning(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    // It is there and belongs to somebody else.
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}

/**
 * Takes away what runs left that are over: files of processes of this machine that no longer run,
 * and those with a mark of one's own. Files of another machine or of a process that runs stay.
 */
export function removeAbandoned(folder: string, mark?: string): void {
  cleanUp(() => {
    for (const name of readdirSync(folder)) {
      const owner = ownerOf(name);
      if (!owner || owner.host !== HOST) continue;
      const own = owner.pid === process.pid && owner.mark === mark;
      if (own || !isRunning(owner.pid)) cleanUp(() => rmSync(join(folder, name), { force: true }));
    }
  });
}
