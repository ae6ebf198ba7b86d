import { TwinkeelError } from '../error.js';
import { type Mapping, parseMapping } from './mapping.js';
import type { Table } from './table.js';

/** Our own axes, which need no sentence. */
const OWN_AXES = `
axes camera: x right, y up, z back
axes sensor: x right, y up, z back
axes world: x east, y up, z south`;

const OWN_TRACK = `
time: column "time_s" unit s
quaternion: x "x" y "y" z "z" w "w" sense camera-to-world${OWN_AXES}`;

const OWN_RATE = `
time: column "time_s" unit s
rate: x "gx" y "gy" z "gz" rad/s${OWN_AXES}`;

const OWN_LOG = `${OWN_RATE}
accel: x "ax" y "ay" z "az" m/s2 at-rest up`;

/** Headers that say everything by themselves, and what they mean. */
const KNOWN_HEADERS: readonly {
  readonly columns: readonly string[];
  readonly sentences: string;
}[] = [
  { columns: ['frame', 'time_s', 'x', 'y', 'z', 'w'], sentences: OWN_TRACK },
  { columns: ['time_s', 'x', 'y', 'z', 'w'], sentences: OWN_TRACK },
  { columns: ['time_s', 'gx', 'gy', 'gz', 'ax', 'ay', 'az'], sentences: OWN_LOG },
  { columns: ['time_s', 'gx', 'gy', 'gz'], sentences: OWN_RATE },
];

/** The mapping of a file whose header is one of our own formats, else undefined. */
export function recogniseHeader(header: readonly string[] | undefined): Mapping | undefined {
  const known = KNOWN_HEADERS.find(
    ({ columns }) =>
      header?.length === columns.length && columns.every((name, k) => header[k] === name),
  );
  return known && parseMapping(known.sentences);
}

/** What kind of file a mapping describes. */
export function mappedKind(mapping: Mapping): 'track' | 'log' | undefined {
  if (mapping.orientation) return 'track';
  return mapping.rate ? 'log' : undefined;
}

/** Longer names are no words; patterns with repetitions would take the square of their length. */
const LONGEST_NAME = 60;

/**
 * The refusal to guess: names the columns that were found and shows sentences to start from, with
 * the file's own column names filled in where they look right.
 */
export function unknownLayout(table: Table): TwinkeelError {
  const names = (table.header ?? []).filter((name) => name.length <= LONGEST_NAME);
  // Without a header the sentence holds the column's number; which one is for the person to say.
  const pick = (pattern: RegExp, number: number, fallback: string) => {
    if (!table.header) return `${number}`;
    return `"${names.find((name) => pattern.test(name)) ?? fallback}"`;
  };
  const vector = (letters: string, first: number, fallback: string) =>
    ['x', 'y', 'z']
      .map((axis, k) => {
        const pattern = new RegExp(`^(${letters})[a-z]*[ _.]?${axis}($|[^a-z])`, 'i');
        return `${axis} ${pick(pattern, first + k, `${fallback}${axis.toUpperCase()}`)}`;
      })
      .join(' ');
  const quaternionPart = (axis: string) =>
    names.some((name) => /q/i.test(name)) ? `q[a-z]*[ _.]?${axis}$` : `(^|[ _.])${axis}$`;
  const quaternion = ['x', 'y', 'z', 'w']
    .map(
      (axis, k) =>
        `${axis} ${pick(new RegExp(quaternionPart(axis), 'i'), 2 + k, `Q${axis.toUpperCase()}`)}`,
    )
    .join(' ');
  const time = `time: column ${pick(/time|stamp|^t$|^t[ _[(]/i, 1, 'TIME')} unit s`;
  const isLog = names.some((name) => /gyr|^g[ _.]?[xyz]|rate|omega|^w[ _.]?[xyz]/i.test(name));
  const sentences = isLog
    ? [
        `rate: ${vector('g|w|omega|rate|ang', 2, 'G')} rad/s`,
        `accel: ${vector('a|acc', 5, 'A')} m/s2 at-rest up`,
        'axes sensor: x right, y up, z back',
      ]
    : [
        `quaternion: ${quaternion} sense camera-to-world`,
        'axes camera: x right, y up, z back',
        'axes world: x east, y north, z up',
      ];
  const columns = table.header
    ? `the columns ${table.header.map((name) => `"${name}"`).join(', ')}`
    : `${table.columnCount} columns without a header`;
  return new TwinkeelError('read/unknown-layout', {
    found: columns,
    expected: 'a header of our own (time_s,x,y,z,w or time_s,gx,gy,gz,ax,ay,az) or a mapping',
    remedy: `write a mapping file, correct what is not true in it (words in capitals stand for your columns; angles are written as: angles: turn heading "…" deg about up, then tilt "…" deg about right, then roll "…" deg about forward) and pass it with --mapping:\n  ${[time, ...sentences].join('\n  ')}`,
  });
}
