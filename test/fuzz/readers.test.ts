/**
 * Any bytes are read or refused with the library's own error. Cases that once were neither lie in
 * `corpus/`, one folder per reader; they came from these properties, and from a fuzzer that is
 * guided by coverage, run by hand for a minute per reader.
 */
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, test } from 'vitest';
import { TwinkeelError } from '../../src/error.js';
import { fc } from '../seed.js';
import { dishonesty } from './honest.js';
import { files } from './mutations.js';
import { readersIn } from './readers.js';

/** Most milliseconds that each reader gets: about fifteen seconds in all on a busy machine. */
const TIME_LIMIT_MS = 800;

const CORPUS = fileURLToPath(new URL('./corpus', import.meta.url));

const folder = mkdtempSync(join(tmpdir(), 'greenhouse-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const READERS = readersIn(folder);
const folderOf = (name: string) => name.replaceAll(' ', '-');

describe.each(Object.entries(READERS))('%s', (name, reader) => {
  test.each(reader.valid.map((file, k) => [k, file] as const))('reads valid file %i', (_, file) => {
    expect(() => reader.read(file)).not.toThrow();
    expect(dishonesty(reader, file)).toBeUndefined();
  });

  test('reads or refuses any bytes', () => {
    fc.assert(
      fc.property(files(reader.valid), (bytes) => {
        expect(dishonesty(reader, bytes)).toBeUndefined();
      }),
      { numRuns: 2500, interruptAfterTimeLimit: TIME_LIMIT_MS },
    );
  });

  const cases = readdirSync(CORPUS).includes(folderOf(name))
    ? readdirSync(join(CORPUS, folderOf(name)))
    : [];
  test.each(cases)('reads or refuses %s', (file) => {
    const bytes = readFileSync(join(CORPUS, folderOf(name), file));
    expect(dishonesty(reader, bytes)).toBeUndefined();
  });
});

test('every folder of the corpus belongs to a reader', () => {
  expect(Object.keys(READERS).map(folderOf)).toEqual(expect.arrayContaining(readdirSync(CORPUS)));
});

describe('the check itself', () => {
  const ofReading = (read: () => unknown) => dishonesty({ read, valid: [] }, new Uint8Array(0));
  const throwing = (error: unknown) =>
    ofReading(() => {
      throw error;
    });

  test.each<[string, unknown, string | undefined]>([
    ['a number', { a: [1, { b: 2 }] }, undefined],
    [
      'NaN in a list of an object',
      { a: [1, { b: Number.NaN }] },
      'reads no number at result.a.1.b',
    ],
    ['NaN among times', { times: Float64Array.of(0, Number.NaN) }, 'at result.times[1]'],
    ['infinity among times', { times: Float64Array.of(1 / 0) }, 'at result.times[0]'],
    ['NaN in an image', Float32Array.of(0, 1, Number.NaN), 'at result[2]'],
    ['infinity in an image', Float32Array.of(1 / 0), undefined],
    ['frames, a clock and words', [Int32Array.of(1), 5n, 'tank', null, true], undefined],
  ])('%s', (_, value, words) => {
    const said = ofReading(() => value);
    if (words === undefined) expect(said).toBeUndefined();
    else expect(said).toContain(words);
  });

  test("another error than the library's", () => {
    expect(throwing(new TypeError('frost'))).toContain('throws TypeError: frost');
    expect(throwing('frost')).toBe('throws frost');
    const parts = { found: 'frost', expected: 'dew', remedy: 'wait' };
    expect(throwing(new TwinkeelError('read/empty', parts))).toBeUndefined();
  });
});
