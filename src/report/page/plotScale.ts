import { number, threshold } from '../stretchWords.js';

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

/** The range of a plot, and what of its levels lies in it. */
export interface Scale {
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
export function scaleOf({ lines, levels = [], room, scale, unit }: PlotContent): Scale {
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
  const above = levels
    .filter((level) => !inside.includes(level))
    .map(({ value, label }) => `${label} ${threshold(value, unit)}`);
  const outside = [
    ...(above.length > 0 ? [`Above the scale: ${above.join(', ')}.`] : []),
    ...(room && !roomInside ? [`Beyond the scale: ${room.label} ±${number(room.deg, 1)}°.`] : []),
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

/** Whole powers of ten of a logarithmic range. */
export function decades({ min, max }: Scale): number[] {
  const [first, last] = [Math.round(Math.log10(min)), Math.round(Math.log10(max))];
  return Array.from({ length: last - first + 1 }, (_, k) => Number(`1e${first + k}`));
}
