import { printable } from '../error.js';
import { meant } from '../nearestWord.js';
import { oneOf, shown, type WrongValue } from './settingKinds.js';

/** Options as they come from the command line. */
export type Options = Readonly<Record<string, string | boolean | undefined>>;

/** A call that cannot be carried out as it is written: exit code 2. */
export class UsageError extends Error {
  override readonly name = 'UsageError';

  constructor(message: string) {
    super(printable(message.length > LONGEST ? `${message.slice(0, LONGEST)}…` : message));
  }
}

/** An option may hold anything; a sentence ends. */
const LONGEST = 600;

/** The error of a call in which something else was expected. */
export function wrongUse(where: string, { found, expected, remedy }: WrongValue): UsageError {
  const end = remedy === undefined ? '' : `; ${remedy}`;
  return new UsageError(`${where}: found ${found}, expected ${expected}${end}`);
}

/** The folder to write into. */
export function requireOut(options: Options): string {
  const out = textOf(options, 'out');
  if (out === undefined) throw new UsageError('say where to write: --out DIR');
  return out;
}

/** An option's text; a flag has none. */
export function textOf(options: Options, key: string): string | undefined {
  const value = options[key];
  return typeof value === 'string' ? value : undefined;
}

/** An option's number. */
export function numberOf(options: Options, key: string): number | undefined {
  const value = textOf(options, key);
  if (value === undefined) return undefined;
  const number = Number(value);
  if (value.trim() === '' || !Number.isFinite(number)) throw wrong(key, value, 'a number');
  return number;
}

/** An option's whole number from `least` on. */
export function countOf(options: Options, key: string, least: number): number | undefined {
  const number = numberOf(options, key);
  if (number !== undefined && !(Number.isInteger(number) && number >= least)) {
    throw wrong(key, textOf(options, key)!, `a whole number from ${least} on`);
  }
  return number;
}

/** An option that must be one of a few words. */
export function wordOf<T extends string>(
  options: Options,
  key: string,
  words: readonly T[],
): T | undefined {
  const value = textOf(options, key);
  if (value !== undefined && !words.includes(value as T)) {
    const remedy = meant(value, words);
    throw wrongUse(`--${key}`, {
      found: shown(value),
      expected: oneOf(words),
      ...(remedy !== undefined && { remedy }),
    });
  }
  return value as T | undefined;
}

function wrong(key: string, value: string, expected: string): UsageError {
  return wrongUse(`--${key}`, { found: shown(value), expected });
}
