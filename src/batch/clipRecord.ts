import { basename, join } from 'node:path';
import { hashIfThere } from '../files/fileHash.js';
import { readBytes } from '../files/readFile.js';
import { resultPaths } from '../files/writeFiles.js';
import { decodeText } from '../read/text.js';
import { type ClipSummary, isOutcome } from './summary.js';

/** Where a clip's record lies: it is written last, so that it speaks of whole files only. */
export function recordPath(folder: string, stem: string): string {
  return join(folder, `${stem}.clip.json`);
}

/**
 * The record of a clip that is finished: its inputs are those of the record and its files are
 * untouched. Anything else counts as not finished.
 *
 * @throws TwinkeelError `file/missing` when one of the files is there and cannot be read
 */
export function finishedRecord(
  folder: string,
  stem: string,
  inputs: string,
): (ClipSummary & { readonly ok: true }) | undefined {
  const record = readRecord(folder, stem);
  if (!record?.ok || record.inputs !== inputs) return undefined;
  for (const [name, hash] of Object.entries(record.outputs)) {
    if (hashIfThere(join(folder, name)) !== hash) return undefined;
  }
  return record;
}

function readRecord(folder: string, stem: string): ClipSummary | undefined {
  try {
    const record = JSON.parse(
      decodeText(readBytes(recordPath(folder, stem))),
    ) as ClipSummary | null;
    const outputs = record?.ok === true ? record.outputs : undefined;
    // Whoever reads the summary relies on the rest of it, which may have been edited.
    const whole = record && isOutcome(record) && typeof outputs === 'object' && outputs;
    return whole && resultPaths(folder, stem).every((path) => Object.hasOwn(whole, basename(path)))
      ? record
      : undefined;
  } catch {
    // No record, or one that was cut off or altered: the clip is done again.
    return undefined;
  }
}
