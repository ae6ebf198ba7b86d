import uPlot from 'uplot';
import { colour, element } from './dom.js';

/** One line of a plot. */
export interface Line {
  readonly label: string;
  readonly values: Float64Array;
  /** Name of the colour in the style sheet. */
  readonly colour: 'before' | 'after' | 'third';
  readonly dashed?: boolean;
}

/** What a plot shows. */
export interface PlotContent {
  readonly title: string;
  readonly unit: string;
  readonly x: Float64Array;
  readonly xLabel: string;
  readonly lines: readonly Line[];
  /** Values across the plot that mean something: a limit, a threshold. */
  readonly levels?: readonly { readonly value: number; readonly label: string }[];
  /** Places along x that mean something: the pace of steps. */
  readonly marks?: readonly { readonly x: number; readonly label: string }[];
  readonly logarithmic?: boolean;
  /** The plot in a sentence or two, for those who cannot see it. */
  readonly text: string;
}

/**
 * A plot to look at, zoom into (drag, or + and −; double click or 0 for all of it) and read off
 * (pointer, or arrow keys). Redrawn by `redraw` when size or colours change.
 */
export function plot(content: PlotContent): { figure: HTMLElement; redraw: () => void } {
  const holder = element('div', { class: 'plot', tabindex: '0', role: 'img' });
  holder.setAttribute('aria-label', `${content.title}. ${content.text}`);
  const figure = element(
    'figure',
    {},
    element('figcaption', {}, content.title),
    holder,
    element('p', { class: 'plot-text' }, content.text),
  );
  let chart: uPlot | undefined;
  const redraw = () => {
    chart?.destroy();
    const width = Math.max(280, holder.clientWidth);
    chart = new uPlot(optionsOf(content, width), dataOf(content), holder);
  };
  holder.addEventListener('keydown', (event) => {
    // With Ctrl or the like the same keys are the browser's own zoom and history.
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (chart && steer(chart, event.key)) event.preventDefault();
  });
  return { figure, redraw };
}

const HEIGHT = 240;

function dataOf({ x, lines }: PlotContent): uPlot.AlignedData {
  return [x, ...lines.map(({ values }) => values)] as unknown as uPlot.AlignedData;
}

function optionsOf(content: PlotContent, width: number): uPlot.Options {
  const ink = colour('ink');
  const grid = { stroke: colour('grid'), width: 1 };
  const axis = { stroke: ink, grid, ticks: grid, font: AXIS_FONT };
  return {
    width,
    height: HEIGHT,
    cursor: { drag: { x: true, y: false } },
    scales: { x: { time: false }, y: content.logarithmic ? { distr: 3 } : {} },
    axes: [
      { ...axis, label: content.xLabel, labelFont: AXIS_FONT, labelSize: 22 },
      {
        ...axis,
        label: content.unit,
        labelFont: AXIS_FONT,
        labelSize: 22,
        size: 60,
        ...(content.logarithmic && { values: (_: uPlot, splits: number[]) => splits.map(decade) }),
      },
    ],
    series: [
      { label: content.xLabel, value: (_, value) => (value == null ? '–' : value.toFixed(2)) },
      ...content.lines.map(({ label, colour: name, dashed }) => ({
        label,
        stroke: colour(name),
        width: 1.5,
        points: { show: false },
        ...(dashed && { dash: [5, 4] }),
        value: (_: uPlot, value: number | null) =>
          value == null ? '–' : `${value.toPrecision(3)} ${content.unit}`,
      })),
    ],
    hooks: { draw: [(chart) => drawMarks(chart, content)] },
  };
}

/** Whole powers of ten are written, what lies between is not. */
function decade(value: number): string {
  return Math.abs(Math.log10(value) % 1) < 1e-9 ? String(value) : '';
}

const AXIS_FONT = '13px system-ui, sans-serif';

/** Levels as lines across, marks as lines upwards, each with its words. */
function drawMarks(chart: uPlot, { levels = [], marks = [] }: PlotContent): void {
  const { ctx, bbox } = chart;
  ctx.save();
  ctx.strokeStyle = ctx.fillStyle = colour('third');
  ctx.font = `${13 * devicePixelRatio}px system-ui, sans-serif`;
  // The axes leave theirs behind: words would end at the edge of the plot.
  ctx.textAlign = 'left';
  ctx.textBaseline = 'alphabetic';
  ctx.lineWidth = devicePixelRatio;
  ctx.setLineDash([6 * devicePixelRatio, 4 * devicePixelRatio]);
  const line = (x1: number, y1: number, x2: number, y2: number) => {
    ctx.beginPath();
    ctx.moveTo(x1, y1);
    ctx.lineTo(x2, y2);
    ctx.stroke();
  };
  for (const { value, label } of levels) {
    const y = chart.valToPos(value, 'y', true);
    if (y < bbox.top || y > bbox.top + bbox.height) continue;
    line(bbox.left, y, bbox.left + bbox.width, y);
    ctx.fillText(label, bbox.left + 6 * devicePixelRatio, y - 5 * devicePixelRatio);
  }
  for (const { x, label } of marks) {
    const at = chart.valToPos(x, 'x', true);
    if (at < bbox.left || at > bbox.left + bbox.width) continue;
    line(at, bbox.top, at, bbox.top + bbox.height);
    ctx.fillText(label, at + 5 * devicePixelRatio, bbox.top + 14 * devicePixelRatio);
  }
  ctx.restore();
}

/** Moves the cursor or the zoom by a key; tells whether the key meant anything. */
function steer(chart: uPlot, key: string): boolean {
  const data = chart.data[0];
  const { min, max } = chart.scales.x!;
  if (min == null || max == null) return false;
  const span = max - min;
  const zoom = (from: number, to: number) =>
    chart.setScale('x', {
      min: Math.max(from, data[0]!),
      max: Math.min(to, data[data.length - 1]!),
    });
  const step = (direction: number) => {
    const left = (chart.cursor.left ?? -1) < 0 ? chart.over.clientWidth / 2 : chart.cursor.left!;
    const to = left + (direction * chart.over.clientWidth) / 100;
    if (to < 0 || to > chart.over.clientWidth)
      zoom(min + direction * span * 0.1, max + direction * span * 0.1);
    else chart.setCursor({ left: to, top: chart.over.clientHeight / 2 });
  };
  const actions: Readonly<Record<string, () => void>> = {
    '+': () => zoom(min + span / 4, max - span / 4),
    '-': () => zoom(min - span / 2, max + span / 2),
    '0': () => zoom(data[0]!, data[data.length - 1]!),
    ArrowLeft: () => step(-1),
    ArrowRight: () => step(1),
  };
  actions[key]?.();
  return key in actions;
}
