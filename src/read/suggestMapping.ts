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

/**
 * What the names of the columns and the numbers below them suggest. Never applied by itself: axes
 * and signs cannot be told from a table. Words in capitals stand for columns that were not found.
 *
 * @param table - whatever was read of the file
 */
export function suggestMapping(table: Table): SuggestedMapping {
  const reasons: string[] = [];
  const names = table.header ?? [];
  const clean = names.map((name) => (name.length > LONGEST_NAME ? '' : plainName(name)));
  // Without a header the sentence holds the column's number; which one is for the person to say.
  const quote = (index: number, number: number, fallback: string) => {
    if (!table.header) return `${number}`;
    return `"${index >= 0 ? names[index] : fallback}"`;
  };
  const find = (pattern: RegExp) => clean.findIndex((name) => pattern.test(name));
  const time = find(/time|stamp|^t$|^t_|^epoch/);
  const timeColumn = quote(time, 1, 'TIME');
  const sensor = find(/^(sensor|type|kind|source|sensor_?name)$/);
  const unitOf = (index: number) => unitInName(names[index] ?? '') ?? table.units?.[index];
  const timeUnit = timeUnitOf(table, time, unitOf(time), reasons);
  const sentences = [`time: column ${timeColumn} unit ${timeUnit}`];

  const triple = (prefix: string) =>
    ['x', 'y', 'z'].map((axis) => find(new RegExp(`^(${prefix})[a-z]*_?${axis}($|_)`)));
  const gyro = triple('g|w|omega|rate|ang|rot_?rate');
  const acceleration = triple('a|acc|accel|f|force');
  const bare = triple('|value_?|val_?|data_?');
  const isGyro =
    gyro.every((k) => k >= 0) &&
    clean.some((name) => /gyr|^g_?[xyz]|rate|omega|^w_?[xyz]/.test(name));
  const isAcceleration = acceleration.every((k) => k >= 0);
  const vector = (columns: readonly number[], first: number, fallback: string) =>
    ['x', 'y', 'z']
      .map((axis, k) => `${axis} ${quote(columns[k]!, first + k, fallback + axis.toUpperCase())}`)
      .join(' ');
  const rateSentence = (columns: readonly number[], rows = '') =>
    `rate: ${vector(columns, 2, 'G')} ${rateUnit(table, columns, unitOf(columns[0]!), reasons)}${rows}`;
  const accelerationSentence = (columns: readonly number[], rows = '') =>
    `accel: ${vector(columns, 5, 'A')} ${accelerationUnit(table, columns, unitOf(columns[0]!), reasons)} at-rest up${rows}`;
  const sensorAxes = 'axes sensor: x right, y up, z back';
  const quaternion = ['x', 'y', 'z', 'w'].map((axis) =>
    find(new RegExp(clean.some((name) => /q/.test(name)) ? `q[a-z]*_?${axis}$` : `(^|_)${axis}$`)),
  );

  if (sensor >= 0 && bare.every((k) => k >= 0)) {
    const held = [...new Set(table.texts(sensor).slice(0, 2000))].slice(0, 8);
    const named = (pattern: RegExp, fallback: string) =>
      held.find((text) => pattern.test(text)) ?? fallback;
    const rows = (text: string) => ` where "${names[sensor]}" is "${text}"`;
    sentences.push(
      `rate: ${vector(bare, 2, 'G')} rad/s${rows(named(/gyr|rate|omega/i, 'GYRO'))}`,
      `accel: ${vector(bare, 2, 'A')} m/s2 at-rest up${rows(named(/acc|force/i, 'ACCEL'))}`,
      sensorAxes,
    );
    reasons.push(
      `the column "${names[sensor]}" holds ${held.map((text) => `"${text}"`).join(', ')}`,
    );
  } else if (isGyro || (isAcceleration && !quaternion.every((k) => k >= 0))) {
    if (isGyro) sentences.push(rateSentence(gyro));
    if (isAcceleration || isGyro) sentences.push(accelerationSentence(acceleration));
    sentences.push(sensorAxes);
  } else {
    const matrix = matrixColumns(clean);
    const turns = angleColumns(clean);
    if (matrix) {
      sentences.push(
        `matrix: rows ${matrix.map((k) => `"${names[k]}"`).join(' ')} sense camera-to-world`,
        'axes camera: x right, y up, z back',
        'axes world: x east, y north, z up',
      );
    } else if (turns) {
      sentences.push(anglesSentence(table, turns, unitOf, reasons));
    } else if (
      table.header &&
      bare.every((k) => k >= 0) &&
      !quaternion.every((k) => k >= 0) &&
      looksLikeRates(table, bare)
    ) {
      sentences.push(rateSentence(bare), sensorAxes);
      reasons.push('three columns of numbers around zero look like the rates of a gyroscope');
    } else {
      const parts = ['x', 'y', 'z', 'w'].map(
        (axis, k) => `${axis} ${quote(quaternion[k]!, 2 + k, `Q${axis.toUpperCase()}`)}`,
      );
      sentences.push(
        `quaternion: ${parts.join(' ')} sense camera-to-world`,
        'axes camera: x right, y up, z back',
        'axes world: x east, y north, z up',
      );
    }
  }
  return { sentences, reasons };
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

const TIME_WORDS: readonly [RegExp, string][] = [
  [/^(s|sec|secs|seconds?)$/i, 's'],
  [/^(ms|millis.*)$/i, 'ms'],
  [/^(us|µs|μs|micros.*)$/i, 'us'],
  [/^(ns|nanos.*)$/i, 'ns'],
];

/** The unit of a time column: its word, or what makes rows some 0.1 to 50 ms apart. */
function timeUnitOf(
  table: Table,
  column: number,
  word: string | undefined,
  reasons: string[],
): string {
  const said = TIME_WORDS.find(([pattern]) => pattern.test(word?.trim() ?? ''))?.[1];
  if (said) return said;
  const values = column >= 0 ? numbersOf(table, column) : undefined;
  if (!values || values.length < 3) return 's';
  const steps: number[] = [];
  for (let k = 1; k < Math.min(values.length, 2000); k++) {
    const step = values[k]! - values[k - 1]!;
    if (step > 0) steps.push(step);
  }
  steps.sort((a, b) => a - b);
  const step = steps[steps.length >> 1];
  if (step === undefined) return 's';
  const units = [
    ['s', 1],
    ['ms', 1e-3],
    ['us', 1e-6],
    ['ns', 1e-9],
  ] as const;
  const fitting = units.filter(([, seconds]) => step * seconds > 5e-5 && step * seconds < 0.06);
  if (fitting.length !== 1) return 's';
  const [unit, seconds] = fitting[0]!;
  if (unit !== 's') {
    reasons.push(
      `rows are ${step} apart in the time column, which is ${(1 / (step * seconds)).toFixed(0)} a second in ${unit}`,
    );
  }
  return unit;
}

/** No hand turns faster on average, rad/s: more are degrees (our judgement). */
const FASTEST = 6;

function rateUnit(
  table: Table,
  columns: readonly number[],
  word: string | undefined,
  reasons: string[],
): string {
  if (/deg|dps|°/i.test(word ?? '')) return 'deg/s';
  if (/rad/i.test(word ?? '')) return 'rad/s';
  const size = meanSize(table, columns);
  if (size === undefined || size < FASTEST) return 'rad/s';
  if (size > 2000) {
    reasons.push(`rates of ${size.toFixed(0)} on average look like counts of the sensor`);
    return 'counts of 1/16.4 deg/s';
  }
  reasons.push(`rates of ${size.toFixed(0)} on average are too fast for rad/s`);
  return 'deg/s';
}

function accelerationUnit(
  table: Table,
  columns: readonly number[],
  word: string | undefined,
  reasons: string[],
): string {
  if (/^g$|^\(?g0\)?$/i.test(word ?? '')) return 'g';
  if (/m/i.test(word ?? '')) return 'm/s2';
  const size = meanSize(table, columns);
  if (size === undefined) return 'm/s2';
  if (size > 0.7 && size < 1.4) {
    reasons.push(`forces of ${size.toFixed(2)} on average are multiples of gravity`);
    return 'g';
  }
  if (size > 500) {
    // A power of two for one gravity, as sensors count.
    const count = 2 ** Math.round(Math.log2(size));
    reasons.push(`forces of ${size.toFixed(0)} on average look like counts of the sensor`);
    return `counts of 1/${count} g`;
  }
  return 'm/s2';
}

/** Mean length of the vectors in three columns; undefined where they are no numbers. */
function meanSize(table: Table, columns: readonly number[]): number | undefined {
  const values = columns.map((column) => (column >= 0 ? numbersOf(table, column) : undefined));
  const [x, y, z] = values;
  if (!x || !y || !z || x.length === 0) return undefined;
  let sum = 0;
  for (let k = 0; k < x.length; k++) sum += Math.hypot(x[k]!, y[k]!, z[k]!);
  return sum / x.length;
}

function looksLikeRates(table: Table, columns: readonly number[]): boolean {
  return columns.every((column) => {
    const values = numbersOf(table, column);
    if (!values || values.length < 20) return false;
    return values.some((value) => value > 0) && values.some((value) => value < 0);
  });
}

/** A column's numbers, or undefined where a cell is none. */
function numbersOf(table: Table, column: number): Float64Array | undefined {
  try {
    return table.numbers(column);
  } catch {
    return undefined;
  }
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
  const find = (pattern: RegExp) => names.findIndex((name) => pattern.test(name));
  const columns: [number, number, number] = [
    find(/(^|_)(pan|yaw|heading|azimuth)($|_)/),
    find(/(^|_)(tilt|pitch|elevation)($|_)/),
    find(/(^|_)(roll|bank)($|_)/),
  ];
  return columns.every((k) => k >= 0) ? columns : undefined;
}

function anglesSentence(
  table: Table,
  columns: readonly [number, number, number],
  unitOf: (index: number) => string | undefined,
  reasons: string[],
): string {
  const word = unitOf(columns[0]) ?? '';
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
