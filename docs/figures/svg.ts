/**
 * The few shapes the figures are made of, as SVG text. A page of the reference is some 620 px wide,
 * so figures are not much wider and letters stay legible. Every figure has its own light ground, so it
 * reads the same on a light and on a dark page. Blue and vermilion are told apart by colour-blind
 * eyes (Okabe and Ito, "Color Universal Design", 2008); dashes say the same once more.
 */

export type Point = readonly [number, number];

export const INK = '#1b1f24';
export const GREY = '#6b7078';
export const GROUND = '#fbfaf5';
export const BLUE = '#0072b2';
/** Darker than theirs, so that letters stand out by 5 to 1 from the ground. */
export const VERMILION = '#b54a00';

/** Tenths of a pixel: finer digits would differ between processors and show nothing. */
function px(value: number): string {
  const rounded = Math.round(value * 10) / 10;
  return String(rounded === 0 ? 0 : rounded);
}

function points(list: readonly Point[]): string {
  return list.map(([x, y]) => `${px(x)},${px(y)}`).join(' ');
}

interface Stroke {
  readonly colour?: string;
  readonly width?: number;
  readonly dashed?: boolean;
}

function stroke({ colour = INK, width = 2, dashed = false }: Stroke): string {
  return `fill="none" stroke="${colour}" stroke-width="${width}"${dashed ? ' stroke-dasharray="6 5"' : ''}`;
}

export function line(list: readonly Point[], style: Stroke = {}): string {
  return `<polyline points="${points(list)}" ${stroke(style)}/>`;
}

export function outline(list: readonly Point[], style: Stroke = {}): string {
  return `<polygon points="${points(list)}" ${stroke(style)}/>`;
}

export function area(list: readonly Point[], fill: string): string {
  return `<polygon points="${points(list)}" fill="${fill}"/>`;
}

export function dot([x, y]: Point, radius: number, fill: string): string {
  return `<circle cx="${px(x)}" cy="${px(y)}" r="${px(radius)}" fill="${fill}"/>`;
}

/** Length of an arrow's head, px. */
const HEAD = 12;

/** A line that ends in an arrow's head along its last stretch. */
export function arrow(list: readonly Point[], style: Stroke = {}): string {
  const tip = list[list.length - 1]!;
  const before = list[list.length - 2]!;
  const angle = Math.atan2(tip[1] - before[1], tip[0] - before[0]);
  const at = (back: number, side: number): Point => [
    tip[0] - back * Math.cos(angle) - side * Math.sin(angle),
    tip[1] - back * Math.sin(angle) + side * Math.cos(angle),
  ];
  const shaft = [...list.slice(0, -1), at(Math.min(HEAD - 2, 0.9 * distance(tip, before)), 0)];
  return (
    line(shaft, style) +
    area([tip, at(HEAD, HEAD / 2.4), at(HEAD, -HEAD / 2.4)], style.colour ?? INK)
  );
}

function distance(a: Point, b: Point): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

interface Lettering {
  readonly colour?: string;
  readonly size?: number;
  readonly anchor?: 'start' | 'middle' | 'end';
  readonly bold?: boolean;
}

export function text([x, y]: Point, words: string, style: Lettering = {}): string {
  const { colour = INK, size = 14, anchor = 'start', bold = false } = style;
  return `<text x="${px(x)}" y="${px(y)}" fill="${colour}" font-size="${size}" text-anchor="${anchor}"${bold ? ' font-weight="bold"' : ''}>${escaped(words)}</text>`;
}

function escaped(words: string): string {
  return words.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;');
}

/** A whole figure: its size, what it is called, what it shows, and its shapes in drawing order. */
export function figure(
  [width, height]: Point,
  title: string,
  description: string,
  shapes: readonly string[],
): string {
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" aria-labelledby="title description" font-family="system-ui, 'DejaVu Sans', Arial, sans-serif">`,
    `<title id="title">${escaped(title)}</title>`,
    `<desc id="description">${escaped(description)}</desc>`,
    `<rect width="${width}" height="${height}" rx="8" fill="${GROUND}"/>`,
    ...shapes,
    '</svg>',
    '',
  ].join('\n');
}
