import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { correct } from '../../src/correct.js';
import { cleanUp } from '../../src/files/cleanUp.js';
import { finishAbandoned } from '../../src/files/folderLock.js';
import { HOST, newMark, partialBeside } from '../../src/files/partials.js';
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

describe('files that belong together', () => {
  const pair = (folder: string, text: string) =>
    ['walk.corrections.csv', 'walk.result.json'].map((name) => ({
      path: join(folder, name),
      content: `${text} of ${name}`,
    }));
  const texts = (folder: string) =>
    Object.fromEntries(
      readdirSync(folder).map((name) => [name, readFileSync(join(folder, name), 'utf8')]),
    );
  /** A lock as a run writes it that was killed between two renames. */
  const lockOf = (folder: string, parts: object = {}) => {
    const [from, former] = (['partial', 'former'] as const).map((end) =>
      basename(partialBeside(join(folder, 'walk.result.json'), newMark(), end)).replace(
        `-${process.pid}-`,
        '-99999999-',
      ),
    );
    const moves = [{ from, to: 'walk.result.json', former }];
    const note = { pid: 99999999, host: HOST, started: 1, thread: 0, mark: 'a7', moves, ...parts };
    writeFileSync(join(folder, '.twinkeel.lock'), JSON.stringify(note));
    return { from: from!, former: former! };
  };

  test('when the second cannot be named, what stood there before stands there again', () => {
    const folder = temporaryFolder();
    writeFiles(pair(folder, 'old'));
    const before = texts(folder);
    const [first, second] = pair(folder, 'new');
    // A folder in the way that comes only after the check: its content is made last.
    const late = {
      path: second!.path,
      content: (function* () {
        yield 'new';
        rmSync(second!.path);
        mkdirSync(second!.path);
      })(),
    };
    expect(() => writeFiles([first!, late], { force: true })).toThrow(
      complaint('file/unwritable', second!.path),
    );
    expect(readFileSync(first!.path, 'utf8')).toBe(before['walk.corrections.csv']);
    expect(readdirSync(folder).sort()).toEqual(['walk.corrections.csv', 'walk.result.json']);
  });

  test('a pair that was left half done is finished by the next run', () => {
    const folder = temporaryFolder();
    const { from, former } = lockOf(folder);
    writeFileSync(join(folder, from), 'new result');
    writeFileSync(join(folder, former), 'old result');
    writeFileSync(join(folder, 'walk.result.json'), 'old result');
    writeFiles(
      pair(folder, 'another').map((file) => ({
        ...file,
        path: file.path.replace('walk.', 'tank.'),
      })),
    );
    expect(texts(folder)).toMatchObject({ 'walk.result.json': 'new result' });
    expect(readdirSync(folder).filter((name) => name.startsWith('.'))).toEqual([]);
  });

  test('a lock that names files elsewhere moves nothing', () => {
    const folder = temporaryFolder();
    const inner = join(folder, 'out');
    mkdirSync(inner);
    const name = basename(partialBeside('x', newMark(), 'partial'));
    writeFileSync(join(folder, name), 'harm');
    writeFileSync(join(folder, 'diary'), 'bloom');
    const moves = [{ from: `../${name}`, to: '../diary', former: name }];
    lockOf(inner, { moves });
    finishAbandoned(inner);
    expect(readFileSync(join(folder, 'diary'), 'utf8')).toBe('bloom');
  });

  test('a lock of a run that goes on is waited for, then said in a sentence', () => {
    const folder = temporaryFolder();
    lockOf(folder, { pid: process.ppid });
    expect(() => writeFiles(pair(folder, 'new'))).toThrow(
      complaint('file/locked', `process ${process.ppid} on`),
    );
    expect(readdirSync(folder)).toEqual(['.twinkeel.lock']);
  });

  test('files that go on for a gigabyte are asked for piece by piece', () => {
    const path = join(temporaryFolder(), 'long.csv');
    let alive = 0;
    let most = 0;
    const pieces = function* () {
      for (let k = 0; k < 50; k++) {
        most = Math.max(most, ++alive);
        yield new Uint8Array(1000);
        alive--;
      }
    };
    writeFiles([{ path, content: pieces() }]);
    expect(most).toBe(1);
    expect(readFileSync(path)).toHaveLength(50_000);
  });

  test('a name of 255 bytes is written; a longer one is refused and leaves nothing', () => {
    const folder = temporaryFolder();
    const long = `${'夜'.repeat(79)}.corrections.csv`;
    writeFiles([{ path: join(folder, long), content: 'bloom' }]);
    expect(readdirSync(folder)).toEqual([long]);
    expect(() => writeFiles([{ path: join(folder, `${long}xxxx`), content: 'bloom' }])).toThrow(
      complaint('file/unwritable', 'ENAMETOOLONG'),
    );
    expect(readdirSync(folder)).toEqual([long]);
  });
});

test('cleaning goes on after a step that fails, and says so', () => {
  const done: string[] = [];
  const fails = () => {
    throw new Error('frost');
  };
  expect(
    cleanUp(
      () => done.push('first'),
      fails,
      () => done.push('third'),
    ),
  ).toBe(false);
  expect(done).toEqual(['first', 'third']);
  let tries = 0;
  const failsOnce = () => {
    if (++tries === 1) throw new Error('dew');
  };
  expect(cleanUp(failsOnce)).toBe(true);
});
