/** How the values of settings are written and checked, wherever they stand. Light: `--help` loads it. */
import { TwinkeelError } from '../error.js';
import { parseFrameRate } from '../track/frameRate.js';

/** What is wrong with a value, as the parts of one sentence. */
export interface WrongValue {
  readonly found: string;
  readonly expected: string;
  /** What to write instead, where more than the expectation can be said. */
  readonly remedy?: string;
}

/** One way of writing a value. */
export interface Kind<Value extends string | number = string | number> {
  /** What a text of the command line stands for: itself where it stands for nothing else. */
  readonly fromText: (text: string) => string | number;
  /** What is wrong with a value, or undefined where it is one of this kind. */
  readonly wrong: (value: unknown) => WrongValue | undefined;
  /** The same as JSON Schema (draft 2020-12). */
  readonly schema: Readonly<Record<string, unknown>>;
  /** The words that are values, to tell which one was meant. */
  readonly words: readonly string[];
  /** Whether the value is the path of a file. */
  readonly isFile?: true;
  /** Not there: carries the type of the values. */
  readonly of?: Value;
}

/** The type of the values of a kind. */
export type ValueOf<K> = K extends Kind<infer Value> ? Value : never;

/** Any text that is not empty, or one that looks like this. */
export function text(pattern?: RegExp, expected = 'a text'): Kind<string> {
  return {
    fromText: (written) => written,
    wrong: unless((value) => isText(value) && (pattern?.test(value) ?? true), expected),
    schema: { type: 'string', ...(pattern ? { pattern: pattern.source } : { minLength: 1 }) },
    words: [],
  };
}

/** The path of a file. */
export function file(): Kind<string> & { readonly isFile: true } {
  return { ...text(), isFile: true };
}

/** One of a few words. */
export function word<Word extends string>(words: readonly Word[]): Kind<Word> {
  const expected = oneOf(words);
  return {
    fromText: (written) => written,
    wrong: unless((value) => (words as readonly unknown[]).includes(value), expected),
    schema: { enum: words },
    words,
  };
}

/** Words in any number, with commas between them. */
export function wordList(words: readonly string[]): Kind<string> {
  const all = words.join('|');
  const expected = `${words.join(', ')}, with commas where several are meant`;
  return { ...text(new RegExp(`^(${all})(,(${all}))*$`), expected), words };
}

/** Which numbers a setting takes. */
export interface Bounds {
  readonly least?: number;
  readonly most?: number;
  /** The number itself is no value. */
  readonly above?: number;
}

/** A number within bounds. */
export function number(expected: string, { least, most, above }: Bounds = {}): Kind<number> {
  const fits = (value: number) =>
    Number.isFinite(value) &&
    value >= (least ?? Number.NEGATIVE_INFINITY) &&
    value <= (most ?? Number.POSITIVE_INFINITY) &&
    value > (above ?? Number.NEGATIVE_INFINITY);
  return {
    fromText: (written) => {
      const value = written.trim() === '' ? Number.NaN : Number(written);
      return Number.isNaN(value) ? written : value;
    },
    wrong: unless((value) => typeof value === 'number' && fits(value), expected),
    schema: {
      type: 'number',
      ...(least !== undefined && { minimum: least }),
      ...(most !== undefined && { maximum: most }),
      ...(above !== undefined && { exclusiveMinimum: above }),
    },
    words: [],
  };
}

/** A number, or one word in its place. */
export function numberOr<Word extends string>(
  only: Word,
  expected: string,
  bounds: Bounds,
): Kind<number | Word> {
  const numbers = number(expected, bounds);
  return {
    fromText: numbers.fromText,
    wrong: unless((value) => value === only || !numbers.wrong(value), `${expected} or "${only}"`),
    schema: { anyOf: [numbers.schema, { const: only }] },
    words: [only],
  };
}

/** An exact frame rate. JSON has no fractions, so that it is a text there too. */
export function frameRate(): Kind<string> {
  return {
    fromText: (written) => written,
    wrong: (value) => {
      if (typeof value === 'number') {
        const remedy = 'write "60", or "60000/1001" for 59.94';
        return { found: shown(value), expected: 'the rate in quotes', remedy };
      }
      try {
        parseFrameRate(isText(value) ? value : '');
        return undefined;
      } catch (error) {
        if (!(error instanceof TwinkeelError)) throw error;
        return { found: shown(value), expected: error.expected, remedy: error.remedy };
      }
    },
    schema: { type: 'string', pattern: '^\\d{1,7}(/\\d{1,5})?$' },
    words: [],
  };
}

function unless(isValue: (value: unknown) => boolean, expected: string): Kind['wrong'] {
  return (value) => (isValue(value) ? undefined : { found: shown(value), expected });
}

/** Whether a value can be a text or a path. */
export function isText(value: unknown): value is string {
  return typeof value === 'string' && value !== '' && !value.includes('\0');
}

/** A few words as an expectation. */
export function oneOf(words: readonly string[]): string {
  return `one of ${words.join(', ')}`;
}

/** A value as a sentence shows it. */
export function shown(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (typeof value === 'number') return String(value);
  // Whole objects say little in a sentence, and may nest deeper than they can be written.
  if (Array.isArray(value)) return value.length === 0 ? 'an empty list' : 'a list';
  return typeof value === 'object' && value ? 'an object' : JSON.stringify(value).slice(0, 60);
}
