import type { StretchVerdict } from '../../comfort/stretches.js';
import type { VerdictName } from '../../comfort/verdict.js';
import { drawing, element } from './dom.js';

/** What is usable, what with care, what not: a colour, a sign and words that belong together. */
export type State = 'usable' | 'care' | 'bad';

/** The state of a clip by its verdict, of a stretch by its own. */
export const STATES: Readonly<Record<VerdictName | StretchVerdict, State>> = {
  deliver: 'usable',
  'deliver with care': 'care',
  reshoot: 'bad',
  usable: 'usable',
  'with care': 'care',
  'not usable': 'bad',
};

/** A shape for each state, so that no one needs its colour: round, three corners, eight corners. */
const SIGNS: Readonly<Record<State | 'unread', readonly [shape: string, mark: string]>> = {
  usable: ['M10 1a9 9 0 1 0 0 18 9 9 0 0 0 0-18z', 'M5.5 10.5l3 3 6-7'],
  care: ['M10 1.5L19.5 18.5H.5z', 'M10 7.5v5M10 15v1.2'],
  bad: ['M6.3 1h7.4L19 6.3v7.4L13.7 19H6.3L1 13.7V6.3z', 'M6.5 6.5l7 7M13.5 6.5l-7 7'],
  unread: ['M2 2h16v16H2z', 'M6 10h8'],
};

/** The sign alone; words stand beside it. */
export function sign(state: State | 'unread'): SVGSVGElement {
  const [shape, mark] = SIGNS[state];
  return drawing(
    'svg',
    { class: `sign ${state}`, viewBox: '0 0 20 20', 'aria-hidden': 'true' },
    drawing('path', { d: shape }),
    drawing('path', { d: mark, class: 'mark' }),
  );
}

/** The verdict as sign and word. */
export function verdictBadge(verdict: VerdictName | StretchVerdict): HTMLElement {
  return element('span', { class: 'verdict' }, sign(STATES[verdict]), ' ', verdict);
}

/** Pictures on buttons whose word repeats. */
const ICONS = {
  play: 'M5 3l12 7-12 7z',
  pause: 'M5 3h4v14H5zM11 3h4v14h-4z',
  previous: 'M13 3l-7 7 7 7',
  next: 'M7 3l7 7-7 7',
} as const;

export function icon(name: keyof typeof ICONS): SVGSVGElement {
  return drawing(
    'svg',
    { class: `icon ${name}`, viewBox: '0 0 20 20', 'aria-hidden': 'true' },
    drawing('path', { d: ICONS[name] }),
  );
}
