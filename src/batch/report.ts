import { readFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { CAUTIONS } from '../comfort/cautions.js';
import { readResultFile } from '../files/readResultFile.js';
import { tidyFolder } from '../files/tidyFolder.js';
import { writeFiles } from '../files/writeFiles.js';
import { reportHtml } from '../report/html.js';
import { type ClipData, clipDataOf, type FailedClip, isFailed } from '../report/pageData.js';
import { verdictTable } from '../words/verdict.js';
import { attempt, conclude, print, type Report, tell } from './eachFile.js';
import { clipsOfSummary, isSummaryFile } from './reportSummary.js';
import { clipNameOf, spareInputs } from './resultPlaces.js';
import { type Options, textOf, UsageError } from './usage.js';

/** `twinkeel report`: one page to look at, and the verdicts in a table. */
export async function report(files: readonly string[], options: Options): Promise<number> {
  const path = textOf(options, 'out');
  if (path === undefined) throw new UsageError('say where to write: --out FILE.html');
  if (!/\.html?$/i.test(path)) throw new UsageError(`--out ${path} does not end in .html`);
  if (files.length === 0) throw new UsageError('no file was given');
  const clips: (ClipData | FailedClip)[] = [];
  const reports: Report[] = [];
  const take = (told: Report, name: string) => {
    reports.push(told);
    if (told.ok) return;
    tell(told, options);
    clips.push({ name, failed: told.lines.join('\n') });
  };
  const read = async (file: string, name: string) => {
    const told = await attempt(file, async () => {
      const result = readResultFile(file);
      clips.push(clipDataOf(name, result));
      return { lines: [], data: { verdict: result.verdict, reasons: result.reasons } };
    });
    take(told, name);
  };
  const inputs = [...files];
  for (const file of files) {
    if (!isSummaryFile(file)) {
      await read(file, clipNameOf(file));
      continue;
    }
    const told = await attempt(file, async () => {
      for (const { name, result, failed } of clipsOfSummary(file)) {
        if (failed) take(failed, name);
        else {
          inputs.push(result);
          await read(result, name);
        }
      }
      return { lines: [], data: {} };
    });
    // A summary that was read is told of by its clips.
    if (!told.ok) take(told, clipNameOf(file));
  }
  const found = clips.flatMap((clip) => (isFailed(clip) ? [] : [clip]));
  if (found.length > 0) {
    const page = reportHtml({ clips, cautions: CAUTIONS }, pageParts());
    spareInputs([path], inputs);
    tidyFolder(dirname(path));
    writeFiles([{ path, content: page }], { force: options.force === true });
    if (options.json !== true) {
      const unread = clips.filter(isFailed).map(({ name }) => name);
      if (unread.length > 0) print(`not read: ${unread.join(', ')} (see the messages)`);
      for (const line of [...verdictTable(found), '', `wrote ${path}`, ...CAUTIONS]) print(line);
    }
  }
  return conclude(reports, options);
}

/** Script and style of the page, as the build made them. */
function pageParts(): { script: string; style: string } {
  const part = (name: string) =>
    readFileSync(new URL(`../../dist/report/${name}`, import.meta.url), 'utf8');
  return { script: part('page.js'), style: part('page.css') };
}
