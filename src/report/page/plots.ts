import uPlot from 'uplot';
import { decimalsFor, number, threshold } from '../stretchWords.js';
import { colour, element } from './dom.js';

/** One line of a plot. */
interface Line {
  readonly label: string;
  readonly values: Float64Array;
  /** Name of the colour in the palette; after the correction lines are bold. */
  readonly colour: 'before' | 'after';
}

/** What a plot shows: one quantity on one axis. */
export interface PlotContent {
  readonly title: string;
  readonly unit: string;
  readonly x: Float64Array;
  /** Time shares its cursor and zoom with all other plots over time. */
  readonly over: 'time' | 'frequency';
  readonly lines: readonly Line[];
  /** Values across the plot that mean something: a limit, a threshold. */
  readonly levels?: readonly { readonly value: number; readonly label: string }[];
  /** Room to either side of zero, and what ends it. */
  readonly room?: { readonly deg: number; readonly label: string };
  /** Places along x that mean something: the pace of steps. */
  readonly marks?: readonly { readonly x: number; readonly label: string }[];
  readonly scale: 'free' | 'from zero' | 'around zero' | 'logarithmic';
  readonly height: number;
  /** The plot in a sentence or two, for those who cannot see it. */
  readonly text: string;
}

/** What every plot over time of a clip shares. */
export interface TimeCursor {
  /** Someone pointed at a moment, s. */
  readonly seek: (seconds: number) => void;
  /** Someone zoomed to a part of the clip, s. */
  readonly zoom: (from: number, to: number) => void;
  /** The moment of the preview, s. */
  readonly now: () => number;
}

/** A plot on the page. */
export interface Plot {
  readonly figure: HTMLElement;
  readonly content: PlotContent;
  /** Draws it anew where size or colours changed. */
  readonly redraw: () => void;
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
    {},
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
  const redraw = () => {
    chart?.destroy();
    const width = Math.max(200, holder.clientWidth);
    chart = new uPlot(optionsOf(content, scale, width, cursor), dataOf(content), holder);
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

interface Scale {
  readonly min: number;
  readonly max: number;
  /** Levels and room that lie in it. */
  readonly levels: NonNullable<PlotContent['levels']>;
  readonly room: PlotContent['room'];
  /** What lies outside, in words. */
  readonly outside: readonly string[];
}

/** A level or a room that would more than so often stretch what the lines need is said, not drawn. */
const STRETCH = 2.2;

/** The range of the values, which a level or a room widens only so far that the lines stay to be seen. */
function scaleOf({ lines, levels = [], room, scale, unit }: PlotContent): Scale {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const { values } of lines) {
    for (const value of values) {
      if (value < low) low = value;
      if (value > high) high = value;
    }
  }
  if (scale === 'logarithmic') {
    const [first, last] = [low, high].map((value) => Math.log10(Math.max(value, 1e-4)));
    return {
      ...{
        min: 10 ** Math.floor(first!),
        max: 10 ** Math.max(Math.ceil(last!), Math.floor(first!) + 1),
      },
      ...{ levels: [], room: undefined, outside: [] },
    };
  }
  const need =
    scale === 'around zero'
      ? Math.max(-low, high, LEAST_SPAN / 2)
      : Math.max(high - (scale === 'from zero' ? 0 : low), LEAST_SPAN);
  const inside = levels.filter(({ value }) => value <= STRETCH * need);
  const roomInside = room && room.deg <= STRETCH * need ? room : undefined;
  const outside = [
    ...levels
      .filter((level) => !inside.includes(level))
      .map(({ value, label }) => `${label} ${threshold(value, unit)} is above the scale.`),
    ...(room && !roomInside ? [`${room.label} ±${number(room.deg, 1)}° is beyond the scale.`] : []),
  ];
  const top = Math.max(
    scale === 'free' ? high : need,
    ...inside.map(({ value }) => value),
    roomInside?.deg ?? 0,
  );
  const rim = 0.08;
  if (scale === 'around zero') {
    return {
      min: -(1 + rim) * top,
      max: (1 + rim) * top,
      levels: inside,
      room: roomInside,
      outside,
    };
  }
  if (scale === 'from zero') {
    return { min: 0, max: (1 + 2 * rim) * top, levels: inside, room: roomInside, outside };
  }
  const middle = (low + high) / 2;
  const half = (0.5 + rim) * Math.max(high - low, LEAST_SPAN);
  return { min: middle - half, max: middle + half, levels: inside, room: roomInside, outside };
}

/** A quantity that stands still is not blown up beyond this, in its unit. */
const LEAST_SPAN = 0.2;

function dataOf({ x, lines }: PlotContent): uPlot.AlignedData {
  return [x, ...lines.map(({ values }) => values)] as unknown as uPlot.AlignedData;
}

function optionsOf(
  content: PlotContent,
  scale: Scale,
  width: number,
  cursor: TimeCursor,
): uPlot.Options {
  const logarithmic = content.scale === 'logarithmic';
  const grid = { stroke: colour('line'), width: 1 };
  const axis = { stroke: colour('quiet'), grid, ticks: { show: false }, font: AXIS_FONT, gap: 4 };
  const { over } = content;
  const unitOfX = over === 'time' ? 's' : 'Hz';
  return {
    width,
    height: content.height,
    padding: [6, 6, 0, 0],
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
        size: 22,
        values: (_, splits) =>
          splits.map((value) => `${number(value, 1).replace(/\.0$/, '')} ${unitOfX}`),
      },
      {
        ...axis,
        size: 44,
        values: (_, splits) => {
          if (logarithmic) return splits.map(String);
          const step = Math.abs((splits[1] ?? 1) - (splits[0] ?? 0));
          const decimals = step >= 1 ? 0 : step >= 0.1 ? 1 : 2;
          return splits.map((value) => number(value, decimals));
        },
        ...(logarithmic && { splits: () => decades(scale) }),
        space: 28,
      },
    ],
    legend: { markers: { width: 2 } },
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

function decades({ min, max }: Scale): number[] {
  const [first, last] = [Math.round(Math.log10(min)), Math.round(Math.log10(max))];
  return Array.from({ length: last - first + 1 }, (_, k) => Number(`1e${first + k}`));
}

const AXIS_FONT = '12px system-ui, sans-serif';

/** The room as a band around zero, behind everything. */
function drawRoom(chart: uPlot, { room }: Scale): void {
  if (!room) return;
  const { ctx, bbox } = chart;
  const [top, bottom] = [room.deg, -room.deg].map((value) => chart.valToPos(value, 'y', true)) as [
    number,
    number,
  ];
  ctx.save();
  ctx.globalAlpha = 0.16;
  ctx.fillStyle = colour('quiet');
  ctx.fillRect(bbox.left, top, bbox.width, bottom - top);
  ctx.restore();
}

/** Levels as lines across, marks as lines upwards, each with its words. */
function drawMarks(chart: uPlot, { marks = [], unit }: PlotContent, { levels, room }: Scale): void {
  const { ctx, bbox } = chart;
  const px = devicePixelRatio;
  ctx.save();
  ctx.strokeStyle = ctx.fillStyle = colour('quiet');
  ctx.font = `${12 * px}px system-ui, sans-serif`;
  // The axes leave theirs behind: words would end at the edge of the plot.
  ctx.textAlign = 'left';
  ctx.textBaseline = 'alphabetic';
  ctx.lineWidth = px;
  ctx.setLineDash([6 * px, 4 * px]);
  const line = (x1: number, y1: number, x2: number, y2: number) => {
    ctx.beginPath();
    ctx.moveTo(x1, y1);
    ctx.lineTo(x2, y2);
    ctx.stroke();
  };
  const lines = [
    ...levels.map(({ value, label }) => ({ value, text: `${label} ${threshold(value, unit)}` })),
    ...(room ? [{ value: room.deg, text: `${room.label} ±${number(room.deg, 1)}°` }] : []),
  ];
  for (const { value, text } of lines) {
    const y = chart.valToPos(value, 'y', true);
    if (y < bbox.top || y > bbox.top + bbox.height) continue;
    line(bbox.left, y, bbox.left + bbox.width, y);
    // Words go below a line that lies at the upper rim.
    const below = y - bbox.top < 16 * px;
    ctx.fillText(text, bbox.left + 6 * px, y + (below ? 14 : -5) * px);
  }
  for (const { x, label } of marks) {
    const at = chart.valToPos(x, 'x', true);
    if (at < bbox.left || at > bbox.left + bbox.width) continue;
    line(at, bbox.top, at, bbox.top + bbox.height);
    ctx.fillText(label, at + 5 * px, bbox.top + 12 * px);
  }
  ctx.restore();
}

/** Moves the cursor or the zoom by a key; tells whether the key meant anything. */
function steer(chart: uPlot, key: string, { over }: PlotContent, cursor: TimeCursor): boolean {
  const data = chart.data[0];
  const { min, max } = chart.scales.x!;
  if (min == null || max == null) return false;
  const [first, last] = [data[0]!, data[data.length - 1]!];
  const span = max - min;
  const zoom = (from: number, to: number) =>
    chart.setScale('x', { min: Math.max(from, first), max: Math.min(to, last) });
  const step = (direction: number) => {
    if (over === 'time') {
      const to = Math.min(Math.max(cursor.now() + (direction * span) / 100, first), last);
      cursor.seek(to);
      // What lies outside of a zoomed part comes into it.
      if (to < min || to > max) zoom(to - span / 2, to + span / 2);
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
    '+': () => zoom(min + span / 4, max - span / 4),
    '-': () => zoom(min - span / 2, max + span / 2),
    '0': () => zoom(first, last),
    ArrowLeft: () => step(-1),
    ArrowRight: () => step(1),
  };
  actions[key]?.();
  return key in actions;
}
