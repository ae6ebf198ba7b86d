import { TwinkeelError } from '../error.js';
import { type Mapping, parseMapping } from './mapping.js';
import { suggestMapping } from './suggestMapping.js';
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

const OWN_ACCELEROMETER = `
time: column "time_s" unit s
accel: x "ax" y "ay" z "az" m/s2 at-rest up${OWN_AXES}`;

/** Headers that say everything by themselves, and what they mean. */
const KNOWN_HEADERS: readonly {
  readonly columns: readonly string[];
  readonly sentences: string;
}[] = [
  { columns: ['frame', 'time_s', 'x', 'y', 'z', 'w'], sentences: OWN_TRACK },
  { columns: ['time_s', 'x', 'y', 'z', 'w'], sentences: OWN_TRACK },
  { columns: ['time_s', 'gx', 'gy', 'gz', 'ax', 'ay', 'az'], sentences: OWN_LOG },
  { columns: ['time_s', 'gx', 'gy', 'gz'], sentences: OWN_RATE },
  { columns: ['time_s', 'ax', 'ay', 'az'], sentences: OWN_ACCELEROMETER },
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
  const { sentences, reasons } = suggestMapping(table);
  const because = reasons.length > 0 ? ` (${reasons.join('; ')})` : '';
  const columns = table.header
    ? `the columns ${table.header.map((name) => `"${name}"`).join(', ')}`
    : `${table.columnCount} columns without a header`;
  return new TwinkeelError('read/unknown-layout', {
    found: columns,
    expected: 'a header of our own (time_s,x,y,z,w or time_s,gx,gy,gz,ax,ay,az) or a mapping',
    remedy: `write a mapping file, correct what is not true in it (words in capitals stand for your columns; angles are written as: angles: turn heading "…" deg about up, then tilt "…" deg about right, then roll "…" deg about forward) and pass it with --mapping${because}:\n  ${sentences.join('\n  ')}`,
  });
}
