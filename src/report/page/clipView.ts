import { clamp } from '../../math.js';
import { describeShot } from '../../words/clip.js';
import { UP_WORDS } from '../../words/track.js';
import { byWeight } from '../stretchWords.js';
import { plotsOf } from './clipPlots.js';
import { element } from './dom.js';
import { figureTable } from './figureTable.js';
import { verdictBadge } from './icons.js';
import type { Clip } from './motion.js';
import { type Plot, plot, type TimeCursor } from './plots.js';
import type { Preview } from './preview.js';
import { scrubber } from './scrubber.js';
import { causeLegend, strip } from './strip.js';
import { verdictPanel } from './verdictPanel.js';

/** A clip on the page, and what the page does with it. */
export interface ClipView {
  readonly view: HTMLElement;
  readonly heading: HTMLElement;
  readonly redraw: () => void;
  /** Goes to the moment that speaks most against the clip, where one does. */
  readonly worst: (() => void) | undefined;
}

/**
 * A clip: preview and verdict beside each other, the strip as scrubber, plots, figures, notes.
 *
 * @param preview - the page's one preview, or a word on why there is none
 * @param variants - other results of the same take
 */
export function clipView(
  clip: Clip,
  preview: Preview | HTMLElement,
  variants: readonly Clip[],
): ClipView {
  const rate = clip.frameRate.numerator / clip.frameRate.denominator;
  let frame = 0;
  const goTo = (to: number) => {
    // Without a preview the cursor still moves.
    if (preview instanceof HTMLElement) mark(clamp(to, 0, clip.frames - 1));
    else preview.goTo(to);
  };
  const cursor: TimeCursor = {
    seek: (seconds) => goTo(Math.round(seconds * rate)),
    zoom: (from, to) => {
      for (const each of over) each.zoomTo(from, to);
    },
    now: () => frame / rate,
  };
  const timeline = scrubber(clip, goTo);
  const { grid, plots } = plotGrid(clip, cursor);
  const over = plots.filter(({ content }) => content.over === 'time');
  const mark = (at: number) => {
    frame = at;
    timeline.mark(at);
    for (const each of over) each.mark(at / rate);
  };
  const [weightiest] = byWeight(clip.stretches);
  const worst = weightiest && (() => cursor.seek(weightiest.fromSeconds));
  const heading = element('h2', { tabindex: '-1' }, clip.name);
  const view = element(
    'article',
    { class: 'clip', 'aria-label': clip.name },
    heading,
    element(
      'div',
      { class: 'top' },
      element(
        'section',
        { class: 'look', 'aria-label': 'preview' },
        preview instanceof HTMLElement ? preview : preview.view,
        timeline.view,
        ...(preview instanceof HTMLElement ? [] : [preview.controls(worst)]),
        SHORTCUTS.cloneNode(true) as HTMLElement,
      ),
      element(
        'div',
        { class: 'side' },
        verdictPanel(clip, cursor.seek),
        causeLegend(clip.stretches),
      ),
    ),
    element('h3', {}, 'The path, and what was taken out of it'),
    grid,
    comparison(clip, variants),
    ...(preview instanceof HTMLElement ? [] : [preview.extras]),
    notes(clip),
  );
  if (preview instanceof HTMLElement) mark(0);
  else {
    preview.onFrame = mark;
    preview.show(clip);
  }
  const redraw = () => {
    for (const each of plots) each.redraw();
  };
  return { view, heading, redraw, worst };
}

/** Keys, always in sight; they work wherever the focus is. */
const KEYS: readonly (readonly [string, string])[] = [
  ['Space or P', 'play'],
  [', .', 'frame by frame'],
  ['1 2 3', 'before, after, split'],
  ['L', 'level line'],
  ['V', 'whole view'],
  ['M', 'mask'],
  ['W', 'worst moment'],
  ['← → or K J', 'other clip'],
  ['Esc', 'all clips'],
];

const SHORTCUTS = element(
  'p',
  { class: 'shortcuts quiet' },
  ...KEYS.flatMap(([key, what]) => [
    element('span', {}, element('kbd', {}, key), `\u00a0${what}`),
    ' ',
  ]),
);

/** Path above what was taken out of it, three beside each other; the rest fills its rows. */
export function plotGrid(
  clip: Clip,
  cursor: TimeCursor,
): { grid: HTMLElement; plots: readonly Plot[] } {
  const { angles, others } = plotsOf(clip);
  const pairs = angles.map((pair) => pair.map((each) => plot(each, cursor)));
  const rest = others.map((each) => plot(each, cursor));
  const figures = (plots: readonly Plot[]) => plots.map(({ figure }) => figure);
  const grid = element(
    'div',
    {},
    element(
      'div',
      { class: 'plots' },
      ...pairs.map((pair) => element('div', { class: 'pair' }, ...figures(pair))),
    ),
    element('div', { class: 'plots' }, ...figures(rest)),
  );
  return { grid, plots: [...pairs.flat(), ...rest] };
}

/** Figures before and after, beside those of another result of the same take where one is chosen. */
function comparison(clip: Clip, variants: readonly Clip[]): HTMLElement {
  const place = element('div');
  const show = (other: Clip | undefined) => {
    place.replaceChildren(...(other ? [twoStrips(clip, other)] : []), figureTable(clip, other));
  };
  show(undefined);
  const section = element(
    'section',
    { 'aria-labelledby': 'figures-title' },
    element('h3', { id: 'figures-title' }, 'Before and after in figures'),
  );
  if (variants.length > 0) {
    const choice = element(
      'select',
      { id: 'compare' },
      element('option', { value: '' }, 'nothing'),
      ...variants.map(({ name }, k) => element('option', { value: String(k) }, name)),
    );
    choice.addEventListener('change', () => show(variants[Number(choice.value || Number.NaN)]));
    section.append(
      element(
        'p',
        {},
        element('label', { for: 'compare' }, 'Compare with another result of this take: '),
        choice,
      ),
    );
  }
  section.append(place);
  return section;
}

function twoStrips(...clips: readonly Clip[]): HTMLElement {
  return element(
    'div',
    { class: 'variants' },
    ...clips.map(({ name, verdict, stretches }) =>
      element(
        'div',
        {},
        element('p', {}, element('strong', {}, name), ' ', verdictBadge(verdict)),
        element('div', { class: 'row-strip' }, strip(stretches)),
      ),
    ),
  );
}

/** What was found in the data. */
export function notes(clip: Clip): HTMLElement {
  return element(
    'section',
    { class: 'notes' },
    element('h3', {}, 'What was found in the data'),
    element(
      'ul',
      {},
      element('li', {}, describeShot(clip)),
      element('li', {}, `vertical: ${UP_WORDS[clip.up]}`),
      ...clip.warnings.map((warning) => element('li', {}, warning)),
    ),
  );
}
