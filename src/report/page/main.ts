/** The page of the report: reads its data, shows the shoot, one clip at a time, and the preview. */
import 'uplot/dist/uPlot.min.css';
import './style.css';
import type { PageData } from '../pageData.js';
import { clipTable } from './clipTable.js';
import { clipView } from './clipView.js';
import { button, element } from './dom.js';
import { type Clip, unpackClip } from './motion.js';
import { Preview } from './preview.js';

const { clips: packed, cautions } = JSON.parse(
  document.getElementById('clips')!.textContent!,
) as PageData;
const clips = packed.map(unpackClip);
const page = document.getElementById('page')!;
const place = element('div');
let redraw: () => void = () => {};

const { table, mark } = clipTable(clips, show);
const preview = previewOrReason();

page.replaceChildren(
  element(
    'header',
    {},
    element('h1', {}, 'Shoot report'),
    element('p', {}, summary(clips)),
    element(
      'div',
      { class: 'cautions', role: 'note' },
      ...cautions.map((text) => element('p', {}, text)),
    ),
    button('Light or dark', switchScheme),
  ),
  ...(clips.length > 1 ? [table] : []),
  place,
  preview instanceof Preview ? preview.view : preview,
);
show(clips[0]!);

let settled: ReturnType<typeof setTimeout> | undefined;
addEventListener('resize', () => {
  clearTimeout(settled);
  settled = setTimeout(() => redraw(), 100);
});
matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => redraw());
// Plots are drawn in the colours of the moment; paper is light.
let scheme: string | undefined;
addEventListener('beforeprint', () => {
  scheme = document.documentElement.dataset.scheme;
  document.documentElement.dataset.scheme = 'light';
  redraw();
});
addEventListener('afterprint', () => {
  if (scheme === undefined) delete document.documentElement.dataset.scheme;
  else document.documentElement.dataset.scheme = scheme;
  redraw();
});

function show(clip: Clip): void {
  const { view, redraw: draw } = clipView(clip);
  place.replaceChildren(view);
  mark(clip);
  redraw = draw;
  draw();
  if (preview instanceof Preview) preview.show(clip);
}

function summary(all: readonly Clip[]): string {
  const count = (verdict: Clip['verdict']) => all.filter((clip) => clip.verdict === verdict).length;
  const seconds = all.reduce((sum, { durationS }) => sum + durationS, 0);
  return `${all.length} clip${all.length === 1 ? '' : 's'}, ${seconds.toFixed(0)} s in all: ${count('deliver')} to deliver, ${count('deliver with care')} to deliver with care, ${count('reshoot')} to reshoot.`;
}

/** The preview, or a word on why there is none: some machines have no WebGL. */
function previewOrReason(): Preview | HTMLElement {
  try {
    return new Preview();
  } catch (error) {
    return element('p', { role: 'status' }, `No preview: ${(error as Error).message}`);
  }
}

function switchScheme(): void {
  const root = document.documentElement;
  const dark = root.dataset.scheme
    ? root.dataset.scheme === 'dark'
    : matchMedia('(prefers-color-scheme: dark)').matches;
  root.dataset.scheme = dark ? 'light' : 'dark';
  redraw();
}
