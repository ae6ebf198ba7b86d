import type { Table } from './table.js';

const TIME_WORDS: readonly [RegExp, string][] = [
  [/^(s|sec|secs|seconds?)$/i, 's'],
  [/^(ms|millis.*)$/i, 'ms'],
  [/^(us|µs|μs|micros.*)$/i, 'us'],
  [/^(ns|nanos.*)$/i, 'ns'],
];

/** The unit of a time column: its word, or what makes rows some 0.1 to 50 ms apart. */
export function timeUnitOf(
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

/** The unit of a rate: its word, or what its size says. */
export function rateUnit(
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

/** The unit of a force: its word, or what its size says. */
export function accelerationUnit(
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

/** A column's numbers, or undefined where a cell is none. */
export function numbersOf(table: Table, column: number): Float64Array | undefined {
  try {
    return table.numbers(column);
  } catch {
    return undefined;
  }
}
