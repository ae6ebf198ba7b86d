import { setMaxListeners } from 'node:events';
import { mkdirSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { join } from 'node:path';
import type { Tinypool } from 'tinypool';
import { TwinkeelError } from '../error.js';
import { fileHash } from '../files/fileHash.js';
import { newMark } from '../files/partials.js';
import { unwritable } from '../files/placeErrors.js';
import { tidyFolder } from '../files/tidyFolder.js';
import { resultPaths, writeFiles } from '../files/writeFiles.js';
import { recordPath } from './clipRecord.js';
import type { ManifestOptions, Shoot, ShootClip } from './manifest.js';
import { release } from './release.js';
import { spareInputs } from './resultPlaces.js';
import { namedFiles } from './settings.js';
import { type ClipSummary, type Summary, summaryName, summaryOf, summaryText } from './summary.js';
import type { JobOutcome, ShootJob } from './worker.js';

/** How to do a shoot. */
export interface ShootOptions extends ManifestOptions {
  /** Where the results go; made where it does not exist. */
  readonly folder: string;
  /** Clips at the same time; default: one per processor, at most as many as there are clips. */
  readonly jobs?: number;
  /** Do every n-th clip only, beginning with the k-th (from 1). */
  readonly shard?: {
    /** k, from 1 to n. */
    readonly index: number;
    /** n. */
    readonly count: number;
  };
  /** Replace results of other settings or of another hand. */
  readonly force?: boolean;
  /** Do finished clips again. */
  readonly fresh?: boolean;
  /** Memory that each worker may take for its data, MB; default: what Node gives. */
  readonly workerMemoryMb?: number;
  /** Told after every clip. */
  readonly onClip?: (summary: ClipSummary, done: number, total: number, kept: boolean) => void;
  /** Ends the work; clips that are done stay. */
  readonly signal?: AbortSignal;
}

/**
 * Corrects every clip of a manifest, several at a time. One that fails, or whose worker dies, does
 * not stop the others; one that was finished before is kept. Results are the same bytes on any
 * number of workers.
 *
 * @param path - of the manifest; its schema is docs/schema/shoot.schema.json
 * @param options - where to, how many at a time, which share
 * @returns what became of each clip, also written to `shoot.summary.json` (with a shard,
 *   `shoot.summary.K-of-N.json`)
 * @throws TwinkeelError for the manifest itself or an unwritable folder; the signal's reason when it
 *   was aborted
 * @example
 * const clips = [{ file: 'aisle.csv' }];
 * const manifest = JSON.stringify({ format: 'twinkeel-shoot', version: 1, clips });
 * writeFiles([{ path: `${folder}/aisle.csv`, content: csv }]);
 * writeFiles([{ path: `${folder}/night.json`, content: manifest }]);
 * const night = await correctShoot(`${folder}/night.json`, { folder: `${folder}/corrected` });
 * night.clips[0]!.ok; // true
 */
export async function correctShoot(path: string, options: ShootOptions): Promise<Summary> {
  const { folder, shard = { index: 1, count: 1 }, signal } = options;
  checkShard(shard);
  // Loaded by who has a shoot to do, and not by everyone who reads a file.
  const [{ readManifest }, { Tinypool }] = await Promise.all([
    import('./manifest.js'),
    import('tinypool'),
  ]);
  const shoot = readManifest(path, options);
  const manifest = fileHash(path);
  const mine = shoot.clips
    .map((clip, place) => ({ clip, place }))
    .filter(({ place }) => place % shard.count === shard.index - 1);
  const summaryPath = join(folder, summaryName(shard));
  spareShoot(shoot, folder, summaryPath);
  makeFolder(folder);
  const mark = newMark();
  // First what a run that was killed left half done.
  tidyFolder(folder);
  const workers = Math.max(1, Math.min(options.jobs ?? availableParallelism(), mine.length));
  const pool = new Tinypool({
    filename: new URL('../../dist/command/worker.js', import.meta.url).href,
    minThreads: 1,
    maxThreads: workers,
    ...(options.workerMemoryMb !== undefined && {
      resourceLimits: { maxOldGenerationSizeMb: options.workerMemoryMb },
    }),
  });
  // Every clip listens, which on a signal of one's own is no sign of a leak.
  const stop = new AbortController();
  setMaxListeners(0, stop.signal);
  const onAbort = () => stop.abort(signal?.reason);
  signal?.addEventListener('abort', onAbort, { once: true });
  if (signal?.aborted) onAbort();
  let done = 0;
  try {
    const clips = await Promise.all(
      mine.map(async ({ clip, place }) => {
        const { summary, kept } = await attempt(pool, jobOf(clip, options, mark), stop.signal);
        done++;
        options.onClip?.(summary, done, mine.length, kept);
        return { ...summary, place };
      }),
    );
    stop.signal.throwIfAborted();
    const summary = summaryOf(manifest, shoot.clips.length, clips);
    writeFiles([{ path: summaryPath, content: summaryText(summary) }], { force: true });
    return summary;
  } finally {
    signal?.removeEventListener('abort', onAbort);
    // What goes wrong here would hide what went wrong before, or spoil what went well.
    await pool.destroy().catch(() => {});
    tidyFolder(folder, mark);
  }
}

function checkShard({ index, count }: NonNullable<ShootOptions['shard']>): void {
  if (Number.isInteger(index) && Number.isInteger(count) && index >= 1 && index <= count) return;
  throw new TwinkeelError('argument/invalid', {
    found: `share ${index} of ${count}`,
    expected: 'a share from 1 to their number',
    remedy: 'correct the share',
  });
}

function jobOf(clip: ShootClip, { folder, force, fresh }: ShootOptions, mark: string): ShootJob {
  return { clip, folder, mark, release: release(), force: force === true, fresh: fresh === true };
}

/** Runs a job; a worker that dies (of memory, mostly) fails its clip and no other. */
async function attempt(pool: Tinypool, job: ShootJob, signal: AbortSignal): Promise<JobOutcome> {
  signal.throwIfAborted();
  try {
    return (await pool.run(job, { signal })) as JobOutcome;
  } catch (error) {
    signal.throwIfAborted();
    const { name, written: file } = job.clip;
    const message = `${file}: found a worker that died (${(error as Error).message}), expected it to finish the clip; try again with fewer --jobs, or split the recording.`;
    return { kept: false, summary: { name, file, ok: false, code: 'batch/worker', message } };
  }
}

/** Refuses a folder in which a result, a record or the summary would replace what a clip reads. */
function spareShoot({ path, clips }: Shoot, folder: string, summaryPath: string): void {
  const written = clips.flatMap(({ name }) => [
    ...resultPaths(folder, name),
    recordPath(folder, name),
  ]);
  const read = clips.flatMap(({ file, settings }) => [file, ...namedFiles(settings)]);
  spareInputs([...written, summaryPath], [path, ...read]);
}

function makeFolder(folder: string): void {
  try {
    mkdirSync(folder, { recursive: true });
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    throw unwritable(folder, `a place where no folder can be made (${code})`);
  }
}
