import { linkSync, readFileSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { basename, dirname, isAbsolute, join, normalize } from 'node:path';
import { threadId } from 'node:worker_threads';
import { TwinkeelError } from '../error.js';
import { cleanUp } from './cleanUp.js';
import { HOST, isRunning, newMark, ownerOf, partialBeside } from './partials.js';

/** Held while files that belong together take their places. */
const LOCK = '.twinkeel.lock';

/** How long another run may hold it before this one gives up, and how often it looks, ms. */
const PATIENCE_MS = 10_000;
const LOOK_MS = 20;

/** One file's way to its place, as paths below the folder. */
export interface Move {
  /** The file, written and flushed. */
  readonly from: string;
  /** Its place. */
  readonly to: string;
  /** What stood there, kept until all are in place. */
  readonly former: string;
}

/** What stands in a lock: whose it is, and what whoever finds it abandoned has to finish. */
interface LockNote {
  readonly pid: number;
  readonly host: string;
  /** When the process began: numbers of processes repeat. */
  readonly started: number;
  readonly thread: number;
  readonly mark: string;
  readonly moves: readonly Move[];
}

const STARTED = Math.round(performance.timeOrigin);

/**
 * Takes the lock of a folder: waits while another run puts its files in place, and finishes what an
 * abandoned lock left half done.
 *
 * @param moves - what is going to be done under it, so that others can finish it
 * @returns gives the lock back
 * @throws TwinkeelError `file/locked` when it is held for more than 10 s; errors of the file system
 */
export function lockFolder(folder: string, mark: string, moves: readonly Move[]): () => void {
  const path = join(folder, LOCK);
  const own: LockNote = {
    ...{ pid: process.pid, host: HOST, started: STARTED, thread: threadId, mark, moves },
  };
  const text = JSON.stringify(own);
  const started = Date.now();
  while (!tryToTake(path, mark, text)) {
    const held = readLock(path);
    const waited = Date.now() - started;
    // One that nobody finished writing was left by a run that was killed while it did.
    if (held && (isAbandoned(held.note) || (!held.note && waited > PATIENCE_MS))) {
      finish(folder, held);
      continue;
    }
    if (waited > PATIENCE_MS) throw locked(path, held?.note);
    Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, LOOK_MS);
  }
  return () => void cleanUp(() => rmSync(path, { force: true }));
}

/** Finishes what a run left half done, where there is one: no longer there, or marked as one's own. */
export function finishAbandoned(folder: string, mark?: string): void {
  cleanUp(() => {
    const held = readLock(join(folder, LOCK));
    const own = held?.note?.pid === process.pid && held.note.mark === mark;
    if (held && (own || isAbandoned(held.note))) finish(folder, held);
  });
}

/** Makes the lock with all that stands in it at once: a link to a file that is whole. */
function tryToTake(path: string, mark: string, text: string): boolean {
  const whole = partialBeside(path, mark, 'partial');
  try {
    writeFileSync(whole, Buffer.from(text), { flag: 'wx' });
    linkSync(whole, path);
    return true;
  } catch (error) {
    const { code, syscall } = error as NodeJS.ErrnoException;
    if (code === 'EEXIST') return false;
    if (syscall !== 'link') throw error;
    return takeWithoutLinks(path, text);
  } finally {
    cleanUp(() => rmSync(whole, { force: true }));
  }
}

/** Where the file system knows no links. */
function takeWithoutLinks(path: string, text: string): boolean {
  try {
    writeFileSync(path, Buffer.from(text), { flag: 'wx' });
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') return false;
    cleanUp(() => rmSync(path, { force: true }));
    throw error;
  }
}

interface Held {
  readonly text: string;
  /** Undefined while it is being written, or where it is none of ours. */
  readonly note: LockNote | undefined;
}

function readLock(path: string): Held | undefined {
  try {
    // As bytes: read as text, Node aborts the whole process where closing fails.
    const text = readFileSync(path).toString();
    return { text, note: noteOf(text) };
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return undefined;
    throw error;
  }
}

function noteOf(text: string): LockNote | undefined {
  try {
    const note = JSON.parse(text) as Partial<LockNote> | null;
    const sound =
      Number.isSafeInteger(note?.pid) &&
      note!.pid! > 0 &&
      typeof note!.host === 'string' &&
      Array.isArray(note!.moves) &&
      note!.moves.every(isMove);
    return sound ? (note as LockNote) : undefined;
  } catch {
    return undefined;
  }
}

/** Whether a lock's holder is known to be gone: dead, or this very thread, which holds none now. */
function isAbandoned(note: LockNote | undefined): boolean {
  if (note?.host !== HOST) return false;
  if (note.pid !== process.pid) return !isRunning(note.pid);
  return note.started !== STARTED || note.thread === threadId;
}

/** Puts in place what an abandoned lock names, and takes the lock away if it is still the same. */
function finish(folder: string, { text, note }: Held): void {
  const path = join(folder, LOCK);
  for (const { from, to, former } of note?.moves ?? []) {
    try {
      renameSync(join(folder, from), join(folder, to));
    } catch (error) {
      // It was in place already.
      if ((error as NodeJS.ErrnoException).code !== 'ENOENT') throw error;
    }
    cleanUp(() => rmSync(join(folder, former), { force: true }));
  }
  // Another run may have been quicker and hold a lock of its own by now: that one goes back.
  const aside = partialBeside(path, newMark(), 'partial');
  try {
    renameSync(path, aside);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return;
    throw error;
  }
  if (readLock(aside)?.text === text) cleanUp(() => rmSync(aside, { force: true }));
  else renameSync(aside, path);
}

/**
 * Whether a move stays inside the folder and moves a file that was being written: what stands in a
 * lock may be anyone's.
 */
function isMove(move: Partial<Move> | null): move is Move {
  const { from, to, former } = move ?? {};
  return (
    [from, to, former].every((path) => typeof path === 'string' && isInside(path)) &&
    dirname(from!) === dirname(to!) &&
    ownerOf(basename(from!)) !== undefined &&
    ownerOf(basename(former!)) !== undefined
  );
}

function isInside(path: string): boolean {
  return !isAbsolute(path) && !normalize(path).startsWith('..') && !path.includes('\0');
}

function locked(path: string, note: LockNote | undefined): TwinkeelError {
  const since = new Date(statSync(path, { throwIfNoEntry: false })?.mtimeMs ?? Date.now());
  return new TwinkeelError('file/locked', {
    file: path,
    found: `another run that writes into this folder (process ${note?.pid} on ${note?.host}, since ${since.toISOString()})`,
    expected: 'one run at a time',
    remedy: 'wait until it is done, or delete the lock if no such run is left',
  });
}
