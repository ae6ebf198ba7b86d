import type { CorrectionResult } from '../correct.js';
import { errorInFile, TwinkeelError } from '../error.js';
import { readAsText } from '../files/readFile.js';
import { parseJson } from '../read/jsonTable.js';
import { decodeText } from '../read/text.js';

/** The name that marks a summary. */
const FORMAT = 'twinkeel-shoot-summary';
const VERSION = 1;

/** What became of one clip. */
export type ClipSummary = { readonly name: string; readonly file: string } & (
  | {
      readonly ok: true;
      readonly verdict: CorrectionResult['verdict'];
      readonly reasons: CorrectionResult['reasons'];
      readonly shot: CorrectionResult['shot'];
      readonly confidence: number;
      /** SHA-256 of what the result follows from. */
      readonly inputs: string;
      /** SHA-256 of each written file, by its name. */
      readonly outputs: Readonly<Record<string, string>>;
    }
  | { readonly ok: false; readonly code: string; readonly message: string }
);

/** What became of a shoot, or of one share of it; the same bytes however many workers there were. */
export interface Summary {
  readonly format: typeof FORMAT;
  readonly version: number;
  /** SHA-256 of the manifest. */
  readonly manifest: string;
  /** How many clips the whole shoot has. */
  readonly clipCount: number;
  /** Place of each clip of this summary in the manifest, and what became of it. */
  readonly clips: readonly (ClipSummary & { readonly place: number })[];
}

export function summaryOf(manifest: string, clipCount: number, clips: Summary['clips']): Summary {
  const ordered = [...clips].sort((a, b) => a.place - b.place);
  return { format: FORMAT, version: VERSION, manifest, clipCount, clips: ordered };
}

export function summaryText(summary: Summary): string {
  return `${JSON.stringify(summary, null, 1)}\n`;
}

/**
 * Reads a summary of a shoot or of a share of it.
 *
 * @throws TwinkeelError naming the file
 */
export function readSummary(path: string): Summary {
  try {
    const value = parseJson(decodeText(readAsText(path, 'a summary'))) as Partial<Summary> | null;
    if (value?.format !== FORMAT || value.version !== VERSION || !Array.isArray(value.clips)) {
      throw new TwinkeelError('read/json', {
        found: 'JSON of another kind',
        expected: `a summary ("format": "${FORMAT}", version ${VERSION})`,
        remedy: 'pass the summaries that "correct shoot.json --shard" wrote',
      });
    }
    return value as Summary;
  } catch (error) {
    throw errorInFile(error, path);
  }
}

/**
 * The summary of a whole shoot from those of its shares, in any order; the same bytes as if it had
 * been done in one go.
 *
 * @throws TwinkeelError `manifest/invalid` when shares belong to different shoots, one clip stands
 *   in two that disagree, or one is missing
 */
export function mergeSummaries(shares: readonly Summary[]): Summary {
  const first = shares[0];
  if (!first) throw cannotMerge('no summary', 'the summary of every share', 'name the files');
  const byPlace = new Map<number, Summary['clips'][number]>();
  for (const share of shares) {
    if (share.manifest !== first.manifest || share.clipCount !== first.clipCount) {
      throw cannotMerge(
        'summaries of different manifests',
        'shares of one shoot',
        'run every share with the same manifest',
      );
    }
    for (const clip of share.clips) {
      const other = byPlace.get(clip.place);
      if (other && JSON.stringify(other) !== JSON.stringify(clip)) {
        throw cannotMerge(
          `two different outcomes of ${clip.name}`,
          'each clip once',
          'delete the summary that is out of date',
        );
      }
      byPlace.set(clip.place, clip);
    }
  }
  const missing = Array.from({ length: first.clipCount }, (_, k) => k).filter(
    (place) => !byPlace.has(place),
  );
  if (missing.length > 0) {
    throw cannotMerge(
      `${missing.length} of ${first.clipCount} clips in no summary, the first is number ${missing[0]! + 1}`,
      'every clip of the manifest',
      'run the shares that are missing',
    );
  }
  return summaryOf(first.manifest, first.clipCount, [...byPlace.values()]);
}

function cannotMerge(found: string, expected: string, remedy: string): TwinkeelError {
  return new TwinkeelError('manifest/invalid', { found, expected, remedy });
}
