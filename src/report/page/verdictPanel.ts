import type { Stretch } from '../../comfort/stretches.js';
import { JUDGED_WITH_RIG } from '../../comfort/verdict.js';
import { CAUSES } from '../../words/verdict.js';
import { amount, byWeight, span, threshold } from '../stretchWords.js';
import { button, element } from './dom.js';
import { STATES, sign, verdictBadge } from './icons.js';
import type { Clip } from './motion.js';

/** The verdict, the stretches that speak against the clip, and what weighs against the whole of it. */
export function verdictPanel(clip: Clip, goTo?: (seconds: number) => void): HTMLElement {
  return element(
    'section',
    { class: 'panel', 'aria-label': 'verdict' },
    element('p', { class: 'headline' }, verdictBadge(clip.verdict)),
    ...stretchList(clip.stretches, goTo),
    ...reasonList(clip),
  );
}

/** How many stretches stand in sight; the strip shows them all. */
const IN_SIGHT = 5;

/** The weightiest stretches in the order of time, the others behind a word. */
function stretchList(
  stretches: readonly Stretch[],
  goTo?: (seconds: number) => void,
): HTMLElement[] {
  const told = byWeight(stretches);
  if (told.length === 0) return [];
  const list = (some: readonly Stretch[]) =>
    element(
      'ol',
      { class: 'stretches' },
      ...stretches.filter((each) => some.includes(each)).map((each) => stretchItem(each, goTo)),
    );
  const others = told.slice(IN_SIGHT);
  return [
    element('h3', {}, 'When, and whose doing'),
    list(told.slice(0, IN_SIGHT)),
    ...(others.length > 0
      ? [
          element(
            'details',
            {},
            element('summary', {}, `${others.length} more stretches`),
            list(others),
          ),
        ]
      : []),
  ];
}

function stretchItem(stretch: Stretch, goTo?: (seconds: number) => void): HTMLElement {
  const { verdict, because, fromSeconds } = stretch;
  const { figure, value, unit, threshold: from, source, cause, now, nextTime } = because!;
  const when = goTo ? button(span(stretch), () => goTo(fromSeconds)) : span(stretch);
  const advice = [now && `Now: ${now}.`, nextTime && `Next time: ${nextTime}.`].filter(Boolean);
  return element(
    'li',
    {},
    sign(STATES[verdict]),
    element(
      'div',
      {},
      element('strong', {}, when),
      ` ${verdict}: ${figure} ${amount(value, unit)}, ${CAUSES[cause]}. `,
      element('span', { class: 'quiet' }, `From ${threshold(from, unit)}; ${source}.`),
      ...(advice.length > 0 ? [element('br'), advice.join(' ')] : []),
    ),
  );
}

function reasonList({ reasons, rig }: Clip): HTMLElement[] {
  // What weighs against a part of the take stands there, with its time.
  const whole = reasons.filter(({ fromSeconds }) => fromSeconds === undefined);
  const items = whole.map(({ figure, value, unit, threshold: from, level, source, nextTime }) =>
    element(
      'li',
      {},
      sign(level === 'reshoot' ? 'bad' : 'care'),
      element(
        'div',
        {},
        element('strong', {}, `${figure}: ${amount(value, unit)}`),
        element(
          'span',
          { class: 'quiet' },
          ` (${level === 'reshoot' ? 'reshoot' : 'care'} above ${threshold(from, unit)}; ${source})`,
        ),
        element('br'),
        `Next time: ${nextTime}.`,
      ),
    ),
  );
  return [
    ...(items.length === 0
      ? [
          element(
            'p',
            {},
            'No figure of the whole clip passed a threshold. That is no proof of comfort.',
          ),
        ]
      : [element('h3', {}, 'The clip as a whole'), element('ol', { class: 'reasons' }, ...items)]),
    ...(rig
      ? []
      : [element('p', { class: 'quiet' }, `Not judged without a rig: ${JUDGED_WITH_RIG}.`)]),
  ];
}
