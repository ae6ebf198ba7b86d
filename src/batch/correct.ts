import { readResultFile } from '../files/readResultFile.js';
import { tidyFolder } from '../files/tidyFolder.js';
import { resultPaths } from '../files/writeFiles.js';
import { settingsFromOptions } from './checkSettings.js';
import { recordPath } from './clipRecord.js';
import { type LoadedSettings, loadSettings } from './clipSettings.js';
import { type CorrectedClip, correctClip, toldClip } from './correctClip.js';
import { correctManifest } from './correctManifest.js';
import { eachFile, type Outcome, type Report } from './eachFile.js';
import { type ClipFate, endTable, nextSteps } from './endTable.js';
import { isManifest } from './isManifest.js';
import { refuseTwins, spareInputs, stemOf } from './resultPlaces.js';
import { type ClipRun, isRecordable, runClip } from './runClip.js';
import { type Options, requireOut, UsageError } from './usage.js';

/** `twinkeel correct`: the main job. */
export async function correct(files: readonly string[], options: Options): Promise<number> {
  const manifest = files.find(isManifest);
  if (manifest !== undefined) {
    if (files.length > 1) throw new UsageError(`${manifest} is a manifest; give it alone`);
    return correctManifest(manifest, options);
  }
  const settings = settingsFromOptions(options);
  const alone = ['jobs', 'shard', 'anywhere'].find((key) => options[key] !== undefined);
  if (alone !== undefined) throw new UsageError(`--${alone} goes with a manifest only`);
  const folder = requireOut(options);
  const loaded = await loadSettings(settings);
  tidyFolder(folder);
  const refuseTwin = refuseTwins();
  const fates = new Map<string, ClipFate>();
  const work = async (file: string): Promise<Outcome> => {
    const stem = stemOf(file);
    refuseTwin(file, stem);
    spareInputs([...resultPaths(folder, stem), recordPath(folder, stem)], files);
    const how = { force: options.force === true, fresh: options.fresh === true };
    const run = { file, written: file, folder, stem, settings, ...how };
    const { clip, kept } = await finish(run, loaded);
    const { verdict, reasons } = clip.result;
    fates.set(file, { name: stem, state: kept ? 'kept' : 'done', verdict, reasons });
    return { kept, lines: clip.lines(), data: { ...clip.data(), kept } };
  };
  return eachFile(files, options, work, (reports) => {
    if (reports.length === 1) return [];
    const all = reports.map((report) => (report.ok ? fates.get(report.file)! : failed(report)));
    return [...endTable(all), '', ...nextSteps(all, folder)];
  });
}

/** One clip of a call, corrected now or before. */
async function finish(
  run: ClipRun,
  loaded: LoadedSettings,
): Promise<{ readonly clip: CorrectedClip; readonly kept: boolean }> {
  if (!isRecordable(run)) return { kept: false, clip: await correctClip(run, loaded) };
  const outcome = await runClip(run, async () => loaded);
  if (!outcome.kept) return outcome;
  const paths = resultPaths(run.folder, run.stem);
  const result = readResultFile(paths[1]);
  return { kept: true, clip: toldClip(result, paths, 'kept', run.settings, loaded) };
}

function failed({ file, lines }: Report): ClipFate {
  return { name: stemOf(file), state: 'failed', message: lines.join('\n') };
}
