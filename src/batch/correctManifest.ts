import { join } from 'node:path';
import { CAUTIONS } from '../comfort/cautions.js';
import { print } from './eachFile.js';
import { endTable, fatesOf, nextSteps } from './endTable.js';
import { Progress } from './progress.js';
import { optionOf, SETTING_NAMES } from './settings.js';
import { complainOfFailed, exitCodeOf, summaryName } from './summary.js';
import { countOf, type Options, requireOut, textOf, UsageError } from './usage.js';

/** A whole shoot: several clips at a time, one table at the end, and a summary. */
export async function correctManifest(path: string, options: Options): Promise<number> {
  const setting = SETTING_NAMES.find((key) => options[optionOf(key)] !== undefined);
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
  const before = new Set<string>();
  const progress = new Progress();
  try {
    const summary = await correctShoot(path, {
      folder,
      ...(jobs !== undefined && { jobs }),
      ...(shard && { shard }),
      force: options.force === true,
      fresh: options.fresh === true,
      anywhere: options.anywhere === true,
      signal: interrupt.signal,
      onClip: ({ name }, _done, total, kept) => {
        if (kept) before.add(name);
        progress.tell(name, kept, total);
      },
    });
    const fates = fatesOf(summary.clips, (name) => before.has(name));
    if (options.json === true) print(JSON.stringify(summary));
    else {
      const wrote = `wrote ${join(folder, summaryName(shard))} and the results of each clip`;
      const lines = [
        ...endTable(fates),
        '',
        wrote,
        ...nextSteps(fates, folder, shard),
        ...CAUTIONS,
      ];
      for (const line of lines) print(line);
    }
    // On a terminal the table has just said it.
    const said = options.json !== true && process.stdout.isTTY && process.stderr.isTTY;
    return said ? exitCodeOf(summary.clips) : complainOfFailed(summary.clips);
  } catch (error) {
    if (!(error instanceof Interrupted)) throw error;
    progress.clear();
    process.stderr.write('twinkeel: stopped; clips that were done are kept, run again to go on\n');
    return 130;
  } finally {
    process.off('SIGINT', onSignal).off('SIGTERM', onSignal);
  }
}

class Interrupted extends Error {}

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
