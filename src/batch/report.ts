import { readFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { CAUTIONS } from '../comfort/cautions.js';
import { readResultFile } from '../files/readResultFile.js';
import { tidyFolder } from '../files/tidyFolder.js';
import { writeFiles } from '../files/writeFiles.js';
import { reportHtml } from '../report/html.js';
import { type ClipData, clipDataOf } from '../report/pageData.js';
import { attempt, conclude, print, type Report, tell } from './eachFile.js';
import { clipNameOf, spareInputs } from './resultPlaces.js';
import { type Options, textOf, UsageError } from './usage.js';
import { verdictTable } from './words.js';

/** `twinkeel report`: one page to look at, and the verdicts in a table. */
export async function report(files: readonly string[], options: Options): Promise<number> {
  const path = textOf(options, 'out');
  if (path === undefined) throw new UsageError('say where to write: --out FILE.html');
  if (!/\.html?$/i.test(path)) throw new UsageError(`--out ${path} does not end in .html`);
  if (files.length === 0) throw new UsageError('no file was given');
  const clips: ClipData[] = [];
  const reports: Report[] = [];
  for (const file of files) {
    const read = await attempt(file, async () => {
      const name = clipNameOf(file);
      const result = readResultFile(file);
      clips.push(clipDataOf(name, result));
      return { lines: [], data: { verdict: result.verdict, reasons: result.reasons } };
    });
    reports.push(read);
    if (!read.ok) tell(read, options);
  }
  if (clips.length > 0) {
    const page = reportHtml({ clips, cautions: CAUTIONS }, pageParts());
    spareInputs([path], files);
    tidyFolder(dirname(path));
    writeFiles([{ path, content: page }], { force: options.force === true });
    if (options.json !== true) {
      for (const line of [...verdictTable(clips), '', `wrote ${path}`, ...CAUTIONS]) print(line);
    }
  }
  return conclude(reports, options);
}

/** Script and style of the page, as the build made them. */
function pageParts(): { script: string; style: string } {
  const part = (name: string) =>
    readFileSync(new URL(`../report/${name}`, import.meta.url), 'utf8');
  return { script: part('page.js'), style: part('page.css') };
}
