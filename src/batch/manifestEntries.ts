import { TwinkeelError } from '../error.js';
import { meant } from '../nearestWord.js';
import { isText, shown } from './settingKinds.js';

/** The entries of an object, or the refusal of anything else. */
export function record(value: unknown, entry: string): Record<string, unknown> {
  if (value === null || typeof value !== 'object' || Array.isArray(value)) {
    throw invalid(entry, shown(value), 'an object');
  }
  return value as Record<string, unknown>;
}

/** A text that is not empty. */
export function text(value: unknown, entry: string): string {
  if (isText(value)) return value;
  throw invalid(entry, shown(value), 'a text');
}

/** Refuses entries of other names: a slip of the pen must not pass for a wish that was heard. */
export function refuseUnknown(
  entries: Record<string, unknown>,
  known: readonly string[],
  prefix: string,
): void {
  const unknown = Object.keys(entries).find((name) => !known.includes(name));
  if (unknown === undefined) return;
  const expected = `one of ${known.join(', ')}`;
  throw invalid(`${prefix}${unknown}`, 'an unknown entry', expected, meant(unknown, known));
}

/** Refuses notes that are no texts; what they say is for people alone. */
export function checkNotes(notes: unknown, entry: string): void {
  if (notes === undefined) return;
  if (!Array.isArray(notes)) throw invalid(entry, shown(notes), 'a list of texts');
  for (const [k, note] of notes.entries()) {
    if (typeof note !== 'string') throw invalid(`${entry}[${k}]`, shown(note), 'a text');
  }
}

/** The error of an entry. */
export function invalid(
  entry: string,
  found: string,
  expected: string,
  remedy = 'correct the manifest',
): TwinkeelError {
  return new TwinkeelError('manifest/invalid', { column: `"${entry}"`, found, expected, remedy });
}
