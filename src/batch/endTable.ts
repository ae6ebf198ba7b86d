import type { CorrectionResult } from '../correct.js';
import { withUnit } from '../readable.js';
import { shellWord } from './shellWord.js';
import type { ClipSummary } from './summary.js';

/** What became of one clip of a call, for the table at its end. */
export type ClipFate = { readonly name: string } & (
  | ({ readonly state: 'done' | 'kept' } & Pick<CorrectionResult, 'verdict' | 'reasons'>)
  | { readonly state: 'failed'; readonly message: string }
);

/** The fates of the clips of a summary. */
export function fatesOf(
  clips: readonly ClipSummary[],
  isKept: (name: string) => boolean,
): ClipFate[] {
  return clips.map((clip) => {
    const { name } = clip;
    if (!clip.ok) return { name, state: 'failed', message: clip.message };
    const { verdict, reasons } = clip;
    return { name, state: isKept(name) ? 'kept' : 'done', verdict, reasons };
  });
}

/** One table of all clips of a call: done, kept from before, or failed with its sentence. */
export function endTable(fates: readonly ClipFate[]): string[] {
  const width = Math.max(4, ...fates.map(({ name }) => name.length));
  const count = (state: ClipFate['state']) => fates.filter((fate) => fate.state === state).length;
  return [
    `${'clip'.padEnd(width)}  state   ${'verdict'.padEnd(17)}  weightiest reason`,
    ...fates.map((fate) => {
      const verdict = fate.state === 'failed' ? '–' : fate.verdict;
      return `${fate.name.padEnd(width)}  ${fate.state.padEnd(6)}  ${verdict.padEnd(17)}  ${whyOf(fate)}`;
    }),
    `${fates.length} clip${fates.length === 1 ? '' : 's'}: ${count('done')} done, ${count('kept')} kept (done before), ${count('failed')} failed`,
  ];
}

function whyOf(fate: ClipFate): string {
  if (fate.state === 'failed') return fate.message.split('\n')[0]!;
  const [first] = fate.reasons;
  return first ? `${first.figure}: ${withUnit(first.value, first.unit)}` : '–';
}

/** What to type next, once the clips of a folder are corrected. */
export function nextSteps(
  fates: readonly ClipFate[],
  folder: string,
  shard?: { readonly count: number },
): string[] {
  const failed = fates.some(({ state }) => state === 'failed');
  const some = fates.some(({ state }) => state !== 'failed');
  const place = shellWord(folder.replace(/\/+$/, '') || '/');
  const report = `twinkeel report ${place}/*.result.json --out ${place}/report.html`;
  const merge = `twinkeel merge ${place}/shoot.summary.*-of-${shard?.count}.json --out ${place}/shoot.summary.json`;
  return [
    ...(failed
      ? ['next: mend what failed and make the same call again; what is done is kept']
      : []),
    ...(shard ? [`next, when all shares are done: ${merge}`] : some ? [`next: ${report}`] : []),
  ];
}
