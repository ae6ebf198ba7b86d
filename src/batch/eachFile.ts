import { basename, extname } from 'node:path';
import { errorInFile, isTwinkeelError, TwinkeelError } from '../error.js';
import { realOf } from './realPath.js';
import { type Options, UsageError } from './usage.js';

/** What happened to each file, for people and for machines. */
export interface Report {
  readonly file: string;
  readonly ok: boolean;
  readonly lines: readonly string[];
  readonly data: unknown;
}

/** What the work on one file gives. */
export type Outcome = Omit<Report, 'file' | 'ok'>;

/** Runs the same work on every file; one that fails does not stop the others. */
export async function eachFile(
  files: readonly string[],
  options: Options,
  work: (file: string) => Promise<Outcome>,
): Promise<number> {
  if (files.length === 0) throw new UsageError('no file was given');
  const reports: Report[] = [];
  for (const file of files) {
    const report = await attempt(file, work);
    reports.push(report);
    tell(report, options);
  }
  return conclude(reports, options);
}

/** Runs the work on one file; an error of ours becomes a report that it failed. */
export async function attempt(
  file: string,
  work: (file: string) => Promise<Outcome>,
): Promise<Report> {
  try {
    return { file, ok: true, ...(await work(file)) };
  } catch (error) {
    if (!isTwinkeelError(error)) throw error;
    const { code, message } = errorInFile(error, file) as TwinkeelError;
    return { file, ok: false, lines: [message], data: { code, message } };
  }
}

/** Says what happened to one file: results on standard output, complaints on the other. */
export function tell({ file, ok, lines }: Report, options: Options): void {
  if (!ok) process.stderr.write(`twinkeel: ${lines.join('\n')}\n`);
  else if (options.json !== true) {
    print([file, ...lines.map((line) => `  ${line}`), ''].join('\n'));
  }
}

/** Ends a call: the answer for machines, and the exit code. */
export function conclude(reports: readonly Report[], options: Options): number {
  if (options.json === true) {
    print(JSON.stringify(reports.map(({ file, ok, data }) => ({ file, ok, ...(data as object) }))));
  }
  return reports.every(({ ok }) => ok) ? 0 : 1;
}

/** Refuses to write over anything that was read, by whatever way, whatever --force says. */
export function spareInputs(paths: readonly string[], read: readonly string[]): void {
  const inputs = new Set(read.map(realOf));
  const clash = paths.find((path) => inputs.has(realOf(path)));
  if (clash === undefined) return;
  throw new TwinkeelError('file/exists', {
    file: clash,
    found: 'an input of this call where the result would go',
    expected: 'another folder',
    remedy: 'inputs are never written over; choose another --out',
  });
}

/** Refuses a name that an earlier file of the call had: its results would lie in the same place. */
export function refuseTwins(): (file: string, stem: string) => void {
  const owners = new Map<string, string>();
  return (file, stem) => {
    const other = owners.get(stem);
    if (other !== undefined) {
      throw new TwinkeelError('file/exists', {
        file,
        found: `the name "${stem}" of ${other} again`,
        expected: 'files whose names differ',
        remedy: 'rename one, or write them to different folders',
      });
    }
    owners.set(stem, file);
  };
}

/** The name of the clip that a result file belongs to. */
export function clipNameOf(file: string): string {
  return stemOf(file).replace(/\.result$/, '');
}

/** The name of a file without folder and ending. */
export function stemOf(file: string): string {
  return basename(file, extname(file));
}

export function print(line: string): void {
  process.stdout.write(`${line}\n`);
}
