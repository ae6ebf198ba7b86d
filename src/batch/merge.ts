import { dirname } from 'node:path';
import { CAUTIONS } from '../comfort/cautions.js';
import { tidyFolder } from '../files/tidyFolder.js';
import { writeFiles } from '../files/writeFiles.js';
import { print } from './eachFile.js';
import { endTable, fatesOf } from './endTable.js';
import { spareInputs } from './resultPlaces.js';
import { complainOfFailed, mergeSummaries, readSummary, summaryText } from './summary.js';
import { type Options, textOf, UsageError } from './usage.js';

/** `twinkeel merge`: one summary from those of a shoot's shares. */
export async function merge(files: readonly string[], options: Options): Promise<number> {
  const path = textOf(options, 'out');
  if (path === undefined) throw new UsageError('say where to write: --out FILE.json');
  if (files.length === 0) throw new UsageError('no summary was given');
  const whole = mergeSummaries(files.map(readSummary));
  spareInputs([path], files);
  tidyFolder(dirname(path));
  writeFiles([{ path, content: summaryText(whole) }], { force: options.force === true });
  if (options.json === true) print(JSON.stringify(whole));
  else {
    // What a share kept from before its summary does not say.
    const table = endTable(fatesOf(whole.clips, () => false));
    for (const line of [...table, '', `wrote ${path}`, ...CAUTIONS]) print(line);
  }
  return complainOfFailed(whole.clips);
}
