/** What the command says about the clips of a shoot. */
import { verdictTable } from '../words/verdict.js';
import type { ClipSummary } from './summary.js';

/** What became of the clips of a shoot. */
export function shootTable(clips: readonly ClipSummary[]): string[] {
  const failed = clips.filter(({ ok }) => !ok);
  return [
    ...verdictTable(clips.filter((clip) => clip.ok)),
    ...(failed.length === 0
      ? []
      : [`failed: ${failed.map(({ name }) => name).join(', ')} (see the messages)`]),
  ];
}
