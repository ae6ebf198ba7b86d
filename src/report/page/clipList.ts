import type { FailedClip } from '../pageData.js';
import { minutes, sentenceOf } from '../stretchWords.js';
import { element } from './dom.js';
import { sign, verdictBadge } from './icons.js';
import type { Clip } from './motion.js';
import { causeLegend, strip } from './strip.js';

/** A clip of the page with its address, or one that was not read. */
export type Entry =
  | { readonly clip: Clip; readonly address: string }
  | { readonly failed: FailedClip };

/** One row per clip in the order of the shoot: name, verdict, strip of time, one sentence. */
export function clipList(entries: readonly Entry[]): HTMLElement {
  const rows = entries.map((entry) =>
    'failed' in entry ? failedRow(entry.failed) : clipRow(entry.clip, entry.address),
  );
  const all = entries.flatMap((entry) => ('failed' in entry ? [] : entry.clip.stretches));
  return element(
    'section',
    { class: 'clips', 'aria-labelledby': 'clips-title' },
    element('h2', { id: 'clips-title' }, 'Clips'),
    element('ol', {}, ...rows),
    causeLegend(all),
  );
}

function clipRow(clip: Clip, address: string): HTMLElement {
  const { name, verdict, stretches, durationS } = clip;
  return element(
    'li',
    { class: 'row' },
    element('a', { href: `#${address}`, class: 'name' }, name),
    verdictBadge(verdict),
    element('div', { class: 'row-strip' }, strip(stretches)),
    element('span', { class: 'length number' }, `${minutes(durationS)} min`),
    element('p', { class: 'sentence' }, stretches.length > 0 ? sentenceOf(clip) : NO_STRETCHES),
  );
}

const NO_STRETCHES = 'Its result tells no stretches of time: correct it again to see them.';

function failedRow({ name, failed }: FailedClip): HTMLElement {
  return element(
    'li',
    { class: 'row failed' },
    element('span', { class: 'name' }, name),
    element('span', { class: 'verdict' }, sign('unread'), ' not read'),
    element('p', { class: 'sentence' }, failed),
  );
}
