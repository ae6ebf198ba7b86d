import type { StretchVerdict } from '../../comfort/stretches.js';
import type { VerdictName } from '../../comfort/verdict.js';
import type { DayTotals } from '../dayTotals.js';
import { minutes } from '../stretchWords.js';
import { element } from './dom.js';
import { STATES, sign } from './icons.js';

const TILES: readonly (readonly [VerdictName, StretchVerdict])[] = [
  ['deliver', 'usable'],
  ['deliver with care', 'with care'],
  ['reshoot', 'not usable'],
];

/** The day at a glance: three counts with their minutes, and the cautions in a quiet line. */
export function dayHead(
  { seconds, verdicts }: DayTotals,
  cautions: readonly string[],
): HTMLElement {
  const tiles = TILES.map(([verdict, state]) =>
    element(
      'li',
      { class: `tile ${STATES[state]}` },
      sign(STATES[state]),
      element('span', { class: 'count' }, String(verdicts[verdict])),
      element('span', { class: 'what' }, verdict),
      element('span', { class: 'minutes' }, `${minutes(seconds[state])} min ${state}`),
    ),
  );
  return element(
    'section',
    { 'aria-label': 'the day' },
    element('ul', { class: 'tiles' }, ...tiles),
    shares(seconds),
    element(
      'p',
      { class: 'cautions', role: 'note' },
      ...cautions.flatMap((text) => [element('span', {}, text), ' ']),
    ),
  );
}

/** How much of the day each state takes, as one bar; the numbers stand above it. */
function shares(seconds: DayTotals['seconds']): HTMLElement {
  const bar = element('div', { class: 'shares', 'aria-hidden': 'true' });
  for (const [, state] of TILES) {
    const part = element('div', { class: STATES[state] });
    part.style.flexGrow = String(seconds[state]);
    bar.append(part);
  }
  return bar;
}

/** How much there is in all: "12 clips, 2 not read · 21:34 min". */
export function dayLine({ clips, unread, seconds }: DayTotals): string {
  const all = Object.values(seconds).reduce((sum, each) => sum + each, 0);
  const missing = unread > 0 ? `, ${unread} not read` : '';
  return `${clips} clip${clips === 1 ? '' : 's'}${missing} · ${minutes(all)} min`;
}
