import type uPlot from 'uplot';
import { number, threshold } from '../stretchWords.js';
import { colour } from './dom.js';
import type { PlotContent, Scale } from './plotScale.js';

/** The room as a band around zero, behind everything. */
export function drawRoom(chart: uPlot, { room }: Scale): void {
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
export function drawMarks(
  chart: uPlot,
  { marks = [], unit }: PlotContent,
  { levels, room }: Scale,
): void {
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
  // Words stand out from lines that run behind them.
  const write = (text: string, x: number, y: number) => {
    ctx.save();
    ctx.setLineDash([]);
    ctx.lineJoin = 'round';
    ctx.lineWidth = 4 * px;
    ctx.strokeStyle = colour('surface');
    ctx.strokeText(text, x, y);
    ctx.fillText(text, x, y);
    ctx.restore();
  };
  const lines = [
    ...levels.map(({ value, label }) => ({ value, text: `${label} ${threshold(value, unit)}` })),
    ...(room ? [{ value: room.deg, text: `${room.label} ±${number(room.deg, 1)}°` }] : []),
  ];
  const taken: number[] = [];
  for (const { value, text } of lines) {
    const y = chart.valToPos(value, 'y', true);
    if (y < bbox.top || y > bbox.top + bbox.height) continue;
    line(bbox.left, y, bbox.left + bbox.width, y);
    // Words go below a line that lies at the upper rim, and to the right where others stand.
    const below = y - bbox.top < 16 * px;
    const at = y + (below ? 14 : -5) * px;
    const crowded = taken.some((other) => Math.abs(other - at) < 15 * px);
    taken.push(at);
    ctx.textAlign = crowded ? 'right' : 'left';
    write(text, crowded ? bbox.left + bbox.width - 6 * px : bbox.left + 6 * px, at);
  }
  ctx.textAlign = 'left';
  for (const { x, label } of marks) {
    const at = chart.valToPos(x, 'x', true);
    if (at < bbox.left || at > bbox.left + bbox.width) continue;
    line(at, bbox.top, at, bbox.top + bbox.height);
    write(label, at + 5 * px, bbox.top + 12 * px);
  }
  ctx.restore();
}
