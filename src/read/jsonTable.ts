import { TwinkeelError } from '../error.js';
import { requireShallow } from './jsonDepth.js';
import { emptyTable, type Table, tableFromCells } from './table.js';

/** Whether a text is JSON rather than a table: it starts with a brace or a bracket. */
export function isJson(text: string): boolean {
  return /^\s*[[{]/.test(text);
}

/** How deep objects and lists may nest inside a sample. */
const DEEPEST = 8;

/**
 * A table of the samples of a JSON text: either a list of objects, one per sample, or one object
 * of lists, one per column. Nested objects and lists become columns named by their path
 * (`rotation.x`, `q.0`). The "line" of a sample in messages is its number from 1.
 *
 * @throws TwinkeelError `read/json` when the text is not JSON or of another shape
 */
export function tableFromJson(text: string): Table {
  const samples = jsonSamples(text);
  const header = Object.keys(flatten(samples[0], 1));
  const cells = samples.map((sample, index) => {
    const flat = flatten(sample, index + 1);
    return header.map((name) => {
      if (!Object.hasOwn(flat, name)) {
        throw new TwinkeelError('read/json', {
          line: index + 1,
          column: `"${name}"`,
          found: 'no value',
          expected: 'the same keys in every sample',
          remedy: 'add the value or leave the sample out',
        });
      }
      return String(flat[name]);
    });
  });
  return tableFromCells(
    header,
    cells,
    Uint32Array.from({ length: cells.length }, (_, k) => k + 1),
  );
}

/**
 * The samples of a JSON text: a list, one object of lists, or one object per line.
 *
 * @throws TwinkeelError `read/json`, `read/empty`
 */
export function jsonSamples(text: string): unknown[] {
  const samples = isJsonLines(text) ? linesOf(text) : samplesOf(parseJson(text));
  if (samples.length === 0) throw emptyTable('a list without samples');
  return samples;
}

/** Whether the first line that is not blank is a whole object and another begins after it. */
function isJsonLines(text: string): boolean {
  const from = text.search(/\S/);
  const end = text.indexOf('\n', from);
  if (from < 0 || end < 0) return false;
  const line = text.slice(from, end).trimEnd();
  return line.startsWith('{') && line.endsWith('}') && text.slice(end).trimStart().startsWith('{');
}

function linesOf(text: string): unknown[] {
  return text.split('\n').flatMap((line, index) => {
    if (line.trim() === '') return [];
    try {
      return [parseJson(line)];
    } catch (error) {
      if (!(error instanceof TwinkeelError)) throw error;
      const { found, expected, remedy } = error;
      throw new TwinkeelError(error.code, { line: index + 1, found, expected, remedy });
    }
  });
}

function samplesOf(value: unknown): unknown[] {
  const single = (value as { transforms?: unknown } | null)?.transforms !== undefined;
  return Array.isArray(value) ? value : single ? [value] : rowsFromColumns(value);
}

/** The value of a JSON text, or an error that says where it stops being one. */
export function parseJson(text: string, wanted = SAMPLES): unknown {
  try {
    requireShallow(text);
    return JSON.parse(text);
  } catch (error) {
    if (error instanceof TwinkeelError) throw error;
    throw new TwinkeelError('read/json', {
      found: `text that is not JSON (${error instanceof Error ? error.message : String(error)})`,
      ...wanted,
    });
  }
}

/** What a table in JSON should be, where another kind of file does not say it better. */
const SAMPLES = {
  expected: 'a list of samples or an object of columns',
  remedy: 'export the file again',
};

function rowsFromColumns(value: unknown): unknown[] {
  const columns = Object.entries((value ?? {}) as Record<string, unknown>).filter(([, column]) =>
    Array.isArray(column),
  ) as [string, unknown[]][];
  const first = columns[0];
  if (first === undefined) {
    throw new TwinkeelError('read/json', {
      found: 'an object without lists',
      expected: 'a list of samples or an object of equally long lists',
      remedy: 'see the guide on formats',
    });
  }
  for (const [name, column] of columns) {
    if (column.length !== first[1].length) {
      throw new TwinkeelError('read/json', {
        column: `"${name}"`,
        found: `${column.length} values`,
        expected: `${first[1].length}, as in "${first[0]}"`,
        remedy: 'make all columns equally long',
      });
    }
  }
  return first[1].map((_, row) =>
    Object.fromEntries(columns.map(([name, column]) => [name, column[row]])),
  );
}

/** Numbers and texts of a sample by their path; other values are left out. */
function flatten(sample: unknown, line: number): Record<string, number | string> {
  const flat: Record<string, number | string> = Object.create(null);
  const visit = (value: unknown, path: string, depth: number) => {
    if (typeof value === 'number' || typeof value === 'string') flat[path] = value;
    else if (value !== null && typeof value === 'object' && depth < DEEPEST) {
      for (const [key, inner] of Object.entries(value)) {
        visit(inner, path === '' ? key : `${path}.${key}`, depth + 1);
      }
    }
  };
  if (sample === null || typeof sample !== 'object') {
    throw new TwinkeelError('read/json', {
      line,
      found: JSON.stringify(sample)?.slice(0, 40) ?? 'nothing',
      expected: 'an object with one value per column',
      remedy: 'write each sample as an object',
    });
  }
  visit(sample, '', 0);
  return flat;
}
