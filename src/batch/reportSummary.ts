import { dirname, join } from 'node:path';
import { readChunks, regularSize } from '../files/readFile.js';
import type { Report } from './eachFile.js';
import { readSummary } from './summary.js';

/** One clip of a shoot's summary: where its result lies, or that it failed. */
export interface SummaryClip {
  readonly name: string;
  /** The result beside the summary. */
  readonly result: string;
  /** What to tell of a clip that failed when the shoot was corrected. */
  readonly failed?: Report;
}

/** Far enough into a file to meet the name of its format: both kinds of file begin with it. */
const HEAD_BYTES = 256;

/** Whether a file is the summary of a shoot; what cannot be read is none, and is told of later. */
export function isSummaryFile(file: string): boolean {
  try {
    // What a pipe holds can be read once.
    if (regularSize(file) === undefined) return false;
    for (const chunk of readChunks(file)) {
      const head = new TextDecoder().decode(chunk.subarray(0, HEAD_BYTES));
      return head.includes('"twinkeel-shoot-summary"');
    }
  } catch {
    // The reader of results says what is wrong with it.
  }
  return false;
}

/**
 * The clips of a summary in the order of the shoot; their results lie beside it.
 *
 * @throws TwinkeelError naming the file when it is no summary
 */
export function clipsOfSummary(file: string): SummaryClip[] {
  return readSummary(file).clips.map((clip) => {
    const result = join(dirname(file), `${clip.name}.result.json`);
    if (clip.ok) return { name: clip.name, result };
    const { code, message } = clip;
    const failed = { file: clip.file, ok: false, lines: [message], data: { code, message } };
    return { name: clip.name, result, failed };
  });
}
