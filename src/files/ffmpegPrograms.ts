import { type ChildProcess, spawn } from 'node:child_process';
import { resolve } from 'node:path';
import { TwinkeelError } from '../error.js';

/** The user's own ffmpeg and ffprobe. */
export interface FfmpegPrograms {
  /** Name or path of ffmpeg. */
  readonly ffmpeg: string;
  /** Name or path of ffprobe. */
  readonly ffprobe: string;
  /** What ffmpeg calls itself: another version may encode other bytes. */
  readonly version: string;
}

/**
 * Makes sure that both programs are there and new enough.
 *
 * @param names - names or paths; default: `ffmpeg` and `ffprobe` on PATH
 * @throws TwinkeelError `movie/ffmpeg` when one is missing, does not run or is older than 5.1
 */
export async function findFfmpeg(
  names: { readonly ffmpeg?: string; readonly ffprobe?: string } = {},
): Promise<FfmpegPrograms> {
  const { ffmpeg = 'ffmpeg', ffprobe = 'ffprobe' } = names;
  const [version] = await Promise.all([versionOf(ffmpeg, 'ffmpeg'), versionOf(ffprobe, 'ffprobe')]);
  return { ffmpeg, ffprobe, version };
}

async function versionOf(program: string, kind: 'ffmpeg' | 'ffprobe'): Promise<string> {
  const { code, stdout } = await finished(start(program, ['-version'], {})).catch(() => ({
    code: -1,
    stdout: '',
  }));
  const line = stdout.split('\n')[0]!.trim();
  const remedy = `install ffmpeg 5.1 or newer, or say where it is: --${kind} PATH`;
  if (code !== 0 || !line.startsWith(`${kind} version`)) {
    throw new TwinkeelError('movie/ffmpeg', {
      found: `no ${kind} that runs as "${program}"`,
      expected: `${kind}, which reads and writes the movie`,
      remedy,
    });
  }
  // A version of a developer's build has another form, and is taken to be new.
  const [, major, minor] = / n?(\d+)\.(\d+)/.exec(line) ?? [];
  if (major !== undefined && Number(major) + Number(minor) / 100 < 5.01) {
    throw new TwinkeelError('movie/ffmpeg', {
      found: `${kind} ${major}.${minor} as "${program}"`,
      expected: `${kind} 5.1 or newer, which keeps every time stamp`,
      remedy,
    });
  }
  return line;
}

/** How a program is started. */
export interface StartOptions {
  /** Folder that relative names count from. */
  readonly cwd?: string;
  /** Whether it is fed through a pipe. */
  readonly fed?: boolean;
  /** Kills it. */
  readonly signal?: AbortSignal;
}

/** A program that runs, and what it has said so far. */
export interface Running {
  readonly child: ChildProcess;
  readonly sayings: Sayings;
  /** Its exit code (−1 when a signal ended it), once all pipes are closed; rejects when it did not start. */
  readonly ended: Promise<number>;
}

/**
 * Starts a program in a group of its own, so that Ctrl-C in a terminal reaches this process alone,
 * which then decides what stays.
 */
export function start(
  program: string,
  options: readonly string[],
  { cwd, fed = false, signal }: StartOptions,
): Running {
  const child = spawn(program, options, {
    stdio: [fed ? 'pipe' : 'ignore', 'pipe', 'pipe'],
    detached: true,
    windowsHide: true,
    ...(cwd !== undefined && { cwd }),
  });
  const onAbort = () => child.kill('SIGKILL');
  signal?.addEventListener('abort', onAbort, { once: true });
  if (signal?.aborted) onAbort();
  const sayings = new Sayings();
  child.stderr!.setEncoding('utf8').on('data', (text: string) => sayings.hear(text));
  const ended = new Promise<number>((done, fail) => {
    child.on('error', fail);
    child.on('close', (code) => {
      signal?.removeEventListener('abort', onAbort);
      sayings.end();
      done(code ?? -1);
    });
  });
  // Whoever awaits it sees the failure; until then it is no unhandled one.
  ended.catch(() => undefined);
  return { child, sayings, ended };
}

/** Everything a program prints, once it has ended. */
export async function finished({ child, ended }: Running): Promise<{
  code: number;
  stdout: string;
}> {
  const pieces: string[] = [];
  child.stdout!.setEncoding('utf8').on('data', (text: string) => pieces.push(text));
  const code = await ended;
  return { code, stdout: pieces.join('') };
}

/** The file names that ffmpeg takes literally, whatever characters they hold. */
export function literal(path: string): string {
  return `file:${resolve(path)}`;
}

/** What a program says on standard error, line by line; started with `-v level+…`. */
export class Sayings {
  /** Called with every line. */
  onLine: ((line: string) => void) | undefined;
  /** Called when nothing more will come. */
  onEnd: (() => void) | undefined;
  readonly #errors: string[] = [];
  readonly #last: string[] = [];
  #rest = '';

  hear(text: string): void {
    const lines = (this.#rest + text).split('\n');
    this.#rest = lines.pop()!;
    for (const line of lines) this.#take(line);
  }

  end(): void {
    if (this.#rest !== '') this.#take(this.#rest);
    this.#rest = '';
    this.onEnd?.();
  }

  /** The complaints, or where there were none the last words; cut, for a sentence. */
  get gist(): string {
    const lines = this.#errors.length > 0 ? this.#errors : this.#last;
    return lines.length === 0 ? 'it said nothing' : lines.join('; ').slice(-MOST_CHARACTERS);
  }

  /** Whether it complained at all. */
  get complained(): boolean {
    return this.#errors.length > 0;
  }

  #take(line: string): void {
    this.onLine?.(line);
    // [mov @ 0x55d0] [error] text
    const match = /^(?:\[[^\]]*\] )*\[(error|fatal|panic)\] (.*)$/.exec(line);
    const words = (match?.[2] ?? line.replace(/^(?:\[[^\]]*\] )+/, ''))
      .replace(/ --\s*$/, '')
      .trim();
    if (words === '') return;
    const list = match ? this.#errors : this.#last;
    if (list.at(-1) === words) return;
    list.push(words);
    if (list.length > MOST_LINES) list.shift();
  }
}

/** Of what a program says a sentence holds this much. */
const MOST_LINES = 3;
const MOST_CHARACTERS = 400;

/** The error for a program that failed. */
export function programFailed(
  doing: string,
  { sayings }: Pick<Running, 'sayings'>,
  place: { readonly file?: string; readonly remedy?: string } = {},
): TwinkeelError {
  const { file, remedy = 'see what it says; the movie is untouched' } = place;
  return new TwinkeelError('movie/ffmpeg', {
    ...(file !== undefined && { file }),
    found: `ffmpeg that failed ${doing} (${sayings.gist})`,
    expected: 'it to finish',
    remedy,
  });
}
