import { notes, plotGrid } from './clipView.js';
import { element } from './dom.js';
import { figureTable } from './figureTable.js';
import type { Clip } from './motion.js';
import { causeLegend, strip } from './strip.js';
import { verdictPanel } from './verdictPanel.js';

/** A third of the width of a page between its margins, A4 or letter, and so low that all fit on one. */
const PAPER = { width: 226, lower: 0.58 };

/** Which line is which, once for all plots of a sheet. */
function lineLegend(): HTMLElement {
  const names = ['before', 'after'].map((name) =>
    element('span', { class: 'key' }, element('span', { class: `line-swatch ${name}` }), name),
  );
  return element('p', { class: 'legend' }, 'Lines: ', ...names);
}

/** Every clip for paper, each on a page of its own: verdict, strip, figures, plots; no preview. */
export function printed(clips: readonly Clip[]): { view: HTMLElement; draw: () => void } {
  const still = { seek: () => {}, zoom: () => {}, now: () => -1 };
  const grids = clips.map((clip) => plotGrid(clip, still));
  const view = element(
    'div',
    { class: 'printed' },
    ...clips.map((clip, k) =>
      element(
        'article',
        { class: 'sheet' },
        element('h2', {}, clip.name),
        element('div', { class: 'row-strip' }, strip(clip.stretches)),
        causeLegend(clip.stretches),
        element('div', { class: 'columns' }, verdictPanel(clip), figureTable(clip)),
        lineLegend(),
        grids[k]!.grid,
        notes(clip),
      ),
    ),
  );
  const draw = () => {
    for (const { plots } of grids) for (const each of plots) each.redraw(PAPER);
  };
  return { view, draw };
}
