import { TwinkeelError } from '../error.js';
import type { Vector3 } from '../rotation/quaternion.js';
import { type FrameRate, parseFrameRate } from '../track/frameRate.js';
import { type Axes, axesFromWords, directionFromWord, leftHandedAxes } from './axes.js';
import type { TableLayout } from './table.js';
import {
  ACCELERATION_UNITS,
  ANGLE_UNITS,
  meantInSentence,
  RATE_UNITS,
  TIME_UNITS,
  unitPattern,
} from './unitWords.js';

/** A column by its header, or by its number from 1 where a file has none. */
export type ColumnReference = string | number;

/** What the rotation of a row turns into what: directions of the camera into the world, or back. */
export type Sense = 'camera-to-world' | 'world-to-camera';

/** Where the time of a row comes from. */
export type TimeSource =
  | {
      /** A number that counts time. */
      readonly kind: 'stamp';
      /** Where it stands. */
      readonly column: ColumnReference;
      /** 1 for seconds, 0.001 for milliseconds. */
      readonly secondsPerUnit: number;
    }
  | {
      /** A frame number, or the row itself. */
      readonly kind: 'frames';
      /** Where it stands; rows are frames when left out. */
      readonly column?: ColumnReference;
      /** Exact frame rate. */
      readonly rate: FrameRate;
    }
  | {
      /** A time code HH:MM:SS:FF. */
      readonly kind: 'timecode';
      /** Where it stands. */
      readonly column: ColumnReference;
      /** Exact frame rate. */
      readonly rate: FrameRate;
      /** Whether labels are left out, as at 30000/1001. */
      readonly dropFrame: boolean;
    };

/** One of three successive turns: a column of angles about an axis. */
export interface Turn {
  /** Where the angle stands. */
  readonly column: ColumnReference;
  /** 1 for radians, π/180 for degrees. */
  readonly radiansPerUnit: number;
  /** A direction in our axes, or a letter of the file's camera axes. */
  readonly axis: Vector3 | 'x' | 'y' | 'z';
}

/** Where the orientation of a row comes from. */
export type OrientationSource =
  | {
      /** Four components. */
      readonly kind: 'quaternion';
      /** Where x, y, z and w stand, in this order. */
      readonly columns: readonly [
        ColumnReference,
        ColumnReference,
        ColumnReference,
        ColumnReference,
      ];
      /** What it turns into what. */
      readonly sense: Sense;
    }
  | {
      /** Nine entries. */
      readonly kind: 'matrix';
      /** Where they stand, row by row; length 9. */
      readonly columns: readonly ColumnReference[];
      /** What it turns into what. */
      readonly sense: Sense;
    }
  | {
      /** Three successive turns. */
      readonly kind: 'angles';
      /** The turns in their order. */
      readonly turns: readonly [Turn, Turn, Turn];
      /** Whether they go about fixed axes; else about the axes as the turns before left them. */
      readonly fixed: boolean;
      /** What they turn into what. */
      readonly sense: Sense;
    };

/** Three columns and the factor to SI units. */
export interface VectorSource {
  /** Where x, y and z stand. */
  readonly columns: readonly [ColumnReference, ColumnReference, ColumnReference];
  /** What a number is multiplied by to give rad/s or m/s²; negative reverses it. */
  readonly factor: number;
  /** Only the rows in which this column holds this text; every row when left out. */
  readonly where?: RowChoice;
}

/** Rows of one sensor among those of several. */
export interface RowChoice {
  /** The column that names the sensor. */
  readonly column: ColumnReference;
  /** What it holds in the rows that count. */
  readonly text: string;
}

/** What the sentences of a mapping say about a file. */
export interface Mapping {
  /** How the rows are laid out; empty where it is told from the text. */
  readonly layout: TableLayout;
  /** Where time comes from. */
  readonly time?: TimeSource;
  /** Where the orientation comes from; a log has none. */
  readonly orientation?: OrientationSource;
  /** Where the angular rate comes from; a track has none. */
  readonly rate?: VectorSource & {
    /** The file's unit; `factor` takes it to rad/s. */
    readonly unit: 'rad/s' | 'deg/s';
  };
  /** Where the specific force comes from. */
  readonly acceleration?: VectorSource;
  /** Which way the camera axes of the file point. */
  readonly cameraAxes?: Axes;
  /** Which way the axes of the sensor point, seen from behind the camera. */
  readonly sensorAxes?: Axes;
  /** Which way the world axes of the file point. */
  readonly worldAxes?: Axes;
  /** Whether the world axes are known to be level. */
  readonly upKnown: boolean;
}

const COLUMN = '("[^"]+"|\\d+)';
const NAMED = (names: readonly string[]) => names.map((name) => `${name} ${COLUMN}`).join(' ');

/** How each line is written, shown when one is not understood. */
const SENTENCES: Readonly<Record<string, string>> = {
  table: 'table: separator "," comment "#" skip 1 rows every 1',
  time: 'time: column "stamp" unit s   (or ms, us, ns; or: frames at 60000/1001; or: column "tc" timecode at 30000/1001 drop)',
  angles:
    'angles: turn heading "yaw" deg about up, then tilt "pitch" deg about right, then roll "roll" deg about forward',
  quaternion: 'quaternion: w "qw" x "qx" y "qy" z "qz" sense camera-to-world',
  matrix:
    'matrix: rows "r11" "r12" "r13" "r21" "r22" "r23" "r31" "r32" "r33" sense camera-to-world   (or: rows "r11".."r33"; or by number: rows 2..10)',
  rate: 'rate: x "gx" y "gy" z "gz" rad/s   (or deg/s, or: counts of 1/16.4 deg/s; behind it: where "sensor" is "gyro")',
  accel:
    'accel: x "ax" y "ay" z "az" m/s2 at-rest up   (or g, or: counts of 1/8192 g; behind it: where "sensor" is "accel")',
  'axes camera': 'axes camera: x right, y down, z forward',
  'axes sensor': 'axes sensor: x right, y up, z back',
  'axes world': 'axes world: x east, y north, z up',
  mirrored: 'mirrored yes',
};

/**
 * Understands the sentences that describe a foreign file, one per line; `#` starts a remark.
 *
 * @param text - see the guide on formats for the whole grammar
 * @returns what was said; what was not said is missing
 * @throws TwinkeelError `mapping/syntax` with the line and how it should read, `mapping/axes`
 * @example
 * const mapping = parseMapping('time: column "t" unit ms # since the lamps went out');
 * mapping.time; // { kind: 'stamp', column: 't', secondsPerUnit: 0.001 }
 */
export function parseMapping(text: string): Mapping {
  const draft: { -readonly [Key in keyof Mapping]: Mapping[Key] } = { layout: {}, upKnown: true };
  const axesWords: string[] = [];
  const said = new Set<string>();
  let mirrored = false;
  text.split(/\r?\n/).forEach((raw, index) => {
    const sentence = withoutRemark(raw).trim().replace(/\s+/g, ' ');
    if (sentence === '') return;
    const line = index + 1;
    if (sentence === 'mirrored yes') {
      mirrored = true;
      return;
    }
    const split = /^([a-z ]+?) ?: ?(.*)$/i.exec(sentence);
    const subject = split?.[1]?.toLowerCase() ?? '';
    const words = split?.[2] ?? '';
    const topic = ['angles', 'quaternion', 'matrix'].includes(subject) ? 'orientation' : subject;
    if (said.has(topic)) throw saidTwice(line, sentence, topic);
    said.add(topic);
    try {
      understand(subject, words, line, sentence);
    } catch (error) {
      throw onLine(error, line);
    }
  });
  function understand(subject: string, words: string, line: number, sentence: string): void {
    switch (subject) {
      case 'table':
        draft.layout = parseLayout(words, line);
        break;
      case 'time':
        draft.time = parseTime(words, line);
        break;
      case 'angles':
        draft.orientation = parseAngles(words, line);
        break;
      case 'quaternion':
        draft.orientation = parseQuaternion(words, line);
        break;
      case 'matrix':
        draft.orientation = parseMatrix(words, line);
        break;
      case 'rate':
        draft.rate = parseRate(words, line);
        break;
      case 'accel':
        draft.acceleration = parseAcceleration(words, line);
        break;
      case 'axes camera':
        draft.cameraAxes = axesFromWords(words, 'camera');
        axesWords.push(sentence);
        break;
      case 'axes sensor':
        draft.sensorAxes = axesFromWords(words, 'sensor');
        axesWords.push(sentence);
        break;
      case 'axes world':
        draft.upKnown = !/, ?up unknown$/.test(words);
        draft.worldAxes = axesFromWords(words.replace(/, ?up unknown$/, ''), 'world');
        axesWords.push(sentence);
        break;
      default:
        throw misunderstood(line, sentence, Object.values(SENTENCES).join('\n  '));
    }
  }
  const leftHanded = [draft.cameraAxes, draft.sensorAxes, draft.worldAxes].some(
    (axes) => axes?.mirrored,
  );
  if (leftHanded && !mirrored) throw leftHandedAxes(axesWords.join('; '));
  return draft;
}

/** A sentence without what follows a `#` outside quotes. */
function withoutRemark(line: string): string {
  // One step at a time: a repeated group fails on lines of millions of characters.
  let from = 0;
  for (const [quoted] of line.matchAll(/"[^"]*"|#|"/g)) {
    const at = line.indexOf(quoted, from);
    if (quoted.length === 1) return line.slice(0, at);
    from = at + quoted.length;
  }
  return line;
}

function parseLayout(words: string, line: number): TableLayout {
  const match =
    /^(?:separator (?:"(.)"|(tab|space)) ?)?(?:comment "([^"]+)" ?)?(?:skip (\d+) ?)?(?:rows every (\d+))?$/.exec(
      words,
    );
  if (!match || words === '' || match[5] === '0')
    throw misunderstood(line, `table: ${words}`, SENTENCES.table!);
  const separator = match[1] ?? match[2];
  return {
    ...(separator !== undefined && { separator }),
    ...(match[3] !== undefined && { comment: match[3] }),
    ...(match[4] !== undefined && { skip: Number(match[4]) }),
    ...(match[5] !== undefined && { every: Number(match[5]) }),
  };
}

function parseTime(words: string, line: number): TimeSource {
  const stamp = new RegExp(`^column ${COLUMN} unit ${unitPattern(TIME_UNITS)}$`).exec(words);
  if (stamp) {
    return {
      kind: 'stamp',
      column: columnReference(stamp[1]!),
      secondsPerUnit: TIME_UNITS[stamp[2]!]!,
    };
  }
  const frames = new RegExp(`^(?:column ${COLUMN} )?frames at (\\S+)$`).exec(words);
  if (frames) {
    return {
      kind: 'frames',
      ...(frames[1] !== undefined && { column: columnReference(frames[1]) }),
      rate: parseFrameRate(frames[2]!),
    };
  }
  const timecode = new RegExp(`^column ${COLUMN} timecode at (\\S+)( drop)?$`).exec(words);
  if (timecode) {
    return {
      kind: 'timecode',
      column: columnReference(timecode[1]!),
      rate: parseFrameRate(timecode[2]!),
      dropFrame: timecode[3] !== undefined,
    };
  }
  throw misunderstood(line, `time: ${words}`, SENTENCES.time!);
}

function parseAngles(words: string, line: number): OrientationSource {
  const { rest, sense } = takeSense(words, 'camera-to-world');
  const parts = rest.replace(/^turn /, '').split(/ ?, ?then /);
  const turn = new RegExp(
    `^(?:[a-z]+ )?${COLUMN} ${unitPattern(ANGLE_UNITS)} about (fixed )?([a-z]+)$`,
  );
  const turns = parts.map((part) => {
    const match = turn.exec(part);
    const axis = match ? (directionFromWord(match[4]!) ?? axisLetter(match[4]!)) : undefined;
    if (!match || axis === undefined)
      throw misunderstood(line, `angles: ${words}`, SENTENCES.angles!);
    return {
      column: columnReference(match[1]!),
      radiansPerUnit: ANGLE_UNITS[match[2]!]!,
      axis,
      fixed: match[3] !== undefined,
    };
  });
  const fixed = turns.every((each) => each.fixed);
  const letters = turns.filter((each) => typeof each.axis === 'string').length;
  const mixed = (!fixed && turns.some((each) => each.fixed)) || letters % 3 !== 0;
  if (turns.length !== 3 || mixed) throw misunderstood(line, `angles: ${words}`, SENTENCES.angles!);
  return { kind: 'angles', turns: [turns[0]!, turns[1]!, turns[2]!], fixed, sense };
}

function parseQuaternion(words: string, line: number): OrientationSource {
  const { rest, sense } = takeSense(words);
  const columns: Record<string, ColumnReference> = {};
  const pattern = new RegExp(
    `^${['([wxyz])', '([wxyz])', '([wxyz])', '([wxyz])'].map((name) => `${name} ${COLUMN}`).join(' ')}$`,
  );
  const match = pattern.exec(rest);
  if (match) {
    for (let k = 1; k < 9; k += 2) columns[match[k]!] = columnReference(match[k + 1]!);
  }
  const { x, y, z, w } = columns;
  if (x === undefined || y === undefined || z === undefined || w === undefined || !sense) {
    throw misunderstood(line, `quaternion: ${words}`, SENTENCES.quaternion!);
  }
  return { kind: 'quaternion', columns: [x, y, z, w], sense };
}

function parseMatrix(words: string, line: number): OrientationSource {
  const { rest, sense } = takeSense(words);
  const range = /^rows "([^"]*?)11" ?\.\. ?"([^"]*?)33"$/.exec(rest);
  const list = new RegExp(`^rows ${Array(9).fill(COLUMN).join(' ')}$`).exec(rest);
  const columns = list
    ? list.slice(1, 10).map(columnReference)
    : range && range[1] === range[2]
      ? [11, 12, 13, 21, 22, 23, 31, 32, 33].map((place) => `${range[1]}${place}`)
      : nineInARow(rest);
  if (!columns || !sense) throw misunderstood(line, `matrix: ${words}`, SENTENCES.matrix!);
  return { kind: 'matrix', columns, sense };
}

/** Nine columns in a row by their numbers, `rows 2..10`, or by a number in their names, `"m0".."m8"`. */
function nineInARow(words: string): ColumnReference[] | undefined {
  const match = /^rows ("?)([^"]{0,200}?)(\d{1,6})\1 ?\.\. ?\1([^"]{0,200}?)(\d{1,6})\1$/.exec(
    words,
  );
  if (!match) return undefined;
  const [, quote, name, from, other, to] = match as unknown as [string, ...string[]];
  const isNumber = quote === '' && name === '' && Number(from) > 0;
  if (name !== other || Number(to) - Number(from) !== 8 || !(quote === '"' || isNumber)) {
    return undefined;
  }
  const numbers = Array.from({ length: 9 }, (_, k) => Number(from) + k);
  return isNumber ? numbers : numbers.map((number) => `${name}${number}`);
}

function parseRate(words: string, line: number): NonNullable<Mapping['rate']> {
  const { rest, where } = takeRows(words);
  const match = new RegExp(`^${NAMED(['x', 'y', 'z'])} ${COUNTS}${unitPattern(RATE_UNITS)}$`).exec(
    rest,
  );
  const scale = match ? scaleOfCounts(match) : undefined;
  if (!match || scale === undefined) throw misunderstood(line, `rate: ${words}`, SENTENCES.rate!);
  const radians = RATE_UNITS[match[6]!]!;
  return {
    columns: threeColumns(match),
    factor: scale * radians,
    unit: radians === 1 ? 'rad/s' : 'deg/s',
    ...(where && { where }),
  };
}

function parseAcceleration(words: string, line: number): VectorSource {
  const { rest, where } = takeRows(words);
  const match = new RegExp(
    `^${NAMED(['x', 'y', 'z'])} ${COUNTS}${unitPattern(ACCELERATION_UNITS)} at-rest (up|down)$`,
  ).exec(rest);
  const scale = match ? scaleOfCounts(match) : undefined;
  if (!match || scale === undefined) throw misunderstood(line, `accel: ${words}`, SENTENCES.accel!);
  const unit = scale * ACCELERATION_UNITS[match[6]!]!;
  return {
    columns: threeColumns(match),
    factor: match[7] === 'up' ? unit : -unit,
    ...(where && { where }),
  };
}

/** Whole numbers as a sensor counts them: what one count is worth, as a number or a fraction. */
const COUNTS = '(?:counts of (\\d[\\d.]*(?:e-?\\d+)?)(?:/(\\d[\\d.]*))? )?';

/** What one count is worth in the unit behind it; 1 where nothing is counted. */
function scaleOfCounts(match: RegExpExecArray): number | undefined {
  const scale = Number(match[4] ?? 1) / Number(match[5] ?? 1);
  return scale > 0 && Number.isFinite(scale) ? scale : undefined;
}

/** Takes `where "sensor" is "gyro"` off the end of a sentence. */
function takeRows(words: string): { rest: string; where?: RowChoice } {
  const match = new RegExp(`^(.*?) where ${COLUMN} is "([^"]*)"$`).exec(words);
  if (!match) return { rest: words };
  return { rest: match[1]!, where: { column: columnReference(match[2]!), text: match[3]! } };
}

function threeColumns(match: RegExpExecArray): [ColumnReference, ColumnReference, ColumnReference] {
  return [columnReference(match[1]!), columnReference(match[2]!), columnReference(match[3]!)];
}

function takeSense(words: string, fallback: Sense): { rest: string; sense: Sense };
function takeSense(words: string): { rest: string; sense: Sense | undefined };
function takeSense(words: string, fallback?: Sense): { rest: string; sense: Sense | undefined } {
  const match = /^(.*?) sense (camera-to-world|world-to-camera)$/.exec(words);
  return match ? { rest: match[1]!, sense: match[2] as Sense } : { rest: words, sense: fallback };
}

function columnReference(text: string): ColumnReference {
  return text.startsWith('"') ? text.slice(1, -1) : Number(text);
}

function axisLetter(word: string): 'x' | 'y' | 'z' | undefined {
  return word === 'x' || word === 'y' || word === 'z' ? word : undefined;
}

/** The error for two answers to one question. */
function saidTwice(line: number, sentence: string, topic: string): TwinkeelError {
  return new TwinkeelError('mapping/syntax', {
    line,
    found: `"${sentence}", a second line about ${topic} in the mapping`,
    expected: 'one line about each thing',
    remedy: 'keep the one that is true',
  });
}

/** The same error, now saying which line of the mapping it came from. */
function onLine(error: unknown, line: number): unknown {
  if (!(error instanceof TwinkeelError) || error.place.line !== undefined) return error;
  const { expected, found, remedy } = error;
  return new TwinkeelError(error.code, { line, expected, found, remedy });
}

function misunderstood(line: number, sentence: string, expected: string): TwinkeelError {
  const near = meantInSentence(sentence, Object.keys(SENTENCES));
  return new TwinkeelError('mapping/syntax', {
    line,
    found: `"${sentence.length > 100 ? `${sentence.slice(0, 100)}…` : sentence}" in the mapping`,
    expected: 'a sentence that describes the file',
    remedy: `${near === undefined ? '' : `${near}; `}write it like\n  ${expected}`,
  });
}
