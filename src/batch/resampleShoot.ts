import { existsSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { readResultFile } from '../files/readResultFile.js';
import { resultPaths, writeFiles } from '../files/writeFiles.js';
import { attempt, type Report } from './eachFile.js';
import { readManifest, type Shoot, type ShootClip } from './manifest.js';
import { planMovie, type ResampleMovieOptions } from './planMovie.js';
import { resampleMovie } from './resampleMovie.js';
import type { HowToResample } from './resampleOptions.js';
import { concludeShoot, dataOf, describeMade, progressTeller, tellClip } from './resampleWords.js';
import { spareInputs } from './resultPlaces.js';
import { type Options, requireOut, textOf, UsageError, wordOf } from './usage.js';

type ClipWithMovie = ShootClip & { readonly movie: string };

/**
 * Every clip of a manifest that names its movie, one after the other, each with all workers. One that
 * fails does not stop the others; one that was made before from the same is kept.
 */
export async function resampleShoot(
  path: string,
  options: Options,
  how: HowToResample,
  signal: AbortSignal,
): Promise<number> {
  const ofOne = ['result', 'frames', 'timecode', 'movie-starts'].find(
    (key) => options[key] !== undefined,
  );
  if (ofOne !== undefined) throw new UsageError(`--${ofOne} goes with one movie, not a manifest`);
  const results = textOf(options, 'results');
  if (results === undefined) {
    throw new UsageError('say where the results of "correct" lie: --results DIR');
  }
  const folder = requireOut(options);
  const look = how.proxyWidthPx !== undefined;
  const ending =
    wordOf(options, 'ending', ['mkv', 'mov', 'mp4'] as const) ?? (look ? 'mp4' : 'mkv');
  const shoot = readManifest(path, { anywhere: options.anywhere === true });
  const clips = shoot.clips.filter((clip): clip is ClipWithMovie => clip.movie !== undefined);
  if (clips.length === 0) {
    throw new UsageError(`${path} names no movie; give each clip its "movie"`);
  }
  const outOf = ({ name }: ShootClip) =>
    join(folder, `${name}.${look ? 'proxy' : 'steady'}.${ending}`);
  spareShoot(
    shoot,
    clips,
    results,
    clips.flatMap((clip) => [outOf(clip), recordOf(outOf(clip))]),
  );
  const reports: Report[] = [];
  for (const clip of shoot.clips) {
    if (clip.movie === undefined) {
      process.stderr.write(
        `twinkeel: ${clip.name} is left out: the manifest names no movie of it\n`,
      );
    }
  }
  for (const clip of clips) {
    signal.throwIfAborted();
    const report = await attempt(clip.movie, async () => {
      const result = readResultFile(resultPaths(results, clip.name)[1]);
      const out = outOf(clip);
      const job: ResampleMovieOptions = { ...how, movie: clip.movie, result, out, signal };
      if (await isMade(job)) {
        return { lines: [`${out} was made before`], data: { path: out, kept: true } };
      }
      const made = await resampleMovie({ ...job, onProgress: progressTeller(clip.name) });
      writeRecord(out, made.fingerprint);
      return { lines: describeMade(made), data: dataOf(made) };
    });
    tellClip(report, options);
    reports.push(report);
  }
  return concludeShoot(reports, options);
}

function spareShoot(
  shoot: Shoot,
  clips: readonly ClipWithMovie[],
  results: string,
  written: readonly string[],
): void {
  const read = clips.flatMap(({ name, file, movie }) => [
    file,
    movie,
    ...resultPaths(results, name),
  ]);
  spareInputs(written, [shoot.path, ...read]);
}

/** Stands beside a finished movie and says what it was made from; written last. */
const recordOf = (out: string) => `${out}.json`;
const FORMAT = 'twinkeel-resampled';

function writeRecord(out: string, fingerprint: string): void {
  const { size, mtimeMs } = statSync(out);
  const record = { format: FORMAT, version: 1, fingerprint, sizeBytes: size, changedMs: mtimeMs };
  const content = `${JSON.stringify(record)}\n`;
  writeFiles([{ path: recordOf(out), content }], { force: true });
}

/** Whether the movie is there, untouched, and was made from what it would be made from now. */
async function isMade(job: ResampleMovieOptions): Promise<boolean> {
  if (!existsSync(job.out) || !existsSync(recordOf(job.out))) return false;
  try {
    const record = JSON.parse(readFileSync(recordOf(job.out), 'utf8')) as Record<string, unknown>;
    const { size, mtimeMs } = statSync(job.out);
    if (record.sizeBytes !== size || record.changedMs !== mtimeMs) return false;
    const { fingerprint } = await planMovie({ ...job, force: true });
    return record.fingerprint === fingerprint;
  } catch (error) {
    if (error instanceof SyntaxError) return false;
    throw error;
  }
}
