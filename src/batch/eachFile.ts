import { basename } from 'node:path';
import { errorInFile, isTwinkeelError, printable, type TwinkeelError } from '../error.js';
import { Progress } from './progress.js';
import { type Options, UsageError } from './usage.js';

/** What happened to each file, for people and for machines. */
export interface Report {
  readonly file: string;
  readonly ok: boolean;
  readonly lines: readonly string[];
  readonly data: unknown;
  /** Whether it had been done before, and was left as it is. */
  readonly kept?: boolean;
}

/** What the work on one file gives. */
export type Outcome = Omit<Report, 'file' | 'ok'>;

/**
 * Runs the same work on every file; one that fails does not stop the others.
 *
 * @param ending - what to say to a person once all are done
 */
export async function eachFile(
  files: readonly string[],
  options: Options,
  work: (file: string) => Promise<Outcome>,
  ending: (reports: readonly Report[]) => readonly string[] = () => [],
): Promise<number> {
  if (files.length === 0) throw new UsageError('no file was given');
  const reports: Report[] = [];
  const progress = files.length > 1 ? new Progress() : undefined;
  for (const file of files) {
    const report = await attempt(file, work);
    reports.push(report);
    progress?.clear();
    tell(report, options);
    progress?.tell(basename(file), report.kept === true, files.length);
  }
  if (options.json !== true) for (const line of ending(reports)) print(line);
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
  if (!ok) process.stderr.write(`twinkeel: ${printable(lines.join('\n'))}\n`);
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

/** A line on standard output. */
export function print(line: string): void {
  process.stdout.write(`${printable(line)}\n`);
}
