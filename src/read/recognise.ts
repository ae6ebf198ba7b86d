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

/**
 * The refusal to guess: names the columns that were found and shows sentences to start from, with
 * the file's own column names filled in where they look right.
 */
export function unknownLayout(table: Table): TwinkeelError {
  const names = table.header ?? [];
  const pick = (pattern: RegExp, fallback: string) =>
    names.find((name) => pattern.test(name)) ?? fallback;
  const time = pick(/time|stamp|^t$|^t[ _[(]/i, 'TIME');
  const isLog = names.some((name) => /gyr|^g[xyz]$|rate|^w_?[xyz]/i.test(name));
  const axis = (letter: string) =>
    pick(new RegExp(`(^|[^a-z])(q_?|rot_?)?${letter}$`, 'i'), `Q${letter.toUpperCase()}`);
  const sentences = isLog
    ? [
        `rate: x "${pick(/g\w*[_.]?x/i, 'GX')}" y "${pick(/g\w*[_.]?y/i, 'GY')}" z "${pick(/g\w*[_.]?z/i, 'GZ')}" rad/s`,
        `accel: x "${pick(/^a\w*[_.]?x/i, 'AX')}" y "${pick(/^a\w*[_.]?y/i, 'AY')}" z "${pick(/^a\w*[_.]?z/i, 'AZ')}" m/s2 at-rest up`,
        'axes sensor: x right, y up, z back',
      ]
    : [
        `quaternion: x "${axis('x')}" y "${axis('y')}" z "${axis('z')}" w "${axis('w')}" sense camera-to-world`,
        'axes camera: x right, y up, z back',
        'axes world: x east, y north, z up',
      ];
  const columns = table.header
    ? `the columns ${names.map((name) => `"${name}"`).join(', ')}`
    : `${table.columnCount} columns without a header`;
  return new TwinkeelError('read/unknown-layout', {
    found: columns,
    expected: 'a header of our own (time_s,x,y,z,w or time_s,gx,gy,gz,ax,ay,az) or a mapping',
    remedy: `write a mapping file, correct what is not true in it and pass it with --mapping:\n  ${[`time: column "${time}" unit s`, ...sentences].join('\n  ')}\n`,
  });
}
