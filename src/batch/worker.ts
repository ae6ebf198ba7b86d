/** What a worker of the pool does: one clip of a shoot at a time. */
import { isTwinkeelError, TwinkeelError } from '../error.js';
import { regularSize } from '../files/readFile.js';
import { entryNameOf } from './checkSettings.js';
import { loadSettings } from './clipSettings.js';
import type { ShootClip } from './manifest.js';
import { runClip } from './runClip.js';
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
    const { force, mark, fresh } = job;
    const { kept, summary } = await runClip(
      {
        ...{ file: clip.file, folder, stem: name, written: file, settings: clip.settings },
        ...{ force, mark, fresh, release: job.release },
      },
      () => loadSettings(clip.settings, entryNameOf),
    );
    return { kept, summary };
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
