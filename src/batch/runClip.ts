import { basename } from 'node:path';
import type { CorrectionResult } from '../correct.js';
import { fileHash } from '../files/fileHash.js';
import { regularSize } from '../files/readFile.js';
import { writeFiles } from '../files/writeFiles.js';
import { clipHash } from './clipHash.js';
import { finishedRecord, recordPath } from './clipRecord.js';
import type { LoadedSettings } from './clipSettings.js';
import { type ClipJob, type CorrectedClip, correctClip } from './correctClip.js';
import { release } from './release.js';
import { namedFiles } from './settings.js';
import type { ClipSummary } from './summary.js';

/** One clip, who calls it what, and whether to do it again. */
export interface ClipRun extends Omit<ClipJob, 'same'> {
  /** The file as it was written in the call or the manifest. */
  readonly written: string;
  /** Do it again even where it is finished. */
  readonly fresh: boolean;
  /** Of twinkeel; asked for when left out. */
  readonly release?: string;
}

/** What became of a run: a record of what was done before, or a clip. */
export type RunOutcome =
  | { readonly kept: true; readonly summary: ClipSummary & { readonly ok: true } }
  | {
      readonly kept: false;
      readonly summary: ClipSummary & { readonly ok: true };
      readonly clip: CorrectedClip;
    };

/**
 * Corrects a clip unless its results are there already, made from the same by the same release. The
 * record of that is written last.
 *
 * @param load - what {@link loadSettings} makes of the settings; not called for a clip that is kept
 * @throws TwinkeelError naming the file and what is wrong with it
 */
export async function runClip(
  run: ClipRun,
  load: () => Promise<LoadedSettings>,
): Promise<RunOutcome> {
  const { file, folder, stem, settings, fresh, written } = run;
  const inputs = clipHash(file, settings, run.release ?? release());
  const finished = fresh ? undefined : finishedRecord(folder, stem, inputs);
  if (finished) return { kept: true, summary: { ...finished, name: stem, file: written } };
  // A run that was stopped between results and record left results without one.
  const clip = await correctClip({ ...run, same: true }, await load());
  const outputs = clip.paths.map((path) => [basename(path), fileHash(path)]);
  const summary = {
    name: stem,
    file: written,
    ok: true,
    ...judgementOf(clip.result),
    inputs,
    outputs: Object.fromEntries(outputs) as Record<string, string>,
  } as const;
  const content = `${JSON.stringify(summary)}\n`;
  const mark = run.mark === undefined ? {} : { mark: run.mark };
  writeFiles([{ path: recordPath(folder, stem), content }], { force: true, ...mark });
  return { kept: false, summary, clip };
}

function judgementOf({ verdict, reasons, shot, confidence }: CorrectionResult) {
  return { verdict, reasons, shot, confidence };
}

/** Whether a clip can be told from another by its content: a pipe cannot be read twice. */
export function isRecordable({ file, settings }: Pick<ClipRun, 'file' | 'settings'>): boolean {
  return [file, ...namedFiles(settings)].every((path) => regularSize(path) !== undefined);
}
