import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { correct } from '../../src/correct.js';
import { writeFiles, writeResult } from '../../src/files/writeFiles.js';
import { toCsv } from '../../src/handoff/csv.js';
import { toJson } from '../../src/handoff/json.js';
import { readTrack } from '../../src/read/readTrack.js';
import { complaint } from '../complaint.js';
import { temporaryFolder } from '../temporaryFolder.js';

const text = (path: string) => readFileSync(path, 'utf8');

describe('writeFiles', () => {
  test('files are written whole, in folders that are made for them', () => {
    const folder = temporaryFolder();
    const files = [
      { path: join(folder, 'night', 'walk.csv'), content: 'späte Blüte\n' },
      { path: join(folder, 'night', 'walk.json'), content: '{}\n' },
    ];
    writeFiles(files);
    for (const file of files) expect(text(file.path)).toBe(file.content);
    expect(readdirSync(join(folder, 'night'))).toHaveLength(2);
  });

  test('a file that exists is kept, and none of the others is written', () => {
    const folder = temporaryFolder();
    const [first, second] = ['walk.csv', 'walk.json'].map((name) => join(folder, name));
    writeFileSync(second!, 'old');
    const files = [first!, second!].map((path) => ({ path, content: 'new' }));
    expect(() => writeFiles(files)).toThrow(
      complaint('file/exists', `${second}: found a file of this name, expected a new name`),
    );
    expect(() => writeFiles(files)).toThrow('pass --force to replace it');
    expect(readdirSync(folder)).toEqual(['walk.json']);
    expect(text(second!)).toBe('old');
  });

  test('with force it is replaced', () => {
    const path = join(temporaryFolder(), 'walk.csv');
    writeFileSync(path, 'an older and longer text');
    writeFiles([{ path, content: 'new' }], { force: true });
    expect(text(path)).toBe('new');
  });

  test('below a regular file nothing can be written, and the place is named', () => {
    const folder = temporaryFolder();
    const file = join(folder, 'moonflower');
    writeFileSync(file, 'bloom');
    expect(() => writeFiles([{ path: join(file, 'walk.csv'), content: 'new' }])).toThrow(
      complaint(
        'file/unwritable',
        `${join(file, 'walk.csv')}: found a place that cannot be written (E`,
      ),
    );
    expect(readdirSync(folder)).toEqual(['moonflower']);
    expect(text(file)).toBe('bloom');
  });

  test('when the second file fails, neither is left behind', () => {
    const folder = temporaryFolder();
    const file = join(folder, 'moonflower');
    writeFileSync(file, 'bloom');
    const files = [join(folder, 'walk.csv'), join(file, 'walk.json')];
    expect(() => writeFiles(files.map((path) => ({ path, content: 'new' })))).toThrow(
      complaint('file/unwritable', 'choose another folder'),
    );
    expect(readdirSync(folder)).toEqual(['moonflower']);
  });

  test('a folder in the way of the second file is named, and no file is left', () => {
    const folder = temporaryFolder();
    const [first, second] = ['walk.csv', 'walk.json'].map((name) => join(folder, name));
    mkdirSync(second!);
    const files = [first!, second!].map((path) => ({ path, content: 'new' }));
    expect(() => writeFiles(files, { force: true })).toThrow(
      complaint('file/unwritable', `${second}: found`),
    );
    expect(existsSync(first!)).toBe(false);
  });
});

describe('writeResult', () => {
  const rows = Array.from({ length: 100 }, (_, k) => `${k / 25},0,${0.1 * Math.sin(k)},0,1`);
  const unit =
    'time: column 1 unit s\nangles: 2 rad about right, then 3 rad about up, then 4 rad about back';
  const result = correct(readTrack(rows.join('\n'), { mapping: unit }));

  test('corrections and result stand under the name of the clip', () => {
    const folder = temporaryFolder();
    const paths = writeResult(result, folder, 'walk');
    expect(paths).toEqual(
      ['walk.corrections.csv', 'walk.result.json'].map((name) => join(folder, name)),
    );
    expect(text(paths[0]!)).toBe(toCsv(result));
    expect(text(paths[1]!)).toBe(toJson(result));
  });

  test('one of the two that exists keeps the other from being written', () => {
    const folder = temporaryFolder();
    writeFileSync(join(folder, 'walk.result.json'), 'old');
    expect(() => writeResult(result, folder, 'walk')).toThrow(
      complaint('file/exists', 'walk.result'),
    );
    expect(readdirSync(folder)).toEqual(['walk.result.json']);
    writeResult(result, folder, 'walk', { force: true });
    expect(readdirSync(folder)).toHaveLength(2);
  });
});
