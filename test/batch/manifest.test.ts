/** What a manifest may say, and that every refusal names the entry. */
import { mkdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, test } from 'vitest';
import { isManifest } from '../../src/batch/isManifest.js';
import { readManifest } from '../../src/batch/manifest.js';
import { manifestSchema } from '../../src/batch/manifestSchema.js';
import { SETTING_NAMES } from '../../src/batch/settings.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';
import { temporaryFolder } from '../temporaryFolder.js';

/** Writes a manifest into a folder and gives its path. */
function written(value: unknown, folder = temporaryFolder()): string {
  const path = join(folder, 'shoot.json');
  writeFileSync(path, typeof value === 'string' ? value : JSON.stringify(value));
  return path;
}

const shoot = (clips: unknown, more: object = {}) => ({
  format: 'twinkeel-shoot',
  version: 1,
  ...more,
  clips,
});

/** A shoot of one clip with these entries besides its file. */
const withEntry = (entries: object) => shoot([{ file: 'aisle.csv', ...entries }]);

/** One clip named `name`, written as JSON by hand: object literals drop `__proto__`. */
const raw = (clip: string, more = '') =>
  `{"format":"twinkeel-shoot","version":1,${more}"clips":[${clip}]}`;

describe('every refusal names the entry', () => {
  test.each<[string, unknown, string, string]>([
    [
      'another format',
      { ...shoot([]), format: 'shoot' },
      '"format": found "shoot"',
      '"twinkeel-shoot"',
    ],
    ['no format', { version: 1, clips: [] }, '"format": found nothing', '"twinkeel-shoot"'],
    [
      'a later version',
      { ...shoot([]), version: 2 },
      '"version": found 2',
      'expected 1, the version',
    ],
    ['a version as text', { ...shoot([]), version: '1' }, '"version": found "1"', 'expected 1'],
    [
      'an unknown entry',
      shoot([], { clip: [] }),
      '"clip": found an unknown entry',
      'one of format, ',
    ],
    ['no clips', { format: 'twinkeel-shoot', version: 1 }, '"clips": found nothing', 'a list'],
    ['an empty list', shoot([]), '"clips": found an empty list', 'at least one clip'],
    ['clips that are no list', shoot({ file: 'a' }), '"clips": found an object', 'a list of'],
    ['a clip that is a text', shoot(['aisle.csv']), '"clips[0]": found "aisle.csv"', 'an object'],
    ['a clip that is null', shoot([null]), '"clips[0]": found null', 'an object'],
    ['a clip that is a list', shoot([['aisle.csv']]), '"clips[0]": found a list', 'an object'],
    [
      'a clip without a file',
      shoot([{ file: 'a' }, {}]),
      '"clips[1].file": found nothing',
      'a text',
    ],
    ['an empty file name', shoot([{ file: '' }]), '"clips[0].file": found ""', 'a text'],
    [
      'a file name with NUL',
      shoot([{ file: 'a\0b' }]),
      '"clips[0].file": found "a\\u0000b"',
      'a text',
    ],
    [
      'an unknown entry of a clip',
      withEntry({ leve: 1 }),
      '"clips[0].leve": found an unknown',
      'level',
    ],
    ['a text for a number', withEntry({ level: '1' }), '"clips[0].level": found "1"', 'a share'],
    ['a number for a word', withEntry({ filter: 25 }), '"clips[0].filter": found 25', 'one of str'],
    ['a rate without quotes', withEntry({ rate: 25 }), '"clips[0].rate": found 25', 'expected '],
    ['a list for a word', withEntry({ shot: ['pan'] }), '"clips[0].shot": found a list', 'one of'],
    ['a number for a path', withEntry({ rig: 1 }), '"clips[0].rig": found 1', 'a text'],
    ['true for a path', withEntry({ log: true }), '"clips[0].log": found true', 'a text'],
    [
      'null for a number',
      withEntry({ levelAt: null }),
      '"clips[0].levelAt": found null',
      'a number',
    ],
    ['a limit as text', withEntry({ limit: '12' }), '"clips[0].limit": found "12"', 'or "none"'],
    [
      'the wrong word',
      withEntry({ limit: 'never' }),
      '"clips[0].limit": found "never"',
      'or "none"',
    ],
    [
      'a share as text',
      withEntry({ uncovered: '0.1' }),
      '"clips[0].uncovered": found',
      'or "never"',
    ],
    [
      'defaults that are a list',
      shoot([{ file: 'a' }], { defaults: [] }),
      '"defaults": found an',
      'an object',
    ],
    [
      'a name in the defaults',
      shoot([{ file: 'a' }], { defaults: { name: 'b' } }),
      '"defaults.name": found',
      'one of mapping',
    ],
    [
      'a bad default',
      shoot([{ file: 'a' }], { defaults: { level: 'x' } }),
      '"defaults.level": found "x"',
      'a share',
    ],
    [
      'a number beyond doubles',
      raw('{"file":"a","levelAt":1e999}'),
      '"clips[0].levelAt": found',
      'a number',
    ],
    ['a list', [], '"the manifest": found an empty list', 'an object'],
    ['null', 'null', '"the manifest": found null', 'an object'],
  ])('%s', (_, value, found, expected) => {
    const path = written(value);
    const call = () => readManifest(path);
    expect(call).toThrow(complaint('manifest/invalid', `${path}, column ${found}`));
    expect(call).toThrow(expected);
  });

  test.each(['__proto__', 'constructor', 'prototype', 'toString', 'hasOwnProperty'])(
    'the key %s is an unknown entry, at every place',
    (key) => {
      const entry = `"${key}":{"level":0.5}`;
      const places: [string, string][] = [
        [raw('{"file":"a"}', `${entry},`), `"${key}"`],
        [raw('{"file":"a"}', `"defaults":{${entry}},`), `"defaults.${key}"`],
        [raw(`{"file":"a",${entry}}`), `"clips[0].${key}"`],
      ];
      for (const [text, column] of places) {
        expect(() => readManifest(written(text))).toThrow(
          complaint('manifest/invalid', `column ${column}: found an unknown entry`),
        );
      }
      expect(({} as { level?: number }).level).toBeUndefined();
    },
  );

  test('what is no JSON, no file or a folder is refused as such', () => {
    const folder = temporaryFolder();
    expect(() => readManifest(written('{"format": "twinkeel-shoot",', folder))).toThrow(
      complaint('read/json', `${join(folder, 'shoot.json')}: found`),
    );
    expect(() => readManifest(join(folder, 'none.json'))).toThrow(
      complaint('file/missing', 'none.json: found no such file'),
    );
    expect(() => readManifest(folder)).toThrow(complaint('file/missing', 'found a folder'));
  });

  test('lists that nest 100,000 deep are refused in a sentence, whatever holds them', () => {
    const deep = '['.repeat(100_000) + ']'.repeat(100_000);
    for (const text of [
      deep,
      `{"format":${deep}}`,
      raw(`{"file":${deep}}`),
      raw(`{"file":"a","rate":${deep}}`),
      raw('{"file":"a"}', `"defaults":${deep},`),
    ]) {
      expect(() => readManifest(written(text))).toThrow(
        complaint('read/json', 'nest more than 100 deep'),
      );
    }
  });
});

describe('names', () => {
  const named = (name: string) => readManifest(written(withEntry({ name }))).clips[0]!.name;

  test('letters of any script, digits, blanks, dots, hyphens and underscores are taken', () => {
    const good = ['a', '_1', 'Gewächshaus 3', 'take-02.b', '夜咲き', '9', 'x'.repeat(100)];
    // The same umlaut as a letter and a mark, as some systems write file names.
    good.push('Gewa\u0308chshaus');
    for (const name of good) expect(named(name)).toBe(name);
    // 236 bytes and the longest ending fit into the 255 of a file name.
    expect(named('夜'.repeat(78))).toHaveLength(78);
    expect(() => named('夜'.repeat(79))).toThrow(
      complaint('manifest/invalid', 'which takes 237 bytes'),
    );
  });

  test.each([
    ['a slash', 'a/b'],
    ['a backslash', 'a\\b'],
    ['a colon', 'a:b'],
    ['an asterisk', 'a*'],
    ['dots that lead up', '..'],
    ['one dot', '.'],
    ['a dot in front', '.hidden'],
    ['a dot at the end', 'take.'],
    ['a blank in front', ' take'],
    ['a blank at the end', 'take '],
    ['a hyphen in front, as options have', '-take'],
    ['a line end', 'a\nb'],
    ['an escape character', 'a\u001b[31m'],
    ['a character without width', 'a\u200bb'],
    ['a character that turns the reading direction', 'a\u202egpj'],
    ['a mark without a letter', '\u0308a'],
    ['half of a pair', '\ud83c'],
    ['101 characters', 'x'.repeat(101)],
  ])('%s is refused', (_, name) => {
    expect(() => named(name)).toThrow(
      complaint(
        'manifest/invalid',
        `"clips[0].name": found ${JSON.stringify(name).slice(0, 60).replace('\u202e', '\\u202e')}`,
      ),
    );
  });

  // Microsoft, "Naming Files, Paths, and Namespaces": these, also with an ending behind them.
  test.each([
    'CON',
    'con',
    'PRN',
    'aux',
    'NUL',
    'COM1',
    'com9',
    'LPT1',
    'lpt\u00b2',
    'nul.take',
    'Con .x',
  ])('%s is a device on Windows and refused', (name) => {
    expect(() => named(name)).toThrow(complaint('manifest/invalid', '"clips[0].name": found'));
  });

  test('what only begins like a device is taken', () => {
    for (const name of ['console', 'COM10', 'nul-take', 'auxiliary.1'])
      expect(named(name)).toBe(name);
  });

  test('without a name the file gives it, and is checked alike', () => {
    const { clips } = readManifest(written(shoot([{ file: 'aisle/take.one.csv' }])));
    expect(clips[0]!.name).toBe('take.one');
    expect(() => readManifest(written(shoot([{ file: 'a/.csv' }])))).toThrow(
      complaint('manifest/invalid', '"clips[0].name": found ".csv"'),
    );
    expect(() => readManifest(written(shoot([{ file: 'a/nul.csv' }])))).toThrow('"clips[0].name"');
  });

  test.each([
    ['the same file name in two folders', { file: 'a/walk.csv' }, { file: 'b/walk.csv' }],
    ['names that differ by capitals', { file: 'a', name: 'Aisle' }, { file: 'b', name: 'aISLE' }],
    ['capitals beyond ASCII', { file: 'a', name: 'Ähre' }, { file: 'b', name: 'ähre' }],
    [
      'an umlaut as one letter and as two',
      { file: 'a', name: 'Gewächs' },
      { file: 'b', name: 'Gewa\u0308chs' },
    ],
  ])('%s are twins', (_, first, second) => {
    expect(() => readManifest(written(shoot([first, { file: 'x.csv' }, second])))).toThrow(
      complaint('manifest/invalid', '"clips[2].name": found the name'),
    );
    expect(() => readManifest(written(shoot([first, second])))).toThrow('of clips[0] again');
  });
});

describe('paths', () => {
  const located = (file: string, folder: string, anywhere?: boolean) =>
    readManifest(written(shoot([{ file, name: 'a' }]), folder), anywhere ? { anywhere } : {})
      .clips[0]!.file;

  test('they count from the folder of the manifest', () => {
    const folder = temporaryFolder();
    expect(located('day/walk.csv', folder)).toBe(join(folder, 'day/walk.csv'));
    expect(located('day/../walk.csv', folder)).toBe(join(folder, 'walk.csv'));
    expect(located('..walk.csv', folder)).toBe(join(folder, '..walk.csv'));
  });

  test('those that leave it are refused, and taken with anywhere', () => {
    const folder = temporaryFolder();
    const other = temporaryFolder();
    symlinkSync(other, join(folder, 'away'));
    symlinkSync(join(other, 'walk.csv'), join(folder, 'walk.csv'));
    writeFileSync(join(other, 'walk.csv'), '');
    const outside = [
      '../walk.csv',
      'a/../../walk.csv',
      '..',
      '/etc/hostname',
      join(folder, 'x.csv'),
    ];
    for (const file of [...outside, 'away/new.csv', 'away/walk.csv', 'walk.csv']) {
      expect(() => located(file, folder)).toThrow(
        complaint('manifest/invalid', `"clips[0].file": found "${file}", which leads out`),
      );
      expect(() => located(file, folder)).toThrow('--anywhere');
      expect(typeof located(file, folder, true)).toBe('string');
    }
    expect(located('../walk.csv', folder, true)).toBe(join(folder, '../walk.csv'));
    expect(located('/etc/hostname', folder, true)).toBe('/etc/hostname');
  });

  test('a link that stays inside, and a manifest reached by a link to its folder, are taken', () => {
    const folder = temporaryFolder();
    const door = join(temporaryFolder(), 'door');
    mkdirSync(join(folder, 'day'));
    writeFileSync(join(folder, 'day', 'walk.csv'), '');
    symlinkSync('day/walk.csv', join(folder, 'today.csv'));
    symlinkSync(folder, door);
    expect(located('today.csv', folder)).toBe(join(folder, 'today.csv'));
    written(shoot([{ file: 'today.csv' }]), folder);
    expect(readManifest(join(door, 'shoot.json')).clips[0]!.file).toBe(join(door, 'today.csv'));
  });

  test.each([
    'mapping',
    'aim',
    'markers',
    'log',
    'logMapping',
    'logAccel',
    'accel',
    'rig',
    'earlier',
    'retime',
  ])('the path of %s is held to the same', (key) => {
    const folder = temporaryFolder();
    const read = (value: unknown) => readManifest(written(value, folder)).clips[0]!.settings;
    expect(() => read(withEntry({ [key]: '../x' }))).toThrow(`"clips[0].${key}": found "../x"`);
    const defaults = { [key]: '/etc/hostname' };
    expect(() => read(shoot([{ file: 'a' }], { defaults }))).toThrow(`"defaults.${key}": found`);
    // Beside what some of them are of no use without.
    const others = { log: 'gyro.csv', earlier: 'pass.csv' };
    const taken = read(withEntry({ ...others, [key]: 'x' })) as Record<string, string>;
    expect(taken[key]).toBe(join(folder, 'x'));
  });
});

/** A folder with empty files, and how its manifest reads them. */
function folderWith(...files: readonly string[]) {
  const folder = temporaryFolder();
  for (const file of files) {
    mkdirSync(dirname(join(folder, file)), { recursive: true });
    writeFileSync(join(folder, file), '');
  }
  const clipsOf = (value: unknown, anywhere = false) =>
    readManifest(written(value, folder), { anywhere }).clips;
  return { folder, clipsOf };
}

describe('wildcards', () => {
  test('a clip for each file that matches, counted as people count', () => {
    const { folder, clipsOf } = folderWith('walk/take-10.csv', 'walk/take-9.csv', 'walk/notes.txt');
    const clips = clipsOf(shoot([{ file: 'walk/*.csv', level: 0.5 }, { file: 'walk/notes.txt' }]));
    expect(clips).toEqual([
      ...[9, 10].map((take) => ({
        name: `take-${take}`,
        written: `walk/take-${take}.csv`,
        file: join(folder, `walk/take-${take}.csv`),
        settings: { level: 0.5 },
      })),
      expect.objectContaining({ name: 'notes', settings: {} }),
    ]);
  });

  test.each<[string, readonly string[]]>([
    ['*.csv', ['a.csv', 'b [1] (2)+{3}!.csv']],
    ['?.csv', ['a.csv']],
    ['b [1] (2)+{3}*.csv', ['b [1] (2)+{3}!.csv']],
    ['[ab]*.csv', []],
    ['{a,b}*.csv', []],
    ['!*.csv', []],
    ['**/*.csv', ['a.csv', 'b [1] (2)+{3}!.csv', 'day/c.csv', 'day/deep/d.csv']],
    ['day/**/?.csv', ['day/c.csv', 'day/deep/d.csv']],
    ['*/?.csv', ['day/c.csv']],
    ['d*/**', ['day/c.csv', 'day/deep/d.csv']],
  ])('%s matches %j: hidden files and results never', (file, expected) => {
    const { clipsOf } = folderWith(
      ...['a.csv', 'b [1] (2)+{3}!.csv', 'day/c.csv', 'day/deep/d.csv', '.hidden.csv'],
      ...['a.corrections.csv', 'day/.old/e.csv', 'day/c.result.json', 'day/c.clip.json'],
    );
    const read = () => clipsOf(shoot([{ file }])).map(({ written: each }) => each);
    if (expected.length === 0) expect(read).toThrow(`found "${file}", which no file matches`);
    // Names with brackets are no names of clips, and say so.
    else if (expected.some((name) => name.includes('[')))
      expect(read).toThrow('.name": found "b [1]');
    else expect(read()).toEqual(expected);
  });

  test('what the same entry names as its log, its markers or its accelerometer is no clip', () => {
    const { clipsOf } = folderWith('a.csv', 'gyro.csv', 'marks.csv');
    const clips = clipsOf(shoot([{ file: '*.csv', log: 'gyro.csv', markers: 'marks.csv' }]));
    expect(clips.map(({ name }) => name)).toEqual(['a']);
  });

  test('one name or movie for many clips is refused', () => {
    const { clipsOf } = folderWith('a.csv');
    for (const key of ['name', 'movie']) {
      expect(() => clipsOf(shoot([{ file: '*.csv', [key]: 'x' }]))).toThrow(
        complaint('manifest/invalid', `"clips[0].${key}": found "x", expected none beside a wildc`),
      );
    }
  });

  test('namesakes of two folders are refused as they are one by one', () => {
    const { clipsOf } = folderWith('one/walk.csv', 'two/walk.csv');
    expect(() => clipsOf(shoot([{ file: '*/walk.csv' }]))).toThrow(
      'found the name "walk" of clips[0]',
    );
  });

  test('none leads out of the folder, by itself or by a link', () => {
    const { folder, clipsOf } = folderWith('in.csv');
    const other = folderWith('out.csv', 'deep/out.csv').folder;
    for (const file of ['../*.csv', `${other}/*.csv`, '*/../../**']) {
      expect(() => clipsOf(shoot([{ file }])), file).toThrow(/leads out|no file matches/);
    }
    symlinkSync(other, join(folder, 'door'));
    symlinkSync(folder, join(folder, 'round'));
    expect(clipsOf(shoot([{ file: '**/*.csv' }])).map(({ name }) => name)).toEqual(['in']);
    expect(() => clipsOf(shoot([{ file: 'door/*.csv' }]))).toThrow('leads out');
    symlinkSync(join(other, 'out.csv'), join(folder, 'out.csv'));
    expect(() => clipsOf(shoot([{ file: '*.csv' }]))).toThrow('"out.csv", which leads out');
    expect(clipsOf(shoot([{ file: '*.csv' }]), true)).toHaveLength(2);
  });

  test('a folder of more than 50,000 entries is no shoot', () => {
    const { folder, clipsOf } = folderWith();
    const many = join(folder, 'many');
    mkdirSync(many);
    // Links cost less than files.
    for (let k = 0; k <= 50_000; k++) symlinkSync('x', join(many, `${k}`));
    expect(() => clipsOf(shoot([{ file: 'many/*' }]))).toThrow(
      complaint('file/too-large', 'found more than 50000 files and folders'),
    );
  });
});

describe('folders', () => {
  const read = (folders: unknown, clip: object = {}) =>
    folderWith().clipsOf(
      shoot([{ file: 'walk/night/a.csv', ...clip }, { file: 'b.csv' }], {
        defaults: { level: 0.1, shot: 'auto' },
        folders,
      }),
    );

  test('an inner one stands over an outer one and the defaults, and under the clip, in any order', () => {
    const outer = { folder: 'walk', level: 0.2, limit: 5, notes: ['the warm house'] };
    const inner = { folder: 'walk/night/', level: 0.3 };
    for (const folders of [
      [outer, inner],
      [inner, outer],
    ]) {
      const [a, b] = read(folders, { limit: 7 });
      expect(a!.settings).toEqual({ level: 0.3, limit: 7, shot: 'auto' });
      expect(b!.settings).toEqual({ level: 0.1, shot: 'auto' });
    }
  });

  test('a name that only begins alike is another folder', () => {
    expect(() => read([{ folder: 'wal', level: 0.2 }])).toThrow(
      complaint('manifest/invalid', '"folders[0].folder": found "wal", in which no clip lies'),
    );
    expect(() => read([{ folder: 'wal' }])).toThrow('write "walk" if that was meant');
  });

  test.each<[string, unknown, string]>([
    ['no list', { folder: 'walk' }, '"folders": found an object, expected a list'],
    ['no folder', [{ level: 0.2 }], '"folders[0].folder": found nothing, expected a text'],
    [
      'twice',
      [{ folder: 'walk' }, { folder: './walk' }],
      '"folders[1].folder": found "./walk" a se',
    ],
    ['outside', [{ folder: '..' }], '"folders[0].folder": found "..", which leads out'],
    [
      'a wrong value',
      [{ folder: 'walk', level: 2 }],
      '"folders[0].level": found 2, expected a sha',
    ],
    ['a wrong key', [{ folder: 'walk', name: 'x' }], '"folders[0].name": found an unknown entry'],
  ])('%s', (_, folders, words) => {
    expect(() => read(folders)).toThrow(complaint('manifest/invalid', words));
  });
});

describe('what is nearly right says what was meant', () => {
  test.each<[unknown, string]>([
    [withEntry({ leve: 1 }), 'write "level" if that was meant'],
    [withEntry({ shot: 'traveling' }), 'write "travelling" if that was meant'],
    [withEntry({ picture: 'fish-eye' }), 'write "fisheye" if that was meant'],
    [withEntry({ limit: 'Non' }), 'write "none" if that was meant'],
    [{ ...shoot([{ file: 'a' }]), default: {} }, 'write "defaults" if that was meant'],
  ])('%j', (value, words) => {
    expect(() => readManifest(written(value))).toThrow(words);
  });

  test('what is like nothing is not guessed at', () => {
    expect(() => readManifest(written(withEntry({ moonflower: 1 })))).toThrow(
      /; correct the manif/,
    );
  });
});

test('notes are for people: any text is taken, anything else refused', () => {
  const clip = { file: 'a.csv', notes: ['from the pond', ''] };
  const { clips } = readManifest(written(shoot([clip], { notes: [] })));
  expect(clips[0]!.settings).toEqual({});
  for (const notes of ['text', [1], {}, null]) {
    expect(() => readManifest(written(withEntry({ notes })))).toThrow('"clips[0].notes');
  }
});

describe('settings', () => {
  test('a clip has the defaults, and its own over them', () => {
    const folder = temporaryFolder();
    const defaults = { rate: '25', level: 0.5, limit: 12, rig: 'rig.json' };
    const clips = [{ file: 'a.csv' }, { file: 'b.csv', level: 0, limit: 'none' }];
    const read = readManifest(written(shoot(clips, { defaults }), folder));
    const rig = join(folder, 'rig.json');
    expect(read.clips.map(({ settings }) => settings)).toEqual([
      { rate: '25', level: 0.5, limit: 12, rig },
      { rate: '25', level: 0, limit: 'none', rig },
    ]);
    expect(read.clips.map(({ written: file }) => file)).toEqual(['a.csv', 'b.csv']);
  });

  test('any defaults and any settings join so', () => {
    const settings = fc.record(
      {
        rate: fc.constantFrom('25', '60000/1001'),
        level: fc.double({ min: 0, max: 1, noNaN: true }),
        limit: fc.oneof(fc.constant('none'), fc.integer({ min: 1, max: 90 })),
        shot: fc.constantFrom('pan', 'travelling'),
      },
      { requiredKeys: [] },
    );
    const folder = temporaryFolder();
    fc.assert(
      fc.property(settings, settings, (defaults, own) => {
        const value = shoot([{ file: 'a.csv', ...own }], { defaults });
        // What JSON keeps: −0 is written 0.
        const expected = JSON.parse(JSON.stringify({ ...defaults, ...own }));
        expect(readManifest(written(value, folder)).clips[0]!.settings).toEqual(expected);
      }),
      { numRuns: 50 },
    );
  });

  test('a manifest is known by its first bytes, also behind a byte order mark', () => {
    const folder = temporaryFolder();
    const text = JSON.stringify(shoot([{ file: 'a.csv' }]));
    expect(isManifest(written(text, folder))).toBe(true);
    const marked = written(`\ufeff${text}`, folder);
    expect(isManifest(marked)).toBe(true);
    expect(readManifest(marked).clips).toHaveLength(1);
    expect(isManifest(written('[{"t": 0}]', folder))).toBe(false);
  });
});

describe('the published schema', () => {
  const schema = JSON.parse(
    readFileSync(new URL('../../docs/schema/shoot.schema.json', import.meta.url), 'utf8'),
  );
  const validate = new Ajv2020().compile(schema);

  /** Whether the reader takes it. */
  function isTaken(value: unknown): boolean {
    try {
      readManifest(written(value));
      return true;
    } catch (error) {
      expect((error as Error).name).toBe('TwinkeelError');
      return false;
    }
  }

  test('it is what `npm run schema` writes', () => {
    expect(schema).toEqual(JSON.parse(JSON.stringify(manifestSchema())));
  });

  test('it knows every setting, for the defaults and for a clip', () => {
    const known = Object.keys(schema.$defs.settings.properties);
    expect(known.sort()).toEqual([...SETTING_NAMES].sort());
    const ofClip = Object.keys(schema.properties.clips.items.properties);
    expect(ofClip.sort()).toEqual([...SETTING_NAMES, 'file', 'movie', 'name', 'notes'].sort());
  });

  const texts = ['aim', 'mapping', 'log', 'rig', 'earlier', 'timecode', 'markers', 'trim'];
  /** What some settings are of no use without. */
  const withOthers = { log: 'gyro.csv', rig: 'rig.json', earlier: 'pass.csv' };
  const good: object[] = [
    ...texts.map((key) => ({ ...withOthers, [key]: 'x' })),
    { name: 'Aisle 1' },
    { notes: ['at the pond'] },
    ...[0.05, 1, 10000].map((nearest) => ({ ...withOthers, nearest })),
    { movie: 'aisle.mov' },
    ...['tum', 'opentrackio'].map((format) => ({ format })),
    ...['pan', 'pan,tilt', 'pan,tilt,roll'].map((flip) => ({ flip })),
    ...['25', '60000/1001', '24/1'].map((rate) => ({ rate })),
    ...['auto', 'travelling', 'pan', 'locked-off'].map((shot) => ({ shot })),
    ...[0, 0.5, 1].map((level) => ({ level })),
    ...[-1, 0, 1e3].map((levelAt) => ({ levelAt })),
    ...['none', 12, 0.1].map((limit) => ({ limit })),
    ...['never', 0, 1].map((uncovered) => ({ ...withOthers, uncovered })),
    ...['structural', 'spline', 'savitzky-golay'].map((filter) => ({ filter })),
    ...['132@7.25', '0@-3'].map((clap) => ({ ...withOthers, clap })),
    { ...withOthers, logOffset: -2.5 },
    { ...withOthers, logTimecode: '01:00:00:00' },
  ];
  const bad: object[] = [
    ...texts.flatMap((key) => [1, null, true, ['x'], {}].map((value) => ({ [key]: value }))),
    { file: '' },
    { file: 3 },
    { name: 7 },
    { movie: '' },
    { movie: 7 },
    { name: 'x'.repeat(101) },
    { colour: 'white' },
    ...['csv', 1].map((format) => ({ format })),
    ...['yaw', 'pan;tilt', ',', 1].map((flip) => ({ flip })),
    ...[25, '59.94', '25fps', '1/2/3', '-25'].map((rate) => ({ rate })),
    ...['crane', 'Pan', 1].map((shot) => ({ shot })),
    ...[-0.1, 1.1, '1', null].map((level) => ({ level })),
    ...['0', null].map((levelAt) => ({ levelAt })),
    ...[0, -1, '12', 'never', null].map((limit) => ({ limit })),
    ...[-0.1, 1.01, '0.5', 'none'].map((uncovered) => ({ uncovered })),
    ...['median', 2].map((filter) => ({ filter })),
    ...['7.25', '132@', '-1@2', 132].map((clap) => ({ clap })),
    { logOffset: '2' },
    { notes: 'at the pond' },
    { notes: [1] },
    ...[0.01, 20000, '1'].map((nearest) => ({ nearest })),
  ];

  test.each(good)('%j is taken by both', (entries) => {
    expect(validate(withEntry(entries)), JSON.stringify(validate.errors)).toBe(true);
    expect(isTaken(withEntry(entries))).toBe(true);
  });

  test.each(bad)('%j is refused by both', (entries) => {
    expect(validate(withEntry(entries))).toBe(false);
    expect(isTaken(withEntry(entries))).toBe(false);
  });

  test('so are wholes of another shape', () => {
    const clip = { file: 'a.csv' };
    const wholes: unknown[] = [
      ...[null, [], 'shoot', 1, {}, shoot([]), shoot(clip), shoot(['a.csv']), shoot([{}])],
      ...[
        { ...shoot([clip]), version: 2 },
        { ...shoot([clip]), format: 'shoot' },
      ],
      ...[shoot([clip], { more: 1 }), shoot([clip], { defaults: [] })],
      ...[shoot([clip], { defaults: null }), shoot([clip], { defaults: { file: 'b' } })],
    ];
    for (const value of wholes) {
      expect(validate(value), JSON.stringify(value)).toBe(false);
      expect(isTaken(value), JSON.stringify(value)).toBe(false);
    }
    expect(validate(shoot([clip], { defaults: {} }))).toBe(true);
    expect(isTaken(shoot([clip], { defaults: {} }))).toBe(true);
  });
});
