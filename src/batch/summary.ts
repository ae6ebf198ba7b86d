import type { CorrectionResult } from '../correct.js';
import { errorInFile, printable, TwinkeelError } from '../error.js';
import { readAsText } from '../files/readFile.js';
import { parseJson } from '../read/jsonTable.js';
import { decodeText } from '../read/text.js';
import { fits, listFits, type Shape } from '../shape.js';

/** The name that marks a summary. */
const FORMAT = 'twinkeel-shoot-summary';
const VERSION = 1;

/** What became of one clip. */
export type ClipSummary = {
  /** The clip's name, with which its results begin. */
  readonly name: string;
  /** The file as the manifest writes it. */
  readonly file: string;
} & (
  | {
      /** The clip was corrected. */
      readonly ok: true;
      /** What to do with it. */
      readonly verdict: CorrectionResult['verdict'];
      /** Why, the weightiest first. */
      readonly reasons: CorrectionResult['reasons'];
      /** Kind of shot, as given or recognised. */
      readonly shot: CorrectionResult['shot'];
      /** How clearly it is this kind of shot, 0 to 1. */
      readonly confidence: number;
      /** SHA-256 of what the result follows from. */
      readonly inputs: string;
      /** SHA-256 of each written file, by its name. */
      readonly outputs: Readonly<Record<string, string>>;
    }
  | {
      /** The clip failed. */
      readonly ok: false;
      /** What went wrong, stable across releases. */
      readonly code: string;
      /** The same in one sentence. */
      readonly message: string;
    }
);

/** What became of a shoot, or of one share of it; the same bytes however many workers there were. */
export interface Summary {
  /** Marks the file. */
  readonly format: typeof FORMAT;
  /** Of the format. */
  readonly version: number;
  /** SHA-256 of the manifest. */
  readonly manifest: string;
  /** How many clips the whole shoot has. */
  readonly clipCount: number;
  /** Place of each clip of this summary in the manifest, and what became of it. */
  readonly clips: readonly (ClipSummary & {
    /** From 0. */
    readonly place: number;
  })[];
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
 * @param path - of a `shoot.summary.json` or `shoot.summary.K-of-N.json`
 * @throws TwinkeelError naming the file
 * @example
 * const format = 'twinkeel-shoot-summary';
 * const content = JSON.stringify({ format, version: 1, manifest: 'a7', clipCount: 4, clips: [] });
 * writeFiles([{ path: `${folder}/shoot.summary.1-of-5.json`, content }]);
 * readSummary(`${folder}/shoot.summary.1-of-5.json`).clipCount; // 4
 */
export function readSummary(path: string): Summary {
  try {
    const value = parseJson(decodeText(readAsText(path, 'a summary')), {
      expected: 'a summary',
      remedy: 'pass the summaries that "correct shoot.json --shard" wrote',
    }) as Partial<Summary> | null;
    if (!isSummary(value)) {
      throw new TwinkeelError('read/json', {
        found: 'JSON of another kind',
        expected: `a summary ("format": "${FORMAT}", version ${VERSION})`,
        remedy: 'pass the summaries that "correct shoot.json --shard" wrote',
      });
    }
    return value;
  } catch (error) {
    throw errorInFile(error, path);
  }
}

/** Whether a value has the shape of a summary, as far as joining and telling rely on it. */
function isSummary(value: Partial<Summary> | null): value is Summary {
  const { clipCount, clips } = value ?? {};
  return (
    value?.format === FORMAT &&
    value.version === VERSION &&
    fits(value, { manifest: 'word' }) &&
    Number.isSafeInteger(clipCount) &&
    Array.isArray(clips) &&
    clips.every((clip: Partial<Summary['clips'][number]> | null) => {
      const { place } = clip ?? {};
      const inside = Number.isInteger(place) && place! >= 0 && place! < clipCount!;
      return inside && fits(clip, { name: 'word' }) && isOutcome(clip!);
    })
  );
}

const REASON: Shape = { figure: 'word', value: 'number' };

/** Whether a value has what telling of a clip relies on. */
export function isOutcome(clip: Partial<Summary['clips'][number]>): boolean {
  if (clip.ok === false) return fits(clip, { message: 'word' });
  return clip.ok === true && fits(clip, { verdict: 'word' }) && listFits(clip.reasons, REASON);
}

/**
 * The summary of a whole shoot from those of its shares, in any order; the same bytes as if it had
 * been done in one go.
 *
 * @param shares - summaries of all shares of one shoot
 * @throws TwinkeelError `manifest/invalid` when shares belong to different shoots, one clip stands
 *   in two that disagree, or one is missing
 * @example
 * const failed = { file: 'aisle.csv', ok: false, code: 'read/empty', message: '' } as const;
 * const share = (place: number): Summary => ({
 *   ...{ format: 'twinkeel-shoot-summary', version: 1, manifest: 'a7', clipCount: 2 },
 *   clips: [{ ...failed, place, name: `aisle-${place}` }],
 * });
 * mergeSummaries([share(1), share(0)]).clips.map(({ name }) => name); // ['aisle-0', 'aisle-1']
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
  // Places lie below the count and none stands twice, so their number tells how many are missing.
  const missing = first.clipCount - byPlace.size;
  if (missing > 0) {
    let place = 0;
    while (byPlace.has(place)) place++;
    throw cannotMerge(
      `${missing} of ${first.clipCount} clips in no summary, the first is number ${place + 1}`,
      'every clip of the manifest',
      'run the shares that are missing',
    );
  }
  return summaryOf(first.manifest, first.clipCount, [...byPlace.values()]);
}

function cannotMerge(found: string, expected: string, remedy: string): TwinkeelError {
  return new TwinkeelError('manifest/invalid', { found, expected, remedy });
}

/** The file name of the summary of a shoot, or of one of its shares. */
export function summaryName(
  shard: { readonly index: number; readonly count: number } = { index: 1, count: 1 },
): string {
  return shard.count === 1
    ? 'shoot.summary.json'
    : `shoot.summary.${shard.index}-of-${shard.count}.json`;
}

/** Says which clips failed and why, and gives the exit code. */
export function complainOfFailed(clips: readonly ClipSummary[]): 0 | 1 {
  for (const clip of clips)
    if (!clip.ok) process.stderr.write(`twinkeel: ${printable(clip.message)}\n`);
  return exitCodeOf(clips);
}

/** 0 where every clip went well, else 1. */
export function exitCodeOf(clips: readonly ClipSummary[]): 0 | 1 {
  return clips.every(({ ok }) => ok) ? 0 : 1;
}
