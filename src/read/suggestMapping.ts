import { accelerationUnit, numbersOf, rateUnit, timeUnitOf } from './suggestUnits.js';
import type { Table } from './table.js';

/** Sentences for a file whose layout is unknown, and what they rest on. */
export interface SuggestedMapping {
  /** One sentence each, to be checked by whoever knows the file. */
  readonly sentences: readonly string[];
  /** What was told from the data or from a row of units rather than from names. */
  readonly reasons: readonly string[];
}

/** Longer names are no words; patterns with repetitions would take the square of their length. */
const LONGEST_NAME = 60;

/** A table, which of its columns have telling names, and what was told from other things. */
interface Findings {
  readonly table: Table;
  /** The names of the columns as they are; empty without a header. */
  readonly names: readonly string[];
  readonly plainNames: readonly string[];
  /** Columns of a turning rate, a force, plain vectors and a quaternion, by axis; -1 where none is. */
  readonly gyro: readonly number[];
  readonly acceleration: readonly number[];
  readonly bare: readonly number[];
  readonly quaternion: readonly number[];
  /** The column that names the sensor of a row, or -1. */
  readonly sensor: number;
  readonly reasons: string[];
}

/**
 * What the names of the columns and the numbers below them suggest. Never applied by itself: axes
 * and signs cannot be told from a table. Words in capitals stand for columns that were not found.
 *
 * @param table - whatever was read of the file
 */
export function suggestMapping(table: Table): SuggestedMapping {
  const found = findColumns(table);
  const time = timeSentence(found);
  return { sentences: [time, ...sentencesOf(found)], reasons: found.reasons };
}

function findColumns(table: Table): Findings {
  const names = table.header ?? [];
  const plainNames = names.map((name) => (name.length > LONGEST_NAME ? '' : plainName(name)));
  const triple = (prefix: string) =>
    AXES.map((axis) => find(plainNames, new RegExp(`^(${prefix})[a-z]*_?${axis}($|_)`)));
  const anyQ = plainNames.some((name) => /q/.test(name));
  return {
    table,
    names,
    plainNames,
    gyro: triple('g|w|omega|rate|ang|rot_?rate'),
    acceleration: triple('a|acc|accel|f|force'),
    bare: triple('|value_?|val_?|data_?'),
    quaternion: [...AXES, 'w'].map((axis) =>
      find(plainNames, new RegExp(anyQ ? `q[a-z]*_?${axis}$` : `(^|_)${axis}$`)),
    ),
    sensor: find(plainNames, /^(sensor|type|kind|source|sensor_?name)$/),
    reasons: [],
  };
}

const AXES = ['x', 'y', 'z'];
const SENSOR_AXES = 'axes sensor: x right, y up, z back';
const CAMERA_AND_WORLD = [
  'axes camera: x right, y up, z back',
  'axes world: x east, y north, z up',
];

function find(plainNames: readonly string[], pattern: RegExp): number {
  return plainNames.findIndex((name) => pattern.test(name));
}

const all = (columns: readonly number[]) => columns.every((k) => k >= 0);

/** What the file seems to hold besides time. */
function sentencesOf(found: Findings): string[] {
  const { plainNames, table } = found;
  if (found.sensor >= 0 && all(found.bare)) return sensorRowSentences(found);
  const isGyro =
    all(found.gyro) && plainNames.some((name) => /gyr|^g_?[xyz]|rate|omega|^w_?[xyz]/.test(name));
  const isAcceleration = all(found.acceleration);
  if (isGyro || (isAcceleration && !all(found.quaternion))) {
    return [
      ...(isGyro ? [rateSentence(found, found.gyro)] : []),
      accelerationSentence(found),
      SENSOR_AXES,
    ];
  }
  const matrix = matrixColumns(plainNames);
  if (matrix) return matrixSentences(found, matrix);
  const turns = angleColumns(plainNames);
  if (turns) return [anglesSentence(found, turns)];
  const isBareGyro =
    table.header && all(found.bare) && !all(found.quaternion) && looksLikeRates(table, found.bare);
  return isBareGyro ? bareGyroSentences(found) : quaternionSentences(found);
}

function timeSentence(found: Findings): string {
  const time = find(found.plainNames, /time|stamp|^t$|^t_|^epoch/);
  const unit = timeUnitOf(found.table, time, unitOf(found, time), found.reasons);
  return `time: column ${quote(found, time, 1, 'TIME')} unit ${unit}`;
}

/** The rows of several sensors, one of which a column names. */
function sensorRowSentences(found: Findings): string[] {
  const { table, sensor, bare, names, reasons } = found;
  const held = [...new Set(table.texts(sensor).slice(0, 2000))].slice(0, 8);
  const rows = (pattern: RegExp, fallback: string) =>
    ` where "${names[sensor]}" is "${held.find((text) => pattern.test(text)) ?? fallback}"`;
  reasons.push(`the column "${names[sensor]}" holds ${held.map((text) => `"${text}"`).join(', ')}`);
  return [
    `rate: ${vector(found, bare, 2, 'G')} rad/s${rows(/gyr|rate|omega/i, 'GYRO')}`,
    `accel: ${vector(found, bare, 2, 'A')} m/s2 at-rest up${rows(/acc|force/i, 'ACCEL')}`,
    SENSOR_AXES,
  ];
}

function rateSentence(found: Findings, columns: readonly number[]): string {
  const unit = rateUnit(found.table, columns, unitOf(found, columns[0]!), found.reasons);
  return `rate: ${vector(found, columns, 2, 'G')} ${unit}`;
}

function accelerationSentence(found: Findings): string {
  const { acceleration, reasons, table } = found;
  const unit = accelerationUnit(table, acceleration, unitOf(found, acceleration[0]!), reasons);
  return `accel: ${vector(found, acceleration, 5, 'A')} ${unit} at-rest up`;
}

function bareGyroSentences(found: Findings): string[] {
  const sentence = rateSentence(found, found.bare);
  found.reasons.push('three columns of numbers around zero look like the rates of a gyroscope');
  return [sentence, SENSOR_AXES];
}

function matrixSentences({ names }: Findings, columns: readonly number[]): string[] {
  const rows = columns.map((k) => `"${names[k]}"`).join(' ');
  return [`matrix: rows ${rows} sense camera-to-world`, ...CAMERA_AND_WORLD];
}

function quaternionSentences(found: Findings): string[] {
  const parts = [...AXES, 'w'].map(
    (axis, k) => `${axis} ${quote(found, found.quaternion[k]!, 2 + k, `Q${axis.toUpperCase()}`)}`,
  );
  return [`quaternion: ${parts.join(' ')} sense camera-to-world`, ...CAMERA_AND_WORLD];
}

/** Three columns by their axes. */
function vector(
  found: Findings,
  columns: readonly number[],
  first: number,
  fallback: string,
): string {
  return AXES.map(
    (axis, k) => `${axis} ${quote(found, columns[k]!, first + k, fallback + axis.toUpperCase())}`,
  ).join(' ');
}

/** A column as a sentence has it. */
function quote({ table, names }: Findings, index: number, number: number, fallback: string) {
  // Without a header the sentence holds the column's number; which one is for the person to say.
  if (!table.header) return `${number}`;
  return `"${index >= 0 ? names[index] : fallback}"`;
}

/** The word for a column's unit: in its name, or in a row of units. */
function unitOf({ names, table }: Findings, index: number): string | undefined {
  return unitInName(names[index] ?? '') ?? table.units?.[index];
}

/** A name in small letters, what stands in brackets left out, blanks and dots as `_`. */
function plainName(name: string): string {
  return name
    .replace(/[([].*$/, '')
    .trim()
    .toLowerCase()
    .replace(/[ .\-/]+/g, '_');
}

/** The unit in brackets behind a name. */
function unitInName(name: string): string | undefined {
  return /[([]\s*([^)\]]+?)\s*[)\]]/.exec(name)?.[1];
}

function looksLikeRates(table: Table, columns: readonly number[]): boolean {
  return columns.every((column) => {
    const values = numbersOf(table, column);
    if (!values || values.length < 20) return false;
    return values.some((value) => value > 0) && values.some((value) => value < 0);
  });
}

/** Nine columns called r11 … r33, m00 … m22 or alike, row by row. */
function matrixColumns(names: readonly string[]): number[] | undefined {
  for (const first of [1, 0]) {
    const columns = [0, 1, 2].flatMap((row) =>
      [0, 1, 2].map((column) =>
        names.findIndex((name) =>
          new RegExp(`^[a-z_]*${row + first}_?${column + first}$`).test(name),
        ),
      ),
    );
    if (columns.every((k) => k >= 0) && new Set(columns).size === 9) return columns;
  }
  return undefined;
}

/** Columns of pan, tilt and roll by their usual names. */
function angleColumns(names: readonly string[]): [number, number, number] | undefined {
  const columns: [number, number, number] = [
    find(names, /(^|_)(pan|yaw|heading|azimuth)($|_)/),
    find(names, /(^|_)(tilt|pitch|elevation)($|_)/),
    find(names, /(^|_)(roll|bank)($|_)/),
  ];
  return all(columns) ? columns : undefined;
}

function anglesSentence(found: Findings, columns: readonly [number, number, number]): string {
  const { table, reasons } = found;
  const word = unitOf(found, columns[0]) ?? '';
  const largest = Math.max(
    ...columns.map((column) =>
      (numbersOf(table, column) ?? new Float64Array(0)).reduce(
        (m, v) => Math.max(m, Math.abs(v)),
        0,
      ),
    ),
  );
  const unit = /rad/i.test(word)
    ? 'rad'
    : /deg|°/i.test(word) || largest > 2 * Math.PI
      ? 'deg'
      : 'rad';
  if (word === '') {
    reasons.push(
      unit === 'deg'
        ? `angles up to ${largest.toFixed(0)} are degrees`
        : `angles stay below ${largest.toFixed(2)}: radians, or degrees of a camera that hardly turns`,
    );
  }
  const turn = (name: string, k: 0 | 1 | 2, axis: string) =>
    `${name} "${table.header?.[columns[k]]}" ${unit} about ${axis}`;
  return `angles: turn ${turn('heading', 0, 'up')}, then ${turn('tilt', 1, 'right')}, then ${turn('roll', 2, 'forward')}`;
}
