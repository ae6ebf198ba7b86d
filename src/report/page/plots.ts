import uPlot from 'uplot';
import { clamp } from '../../math.js';
import { decimalsFor, number } from '../stretchWords.js';
import { colour, element } from './dom.js';
import { drawMarks, drawRoom } from './plotMarks.js';
import { decades, type PlotContent, type Scale, scaleOf } from './plotScale.js';

/** What every plot over time of a clip shares. */
export interface TimeCursor {
  /** Someone pointed at a moment, s. */
  readonly seek: (seconds: number) => void;
  /** Someone zoomed to a part of the clip, s. */
  readonly zoom: (from: number, to: number) => void;
  /** The moment of the preview, s. */
  readonly now: () => number;
}

/** Width in CSS px, and a factor of the plot's height. */
export interface PlotSize {
  readonly width: number;
  readonly lower: number;
}

/** A plot on the page. */
export interface Plot {
  readonly figure: HTMLElement;
  readonly content: PlotContent;
  /** Draws it anew where size or colours changed; in a size of its own where it has no place yet. */
  readonly redraw: (size?: PlotSize) => void;
  /** Moves the cursor to a moment, s. */
  readonly mark: (seconds: number) => void;
  readonly zoomTo: (from: number, to: number) => void;
}

/**
 * A plot to look at, zoom into (drag, or + and −; double click or 0 for all of it) and read off by
 * pointing. A click, and the arrows, move the preview to that moment.
 */
export function plot(content: PlotContent, cursor: TimeCursor): Plot {
  const scale = scaleOf(content);
  const text = [content.text, ...scale.outside].join(' ');
  const holder = element('div', { class: 'plot', tabindex: '0', role: 'img' });
  holder.setAttribute('aria-label', `${content.title}. ${text}`);
  const figure = element(
    'figure',
    content.lines.length === 1 ? { class: 'one-line' } : {},
    element('figcaption', {}, content.title, element('span', { class: 'unit' }, content.unit)),
    holder,
    element('p', { class: 'plot-text' }, text),
  );
  let chart: uPlot | undefined;
  let moment = cursor.now();
  const needle = element('div', { class: 'now' });
  const mark = (seconds: number) => {
    moment = seconds;
    if (!chart || content.over !== 'time') return;
    const at = chart.valToPos(seconds, 'x');
    needle.style.transform = `translateX(${at.toFixed(1)}px)`;
    needle.hidden = at < 0 || at > chart.over.clientWidth;
  };
  const redraw = (size = { width: Math.max(200, holder.clientWidth), lower: 1 }) => {
    chart?.destroy();
    chart = new uPlot(optionsOf(content, scale, size, cursor), dataOf(content), holder);
    const made = chart;
    if (content.over === 'time') {
      made.over.append(needle);
      // uPlot keeps the click that ends a drag to itself.
      made.over.addEventListener('click', () =>
        cursor.seek(made.posToVal(made.cursor.left ?? 0, 'x')),
      );
    }
    mark(moment);
  };
  const zoomTo = (from: number, to: number) => {
    const { min, max } = chart?.scales.x ?? {};
    if (!chart || (min === from && max === to)) return;
    chart.setScale('x', { min: from, max: to });
    mark(moment);
  };
  holder.addEventListener('keydown', (event) => {
    // With Ctrl or the like the same keys are the browser's own zoom and history.
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (chart && steer(chart, event.key, content, cursor)) event.preventDefault();
  });
  return { figure, content, redraw, mark, zoomTo };
}

function dataOf({ x, lines }: PlotContent): uPlot.AlignedData {
  return [x, ...lines.map(({ values }) => values)] as unknown as uPlot.AlignedData;
}

function optionsOf(
  content: PlotContent,
  scale: Scale,
  { width, lower }: PlotSize,
  cursor: TimeCursor,
): uPlot.Options {
  const logarithmic = content.scale === 'logarithmic';
  const grid = { stroke: colour('line'), width: 1 };
  const axis = { stroke: colour('quiet'), grid, ticks: { show: false }, font: AXIS_FONT, gap: 4 };
  const { over } = content;
  const unitOfX = over === 'time' ? 's' : 'Hz';
  return {
    width,
    height: Math.round(content.height * lower),
    padding: [8, 18, 0, 0],
    cursor: {
      y: false,
      drag: { x: true, y: false, setScale: true },
      // What is pointed at is shown in every plot; zooming goes by `cursor.zoom`.
      ...(over === 'time' && {
        sync: { key: 'time', scales: ['x', null], filters: { pub: isPointing } },
      }),
      points: { size: 6 },
    },
    scales: {
      x: { time: false },
      y: logarithmic
        ? { distr: 3, range: [scale.min, scale.max] }
        : { range: [scale.min, scale.max] },
    },
    axes: [
      {
        ...axis,
        size: 24,
        gap: 6,
        values: (_, splits) =>
          splits.map((value) => `${number(value, 1).replace(/\.0$/, '')} ${unitOfX}`),
      },
      {
        ...axis,
        size: logarithmic ? 54 : 44,
        values: (_, splits) => {
          if (logarithmic) return splits.map(String);
          const step = Math.abs((splits[1] ?? 1) - (splits[0] ?? 0));
          const decimals = step >= 1 ? 0 : step >= 0.1 ? 1 : 2;
          return splits.map((value) => number(value, decimals));
        },
        ...(logarithmic && {
          splits: () => decades(scale),
          filter: (_: uPlot, splits: number[]) => splits,
        }),
        space: 28 * lower,
      },
    ],
    legend: {
      markers: {
        width: 0,
        fill: (_, k) => (k > 0 ? colour(content.lines[k - 1]!.colour) : 'transparent'),
      },
    },
    series: [
      {
        label: unitOfX,
        value: (_, value) => (value == null ? '' : value.toFixed(2)),
      },
      ...content.lines.map(({ label, colour: name }) => ({
        label,
        stroke: colour(name),
        width: name === 'after' ? 2 : 1,
        points: { show: false },
        value: (_: uPlot, value: number | null) =>
          value == null
            ? ''
            : `${number(value, logarithmic ? 4 : Math.max(1, decimalsFor(value)))}`,
      })),
    ],
    hooks: {
      drawClear: [(chart) => drawRoom(chart, scale)],
      draw: [(chart) => drawMarks(chart, content, scale)],
      setCursor: [
        (chart) => chart.root.classList.toggle('pointed', (chart.cursor.left ?? -1) >= 0),
      ],
      setScale: [
        (chart, key) => {
          const { min, max } = chart.scales.x!;
          if (key === 'x' && over === 'time' && min != null && max != null) cursor.zoom(min, max);
        },
      ],
    },
  };
}

function isPointing(event: string): boolean {
  return event === 'mousemove' || event === 'mouseleave';
}

const AXIS_FONT = '12px system-ui, sans-serif';

/** Moves the cursor or the zoom by a key; tells whether the key meant anything. */
function steer(chart: uPlot, key: string, { over }: PlotContent, cursor: TimeCursor): boolean {
  const data = chart.data[0];
  const { min, max } = chart.scales.x!;
  if (min == null || max == null) return false;
  const [first, last] = [data[0]!, data[data.length - 1]!];
  const span = max - min;
  // A part that would reach beyond an end lies at that end instead.
  const zoom = (middle: number, part: number) => {
    const length = Math.min(part, last - first);
    const from = clamp(middle - length / 2, first, last - length);
    chart.setScale('x', { min: from, max: from + length });
  };
  const middle = over === 'time' ? cursor.now() : (min + max) / 2;
  const step = (direction: number) => {
    if (over === 'time') {
      const to = clamp(cursor.now() + (direction * span) / 100, first, last);
      cursor.seek(to);
      // What lies outside of a zoomed part comes into it.
      if (to < min || to > max) zoom(to, span);
      chart.setCursor({ left: chart.valToPos(to, 'x'), top: chart.over.clientHeight / 2 });
      return;
    }
    const left = (chart.cursor.left ?? -1) < 0 ? chart.over.clientWidth / 2 : chart.cursor.left!;
    const to = left + (direction * chart.over.clientWidth) / 100;
    if (to >= 0 && to <= chart.over.clientWidth) {
      chart.setCursor({ left: to, top: chart.over.clientHeight / 2 });
    }
  };
  const actions: Readonly<Record<string, () => void>> = {
    '+': () => zoom(middle, span / 2),
    '-': () => zoom(middle, 2 * span),
    '0': () => zoom(first, last - first),
    ArrowLeft: () => step(-1),
    ArrowRight: () => step(1),
  };
  actions[key]?.();
  return key in actions;
}
