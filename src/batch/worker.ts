/** What a worker of the pool does: one clip of a shoot at a time. */
import { basename } from 'node:path';
import { isTwinkeelError, TwinkeelError } from '../error.js';
import { fileHash } from '../files/fileHash.js';
import { regularSize } from '../files/readFile.js';
import { writeFiles } from '../files/writeFiles.js';
import { entryNameOf } from './checkSettings.js';
import { clipHash } from './clipHash.js';
import { finishedRecord, recordPath } from './clipRecord.js';
import { loadSettings } from './clipSettings.js';
import { correctClip } from './correctClip.js';
import type { ShootClip } from './manifest.js';
import { namedFiles } from './settings.js';
import type { ClipSummary } from './summary.js';
import { UsageError } from './usage.js';

/** One clip and where its results go. */
export interface ShootJob {
  readonly clip: ShootClip;
  readonly folder: string;
  readonly release: string;
  readonly force: boolean;
  /** Of the run, for the names of unfinished files. */
  readonly mark: string;
  /** Do it again even where it is finished. */
  readonly fresh: boolean;
}

/** What became of the job, and whether it had been finished before. */
export interface JobOutcome {
  readonly summary: ClipSummary;
  readonly kept: boolean;
}

export default async function runJob(job: ShootJob): Promise<JobOutcome> {
  const { clip, folder } = job;
  const { name, written: file } = clip;
  try {
    for (const path of [clip.file, ...namedFiles(clip.settings)]) requireRegular(path);
    const inputs = clipHash(clip.file, clip.settings, job.release);
    const finished = job.fresh ? undefined : finishedRecord(folder, name, inputs);
    if (finished) return { kept: true, summary: { ...finished, name, file } };
    const loaded = await loadSettings(clip.settings, entryNameOf);
    const { force, mark } = job;
    const { result, paths } = await correctClip(
      // A run that was stopped between results and record left results without one.
      { file: clip.file, folder, stem: name, settings: clip.settings, force, same: true, mark },
      loaded,
    );
    const hashes = paths.map(fileHash);
    const { verdict, reasons, shot, confidence } = result;
    const outputs = Object.fromEntries(paths.map((path, k) => [basename(path), hashes[k]!]));
    const summary: ClipSummary = {
      name,
      file,
      ok: true,
      verdict,
      reasons,
      shot,
      confidence,
      inputs,
      outputs,
    };
    const content = `${JSON.stringify(summary)}\n`;
    writeFiles([{ path: recordPath(folder, name), content }], { force: true, mark });
    return { kept: false, summary };
  } catch (error) {
    return { kept: false, summary: { name, file, ok: false, ...complaintOf(error, clip) } };
  }
}

/** Refuses pipes and devices: a worker that waits for one could not be stopped. */
function requireRegular(file: string): void {
  if (regularSize(file) !== undefined) return;
  throw new TwinkeelError('file/missing', {
    file,
    found: 'a pipe or a device',
    expected: 'a regular file',
    remedy: 'save what it gives to a file first',
  });
}

/** The code and the sentence of an error; what is not ours would be a defect, and says so. */
function complaintOf(error: unknown, clip: ShootClip): { code: string; message: string } {
  const file = clip.written;
  if (isTwinkeelError(error)) {
    const { message, place } = error;
    // As the manifest writes it: the same sentence wherever the shoot is mounted.
    const named =
      place.file === undefined ? `${file}: ${message}` : message.replace(clip.file, () => file);
    return { code: error.code, message: named };
  }
  if (error instanceof UsageError) {
    return { code: 'manifest/invalid', message: `${file}: ${error.message}` };
  }
  const { message } = error as Error;
  return { code: 'unexpected', message: `${file}: ${message}; this is a defect, please report it` };
}
