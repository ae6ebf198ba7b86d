import { readRetimingFile } from '../files/readKeys.js';
import { readCorrections } from '../handoff/csv.js';
import { readResult } from '../handoff/readResult.js';
import type { Corrections, EarlierCorrections } from '../track/corrections.js';
import { type FrameRate, frameTime } from '../track/frameRate.js';
import { type Retiming, trimmed } from '../track/retiming.js';
import type { NameOf } from './checkSettings.js';
import { parseFrameSpan } from './frameSpan.js';
import { inNamedFile } from './inNamedFile.js';
import type { ClipSettings } from './settings.js';
import { UsageError } from './usage.js';

/** The corrections that are in the tracked footage already, and how that was cut. */
export async function readEarlier(
  settings: ClipSettings,
  clipRate: FrameRate | undefined,
  nameOf: NameOf,
): Promise<EarlierCorrections | undefined> {
  const { earlier, retime, trim } = settings;
  if (earlier === undefined) return undefined;
  const read = inNamedFile(earlier, correctionsOfText);
  // A result knows the rate of the original; a table of corrections is taken at the clip's.
  const frameRate = read.frameRate ?? clipRate;
  const corrections = { ...read, ...(frameRate && { frameRate }) };
  if (trim !== undefined) {
    return { ...corrections, retiming: trimOf(trim, settings.timecode, corrections, nameOf) };
  }
  if (retime === undefined) return corrections;
  return { ...corrections, retiming: await readRetimingFile(retime) };
}

/** Corrections from a table of them, or from a result, which begins with a brace. */
function correctionsOfText(text: string): Corrections {
  return /^\s*\{/.test(text) ? readResult(text).corrections : readCorrections(text);
}

function trimOf(
  trim: string,
  timecode: string | undefined,
  { frameRate: rate, frames, times }: Corrections,
  nameOf: NameOf,
): Retiming {
  if (!rate) {
    throw new UsageError(
      `${nameOf('trim')} needs ${nameOf('rate')}, a mapping that counts frames, or a STEM.result.json as ${nameOf('earlier')}`,
    );
  }
  const first = frames?.[0] ?? 0;
  const { from, to } = parseFrameSpan(trim, { rate, first, timecode });
  // An end left out is that of the corrections.
  const last = first + times.length - 1;
  return trimmed(
    frameTime(rate, Math.max(from, first) - first),
    frameTime(rate, Math.min(to, last) - first),
  );
}
