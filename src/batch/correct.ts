import { join } from 'node:path';
import { CAUTIONS } from '../comfort/cautions.js';
import { printable } from '../error.js';
import { tidyFolder } from '../files/tidyFolder.js';
import { resultPaths } from '../files/writeFiles.js';
import { settingsFromOptions } from './checkSettings.js';
import { loadSettings } from './clipSettings.js';
import { correctClip } from './correctClip.js';
import { eachFile, print } from './eachFile.js';
import { isManifest } from './manifest.js';
import { refuseTwins, spareInputs, stemOf } from './resultPlaces.js';
import type { ClipSettings } from './settings.js';
import { type ClipSummary, complainOfFailed, summaryName } from './summary.js';
import { countOf, type Options, requireOut, textOf, UsageError } from './usage.js';
import { shootTable } from './words.js';

/** `twinkeel correct`: the main job. */
export async function correct(files: readonly string[], options: Options): Promise<number> {
  const settings = settingsFromOptions(options);
  const manifest = files.find(isManifest);
  if (manifest !== undefined) {
    if (files.length > 1) throw new UsageError(`${manifest} is a manifest; give it alone`);
    return correctManifest(manifest, settings, options);
  }
  const alone = ['jobs', 'shard', 'fresh', 'anywhere'].find((key) => options[key] !== undefined);
  if (alone !== undefined) throw new UsageError(`--${alone} goes with a manifest only`);
  const folder = requireOut(options);
  const loaded = await loadSettings(settings);
  tidyFolder(folder);
  const refuseTwin = refuseTwins();
  return eachFile(files, options, async (file) => {
    const stem = stemOf(file);
    refuseTwin(file, stem);
    spareInputs(resultPaths(folder, stem), files);
    const force = options.force === true;
    const { lines, data } = await correctClip({ file, folder, stem, settings, force }, loaded);
    return { lines: lines(), data: data() };
  });
}

/** A whole shoot: several clips at a time, a line for each, and a summary. */
async function correctManifest(
  path: string,
  settings: ClipSettings,
  options: Options,
): Promise<number> {
  const setting = Object.keys(settings)[0];
  if (setting !== undefined) {
    throw new UsageError(
      `with a manifest, "${setting}" belongs into it, to a clip or the defaults`,
    );
  }
  const folder = requireOut(options);
  const { correctShoot } = await import('./shoot.js');
  const interrupt = new AbortController();
  const onSignal = () => interrupt.abort(new Interrupted());
  process.once('SIGINT', onSignal).once('SIGTERM', onSignal);
  const jobs = countOf(options, 'jobs', 1);
  const shard = shardOf(options);
  try {
    const summary = await correctShoot(path, {
      folder,
      ...(jobs !== undefined && { jobs }),
      ...(shard && { shard }),
      force: options.force === true,
      fresh: options.fresh === true,
      anywhere: options.anywhere === true,
      signal: interrupt.signal,
      onClip: tellProgress,
    });
    if (options.json === true) print(JSON.stringify(summary));
    else {
      const wrote = `wrote ${join(folder, summaryName(shard))} and the results of each clip`;
      for (const line of [...shootTable(summary.clips), '', wrote, ...CAUTIONS]) print(line);
    }
    return complainOfFailed(summary.clips);
  } catch (error) {
    if (!(error instanceof Interrupted)) throw error;
    process.stderr.write('twinkeel: stopped; clips that were done are kept, run again to go on\n');
    return 130;
  } finally {
    process.off('SIGINT', onSignal).off('SIGTERM', onSignal);
  }
}

class Interrupted extends Error {}

/** A line on a terminal that each clip replaces; nothing where the output goes into a file. */
function tellProgress({ name }: ClipSummary, done: number, total: number, kept: boolean): void {
  if (!process.stderr.isTTY) return;
  process.stderr.write(
    `\r\x1b[K${done}/${total} ${printable(name)}${kept ? ' (done before)' : ''}`,
  );
  if (done === total) process.stderr.write('\r\x1b[K');
}

/** A share of a shoot from words such as `2/8`. */
function shardOf(options: Options): { index: number; count: number } | undefined {
  const words = textOf(options, 'shard');
  if (words === undefined) return undefined;
  const match = /^(\d{1,6})\/(\d{1,6})$/.exec(words);
  const [index, count] = [Number(match?.[1]), Number(match?.[2])];
  if (!(index >= 1 && index <= count)) {
    throw new UsageError(`--shard ${words} is no share such as 2/8`);
  }
  return { index, count };
}
