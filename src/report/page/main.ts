/** The page of the report: the day, one clip at a time by its address, and every clip on paper. */
import { clamp } from '../../math.js';
import 'uplot/dist/uPlot.min.css';
import './base.css';
import './day.css';
import './clip.css';
import './plots.css';
import './widths.css';
import './paper.css';
import { dayTotals } from '../dayTotals.js';
import { isFailed, type PageData } from '../pageData.js';
import { clipList, type Entry } from './clipList.js';
import { type ClipView, clipView } from './clipView.js';
import { dayHead, dayLine } from './dayHead.js';
import { button, element } from './dom.js';
import { icon } from './icons.js';
import { listenToKeys } from './keys.js';
import { type Clip, lazyClip } from './motion.js';
import { Preview } from './preview.js';
import { printed } from './printed.js';
import { addressesOf } from './routes.js';
import { causePatterns } from './strip.js';
import { sameTake } from './variants.js';

const { clips: packed, cautions } = JSON.parse(
  document.getElementById('clips')!.textContent!,
) as PageData;
const addresses = addressesOf(packed.map(({ name }) => name));
const entries: readonly Entry[] = packed.map((data, k) =>
  isFailed(data) ? { failed: data } : { clip: lazyClip(data), address: addresses[k]! },
);
const readable = entries.flatMap((entry) => ('failed' in entry ? [] : [entry]));
const totals = dayTotals(packed);
/** A page of a single clip shows it at once. */
const single = entries.length === 1 ? readable[0] : undefined;

const title = single ? `Report: ${single.clip.name}` : 'Shoot report';
const main = element('main');
const list = [dayHead(totals, cautions), clipList(entries)];
const where = element('nav', { 'aria-label': 'clips' });
let open: { entry: (typeof readable)[number]; shown: ClipView } | undefined;
let preview: Preview | HTMLElement | undefined;
/** The address that is shown. */
let at: string | undefined;

document
  .getElementById('page')!
  .replaceChildren(
    causePatterns(),
    element(
      'header',
      {},
      element('h1', {}, title),
      element('p', { class: 'quiet' }, dayLine(totals)),
      where,
    ),
    main,
    element('footer', {}, button('Light or dark', switchScheme)),
  );
route();
addEventListener('hashchange', route);
listenToKeys({
  preview: () => (open && preview instanceof Preview ? preview : undefined),
  worst: () => open?.shown.worst?.(),
  leave: () => {
    if (open && !single) goTo('');
  },
  move: (by) => {
    if (open) goToClip(readable.indexOf(open.entry) + by);
    else focusRow(by);
  },
});

/** Shows what the address says: a clip, or the day. */
function route(): void {
  const address = location.hash.slice(1);
  if (address === at) return;
  at = address;
  const entry = readable.find((each) => each.address === address) ?? single;
  const left = open?.entry;
  if (preview instanceof Preview) preview.pause();
  if (entry) show(entry, left !== undefined || address !== '');
  else showDay(left, address);
}

function show(entry: (typeof readable)[number], focus: boolean): void {
  preview ??= previewOrReason();
  const { clip } = entry;
  const others = readable.filter((each) => each !== entry && sameTake(each.clip, clip));
  const shown = clipView(
    clip,
    preview,
    others.map((each) => each.clip),
  );
  open = { entry, shown };
  main.replaceChildren(
    shown.view,
    element('p', { class: 'cautions', role: 'note' }, cautions.join(' ')),
  );
  where.replaceChildren(...(single ? [] : wayAbout(readable.indexOf(entry))));
  document.title = `${clip.name}: ${clip.verdict}`;
  scrollTo(0, 0);
  shown.redraw();
  if (focus) shown.heading.focus();
}

function showDay(left: (typeof readable)[number] | undefined, address: string): void {
  open = undefined;
  const lost =
    address === ''
      ? []
      : [element('p', { role: 'status' }, 'The address names a clip that is not in this report.')];
  main.replaceChildren(...lost, ...list);
  where.replaceChildren();
  document.title = `Shoot report: ${entries.length} clips`;
  if (left) rowLink(left.address)?.focus();
}

/** Back to all clips, and to the one before and after. */
function wayAbout(at: number): HTMLElement[] {
  const to = (place: number, direction: 'previous' | 'next') => {
    const entry = readable[place];
    if (!entry) return [];
    const { name } = entry.clip;
    const link = element('a', { href: `#${entry.address}`, class: direction });
    link.append(...(direction === 'previous' ? [icon('previous'), name] : [name, icon('next')]));
    link.setAttribute('aria-label', `${direction} clip: ${name}`);
    return [link];
  };
  return [
    element('a', { href: '#', class: 'all' }, 'All clips'),
    ...to(at - 1, 'previous'),
    ...to(at + 1, 'next'),
  ];
}

function goToClip(place: number): void {
  const entry = readable[place];
  if (entry) goTo(entry.address);
}

/** Goes to an address at once: the event of its change comes late for whoever presses keys fast. */
function goTo(address: string): void {
  location.hash = address;
  route();
}

function rowLink(address: string): HTMLElement | undefined {
  return [...main.querySelectorAll<HTMLElement>('.row a')].find(
    (link) => link.getAttribute('href') === `#${address}`,
  );
}

/** Moves the focus from row to row. */
function focusRow(by: number): void {
  const links = [...main.querySelectorAll<HTMLElement>('.row a')];
  const at = links.indexOf(document.activeElement as HTMLElement);
  links[at < 0 ? 0 : clamp(at + by, 0, links.length - 1)]?.focus();
}

/** The preview, or a word on why there is none: some machines have no WebGL. */
function previewOrReason(): Preview | HTMLElement {
  try {
    return new Preview();
  } catch (error) {
    return element('p', { role: 'status' }, `No preview: ${(error as Error).message}`);
  }
}

let settled: ReturnType<typeof setTimeout> | undefined;
addEventListener('resize', () => {
  clearTimeout(settled);
  settled = setTimeout(redraw, 100);
});
matchMedia('(prefers-color-scheme: dark)').addEventListener('change', redraw);

function redraw(): void {
  open?.shown.redraw();
}

// Plots are drawn in the colours of the moment; paper is light.
let scheme: string | undefined;
let sheets: HTMLElement | undefined;
addEventListener('beforeprint', () => {
  if (sheets) return;
  const root = document.documentElement;
  scheme = root.dataset.scheme;
  root.dataset.scheme = 'light';
  const clips: Clip[] = readable.map(({ clip }) => clip);
  const { view, draw } = printed(clips);
  sheets = element('div', {}, ...(single ? [] : list.map((part) => part.cloneNode(true))), view);
  document.getElementById('page')!.append(sheets);
  draw();
});
addEventListener('afterprint', () => {
  sheets?.remove();
  sheets = undefined;
  if (scheme === undefined) delete document.documentElement.dataset.scheme;
  else document.documentElement.dataset.scheme = scheme;
  redraw();
});

function switchScheme(): void {
  const root = document.documentElement;
  const dark = root.dataset.scheme
    ? root.dataset.scheme === 'dark'
    : matchMedia('(prefers-color-scheme: dark)').matches;
  root.dataset.scheme = dark ? 'light' : 'dark';
  redraw();
}
