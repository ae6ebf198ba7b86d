import { createHash } from 'node:crypto';
import {
  closeSync,
  existsSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readdirSync,
  readFileSync,
  readSync,
  renameSync,
  rmdirSync,
  rmSync,
} from 'node:fs';
import { basename, dirname, extname, join } from 'node:path';
import { TwinkeelError } from '../error.js';
import type { Movie } from '../files/movie.js';
import { writeFiles } from '../files/writeFiles.js';

/** Where a movie is made, piece by piece, until it is whole. */
export interface SegmentFolder {
  readonly path: string;
  /** What was found: nothing, whole segments of the same job, or those of another. */
  readonly found: 'nothing' | 'same' | 'other';
  /** Whether a segment is whole. */
  readonly has: (segment: number) => boolean;
  /** Name that a segment bears while it is written; no other run takes it. */
  readonly unfinished: (segment: number) => string;
  /** Makes a segment whole: flushed to disk, then renamed. */
  readonly keep: (segment: number) => void;
  /** Name of a whole segment. */
  readonly nameOf: (segment: number) => string;
  /** Name that the joined movie bears until it is moved away. */
  readonly joined: string;
  /** Takes away what this run was writing, and the folder if nothing whole is in it. */
  readonly tidy: () => void;
  /** Takes the folder away. */
  readonly remove: () => void;
}

const PLAN = 'plan.json';

/** The folder beside a movie that is to be made. */
export function segmentFolderPath(out: string): string {
  return join(dirname(out), `.${basename(out)}.twinkeel-part`);
}

/**
 * Opens the working folder of a movie. Segments of the same job are kept; those of any other (a
 * changed movie, other corrections, other options) are thrown away, since half of each would look
 * like one.
 *
 * @param fingerprint - of everything that the bytes of a segment follow from
 * @throws TwinkeelError `file/unwritable`
 */
export function openSegmentFolder(out: string, fingerprint: string): SegmentFolder {
  const path = segmentFolderPath(out);
  const ending = extname(out);
  const own = `.${process.pid}-${Date.now().toString(36)}.part`;
  const nameOf = (segment: number) => `segment-${String(segment).padStart(5, '0')}${ending}`;
  const found = lookInto(path, fingerprint);
  try {
    if (found === 'other') removeOurs(path);
    mkdirSync(path, { recursive: true });
    // What a killed run was writing; an encoder that outlived it writes on into nowhere.
    for (const name of readdirSync(path)) {
      const writer = UNFINISHED.exec(name)?.[1];
      if (writer && !runs(Number(writer))) rmSync(join(path, name), { force: true });
    }
  } catch (error) {
    throw unwritable(path, error);
  }
  if (found !== 'same') {
    const content = `${JSON.stringify({ format: 'twinkeel-resample', version: 1, fingerprint })}\n`;
    writeFiles([{ path: join(path, PLAN), content }], { force: true });
  }
  const unfinished = (segment: number) =>
    `${nameOf(segment).slice(0, -ending.length)}${own}${ending}`;
  const whole = (name: string) => WHOLE.test(name);
  return {
    path,
    found,
    nameOf,
    joined: `joined${own}${ending}`,
    unfinished,
    has: (segment) => existsSync(join(path, nameOf(segment))),
    keep: (segment) => {
      try {
        flush(join(path, unfinished(segment)));
        renameSync(join(path, unfinished(segment)), join(path, nameOf(segment)));
      } catch (error) {
        throw unwritable(path, error);
      }
    },
    tidy: () => {
      const names = existsSync(path) ? readdirSync(path) : [];
      for (const name of names) if (name.includes(own)) rmSync(join(path, name), { force: true });
      if (!names.some(whole)) removeOurs(path);
    },
    remove: () => removeOurs(path),
  };
}

/** Segments, whole and not; the joined movie and its list; our plan. Nothing else is ours. */
const WHOLE = /^segment-\d{5}\.\w+$/;
const UNFINISHED = /^(?:segment-\d{5}|joined)\.(\d+)-\w+\.part\.\w+$/;
const OURS = (name: string) =>
  WHOLE.test(name) || UNFINISHED.test(name) || [PLAN, 'list.ffconcat'].includes(name);

function lookInto(path: string, fingerprint: string): SegmentFolder['found'] {
  if (!existsSync(path)) return 'nothing';
  try {
    const plan = JSON.parse(readFileSync(join(path, PLAN), 'utf8')) as { fingerprint?: unknown };
    return plan.fingerprint === fingerprint ? 'same' : 'other';
  } catch {
    // No plan, or one that was cut off: nobody can say what the segments are of.
    return 'other';
  }
}

/** Whether a process is there: another run may be at the same movie. */
function runs(id: number): boolean {
  try {
    return process.kill(id, 0);
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}

/** Begins the name of the movie that is only tried. */
export const REHEARSAL = 'rehearsal';

function removeOurs(path: string): void {
  if (!existsSync(path)) return;
  for (const name of readdirSync(path)) {
    if (name.startsWith(`.${REHEARSAL}.`)) removeOurs(join(path, name));
    if (OURS(name)) rmSync(join(path, name), { force: true });
  }
  try {
    rmdirSync(path);
  } catch {
    // Someone has put something of his own into it: that stays.
  }
}

function flush(path: string): void {
  const descriptor = openSync(path, 'r+');
  try {
    fsyncSync(descriptor);
  } finally {
    closeSync(descriptor);
  }
}

function unwritable(file: string, error: unknown): TwinkeelError {
  return new TwinkeelError('file/unwritable', {
    file,
    found: `a place that cannot be written (${(error as NodeJS.ErrnoException).code ?? error})`,
    expected: 'a writable folder with room',
    remedy: 'choose another folder',
  });
}

/**
 * Tells a movie from any other and from itself after a change, without reading it whole: size, time
 * of the change, and its first and last mebibyte.
 */
export function movieFingerprint({ path, stamp, stamps }: Movie): string {
  const hash = createHash('sha256').update(JSON.stringify(stamp));
  hash.update(new Uint8Array(stamps.buffer, stamps.byteOffset, stamps.byteLength));
  const descriptor = openSync(path, 'r');
  try {
    const bytes = new Uint8Array(Math.min(stamp.sizeBytes, 2 ** 20));
    for (const place of [0, stamp.sizeBytes - bytes.length]) {
      const length = readSync(descriptor, bytes, 0, bytes.length, place);
      hash.update(bytes.subarray(0, length));
    }
  } finally {
    closeSync(descriptor);
  }
  return hash.digest('hex');
}
