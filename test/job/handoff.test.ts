import { spawnSync } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { readCorrections, toCsv, trackToCsv } from '../../src/handoff/csv.js';
import { readGltf } from '../../src/handoff/gltf.js';
import { toJson } from '../../src/handoff/json.js';
import { readResult } from '../../src/handoff/readResult.js';
import { composeQuaternions, quaternionAt } from '../../src/rotation/arrays.js';
import { frameTimes } from '../../src/track/frameRate.js';
import { createTrack } from '../../src/track/orientationTrack.js';
import { apart } from '../apart.js';
import { CLI } from '../command.js';
import { type ResultParts, resultOf } from '../handoff/results.js';
import { temporaryFolder } from '../temporaryFolder.js';
import { turn } from '../turns.js';

const RATE = { numerator: 25, denominator: 1 };

/** A hundred frames, 40 to 139, of a walk past the evening primroses. */
const indexes = Array.from({ length: 100 }, (_, k) => k);
const parts: ResultParts = {
  intended: indexes.map((k) => turn([0, 1, 0], 0.01 * k).q),
  corrections: indexes.map((k) => turn([1, 0, 0], 0.02 * Math.sin(k / 3)).q),
  rate: RATE,
};
const RESULT = toJson(resultOf(parts));
const file = () => JSON.parse(RESULT) as { times: number[]; corrections: number[] };
const changed = (change: object) => JSON.stringify({ ...file(), ...change });

/** Every folder and file below a folder: bytes and time of writing of the files. */
function listing(folder: string): Map<string, string> {
  const names = (readdirSync(folder, { recursive: true }) as string[]).sort();
  return new Map(
    names.map((name) => {
      const path = join(folder, name);
      const state = statSync(path);
      if (state.isDirectory()) return [name, 'folder'];
      return [name, `${state.mtimeMs} ${readFileSync(path).toString('base64')}`];
    }),
  );
}

/** Runs the command in a folder and says how the folder changed. */
function runIn(folder: string, ...args: readonly string[]) {
  const before = listing(folder);
  const options = { cwd: folder, encoding: 'utf8' } as const;
  const { status, stdout, stderr } = spawnSync(process.execPath, [CLI, ...args], options);
  const after = listing(folder);
  const written = [...after.keys()].filter((name) => !before.has(name));
  const touched = [...before.keys()].filter((name) => after.get(name) !== before.get(name));
  return { status, stdout, stderr, written, touched, folder };
}

function run(files: Readonly<Record<string, string>>, ...args: readonly string[]) {
  const folder = temporaryFolder();
  for (const [name, content] of Object.entries(files)) writeFileSync(join(folder, name), content);
  return runIn(folder, ...args);
}

const HANDOFF = ['handoff', 'walk.result.json', '--out', 'out'];
const hand = (result: string, ...args: readonly string[]) =>
  run({ 'walk.result.json': result }, ...HANDOFF, ...args);

/** One sentence, nothing written, nothing touched, and the exit code. */
function expectRefusal(
  { status, stdout, stderr, written, touched }: ReturnType<typeof runIn>,
  code: 1 | 2,
  words: string,
): void {
  expect(stderr).toMatch(/^twinkeel: [^\n]+\n$/);
  expect(stderr).toContain(words);
  expect({ status, stdout, written, touched }).toEqual({
    status: code,
    stdout: '',
    written: [],
    touched: [],
  });
}

describe('a wrong call ends with 2, one sentence, and the folder as it was', () => {
  test.each<[string, readonly string[], string]>([
    [
      'an unknown target',
      ['--to', 'gltf,pollen'],
      '--to: found "pollen", expected one of csv, json, gltf',
    ],
    ['a span turned round', ['--to', 'csv', '--trim', '90..60'], 'ends before it begins'],
  ])('%s', (_title, args, words) => {
    expectRefusal(hand(RESULT, ...args), 2, words);
  });

  test('a span by time codes where no rate is known', () => {
    const rateless = toJson(resultOf({ ...parts, rate: 'none' }));
    const call = hand(rateless, '--to', 'csv', '--trim', '00:00:01:00..00:00:02:00');
    expectRefusal(call, 2, 'the time code 00:00:01:00 needs an exact frame rate');
  });
});

describe('a result that cannot be handed over ends with 1, one sentence, and the folder as it was', () => {
  test('files that are no result, each with its own sentence', () => {
    const files = {
      'newer.result.json': changed({ version: 2 }),
      'no-frames.result.json': changed({ times: [] }),
      'nan.result.json': RESULT.replace('"times":[0,', '"times":[NaN,'),
      'hole.result.json': changed({
        corrections: file().corrections.map((value, k) => (k === 7 ? null : value)),
      }),
      'empty.result.json': '',
      'trellis.result.json': '{"trellis":1}',
    };
    expect(files['nan.result.json']).not.toBe(RESULT);
    const names = [...Object.keys(files), 'missing.result.json'];
    const call = run(files, 'handoff', ...names, '--to', 'csv', '--out', 'out');
    const sentences = call.stderr.trimEnd().split('\n');
    const words = [
      'found a result of version 2, expected version 1 or older',
      'found 0 entries under "times"',
      'found "NaN" in a list of numbers',
      'found "null" in a list of numbers',
      'found text that is not JSON',
      'found JSON of another kind',
      'found no such file',
    ];
    expect(sentences).toEqual(
      names.map((name, k) => expect.stringContaining(`twinkeel: ${name}: ${words[k]}`)),
    );
    expect(call).toMatchObject({ status: 1, stdout: '', written: [], touched: [] });
  });

  const rateless = toJson(resultOf({ ...parts, rate: 'none' }));

  test.each<[string, string, readonly string[], string]>([
    [
      'without a rate, for a format that states one, after one that does not',
      rateless,
      ['--to', 'csv,opentrackio'],
      'found a result without an exact frame rate',
    ],
    ['without a rate, for ffmpeg', rateless, ['--to', 'ffmpeg'], 'correct the clip with --rate'],
    [
      'outside of which a trim lies',
      RESULT,
      ['--to', 'csv', '--trim', '200..300'],
      "found the frames 200 to 300, expected a part of the clip's frames 40 to 139",
    ],
    [
      'as fisheye pictures of no stated field',
      RESULT,
      ['--to', 'gltf,ffmpeg', '--picture', 'fisheye'],
      'found a fisheye without its field',
    ],
    [
      'as maps of a fisheye without a rig',
      RESULT,
      ['--to', 'st-maps', '--picture', 'fisheye'],
      'found a fisheye source and no rig',
    ],
  ])('%s', (_title, result, args, words) => {
    expectRefusal(hand(result, ...args), 1, words);
  });
});

describe('what cannot be written', () => {
  test('a folder below a file', () => {
    const call = run(
      { 'walk.result.json': RESULT },
      ...['handoff', 'walk.result.json', '--to', 'csv', '--out', 'walk.result.json/out'],
    );
    expectRefusal(call, 1, 'found a place that cannot be written (E');
  });

  test('one place among several leaves nothing of the others, no empty folder either', () => {
    const folder = temporaryFolder();
    mkdirSync(join(folder, 'out'));
    writeFileSync(join(folder, 'walk.result.json'), RESULT);
    // A file where the folder of the maps would go.
    writeFileSync(join(folder, 'out', 'walk.st-maps'), 'pressed petals');
    const call = runIn(folder, ...HANDOFF, '--to', 'gltf,ffmpeg,st-maps', '--size', '8x8');
    expectRefusal(call, 1, 'found a place that cannot be written (E');
  });

  test.skipIf(process.getuid?.() === 0)(
    'a folder without permission (skipped for root, whom no permission stops)',
    () => {
      const folder = temporaryFolder();
      mkdirSync(join(folder, 'out'), { mode: 0o500 });
      writeFileSync(join(folder, 'walk.result.json'), RESULT);
      const call = runIn(folder, ...HANDOFF, '--to', 'csv');
      expectRefusal(call, 1, 'found a place that cannot be written (EACCES)');
    },
  );

  test('a file that exists, until --force is given: then all or nothing', () => {
    const folder = temporaryFolder();
    mkdirSync(join(folder, 'out'));
    writeFileSync(join(folder, 'walk.result.json'), RESULT);
    // The last of the files to be written.
    writeFileSync(join(folder, 'out', 'walk.usda.txt'), 'moonlit remarks');
    const args = [...HANDOFF, '--to', 'csv,usda'];
    expectRefusal(runIn(folder, ...args), 1, 'walk.usda.txt: found a file of this name');
    const forced = runIn(folder, ...args, '--force');
    expect(forced).toMatchObject({ status: 0, stderr: '', touched: ['out/walk.usda.txt'] });
    expect(forced.written).toEqual(
      ['walk.csv.txt', 'walk.handoff.csv', 'walk.usda'].map((n) => `out/${n}`),
    );
  });

  test('an output that is an input stays as it was, whatever --force says', () => {
    const folder = temporaryFolder();
    writeFileSync(join(folder, 'walk.gltf'), RESULT);
    const args = ['handoff', 'walk.gltf', '--to', 'csv,gltf', '--out', '.', '--force'];
    expectRefusal(
      runIn(folder, ...args),
      1,
      'found an input of this call where the result would go',
    );
  });

  test('a target named twice is written once', () => {
    const { status, stderr, written } = hand(RESULT, '--to', 'csv,csv');
    expect(stderr).toBe('');
    expect({ status, written }).toEqual({
      status: 0,
      written: ['out', 'out/walk.csv.txt', 'out/walk.handoff.csv'],
    });
  });

  test('two results of one name are not written over each other', () => {
    const folder = temporaryFolder();
    for (const day of ['monday', 'tuesday']) {
      mkdirSync(join(folder, day));
      writeFileSync(join(folder, day, 'walk.result.json'), RESULT);
    }
    const paths = ['monday', 'tuesday'].map((day) => join(day, 'walk.result.json'));
    const args = ['handoff', ...paths, '--to', 'csv', '--out', 'out', '--force'];
    const { status, stderr } = runIn(folder, ...args);
    expect(stderr).toContain(`${paths[1]}: found the name "walk" of ${paths[0]} again`);
    expect(status).toBe(1);
  });
});

describe('handing over', () => {
  test('several targets in one call, each with its text; a bad file costs only itself', () => {
    const { status, stdout, stderr, written } = run(
      { 'walk.result.json': RESULT, 'bed.result.json': '{}' },
      ...['handoff', 'bed.result.json', 'walk.result.json', '--to', 'glb, tum', '--out', 'out'],
    );
    expect(status).toBe(1);
    expect(stderr).toMatch(/^twinkeel: bed\.result\.json: found JSON of another kind[^\n]*\n$/);
    expect(written).toEqual([
      'out',
      ...['walk.glb', 'walk.glb.txt', 'walk.trajectory.tum', 'walk.tum.txt'].map((n) => `out/${n}`),
    ]);
    expect(stdout).toContain('wrote out/walk.glb\n');
  });

  test('a part by time codes, counted from the clip’s own first frame', () => {
    const { status, folder } = hand(
      RESULT,
      ...['--to', 'gltf,ffmpeg', '--trim', '10:00:01:00..10:00:02:00', '--timecode', '10:00:00:00'],
    );
    expect(status).toBe(0);
    const { frames } = readGltf(readFileSync(join(folder, 'out', 'walk.gltf'), 'utf8'));
    // One second of 25 frames after frame 40; both ends are kept.
    expect([frames[0], frames.at(-1), frames.length]).toEqual([65, 90, 26]);
    // The movie still begins with frame 40.
    const script = readFileSync(join(folder, 'out', 'walk.ffmpeg', 'steady.sh'), 'utf8');
    expect(script).toContain('trim=start_frame=25:end_frame=51');
  });
});

describe('editors', () => {
  const edl = (folder: string) => readFileSync(join(folder, 'out', 'walk.edl'), 'utf8');

  test('get a part by its own time codes, and the call ends with cautions and the next command', () => {
    const codes = ['--trim', '10:00:01:00..10:00:02:00', '--timecode', '10:00:00:00'];
    const { status, stderr, stdout, written, folder } = hand(
      ...[RESULT, '--to', 'otio,edl,csv-markers', ...codes],
    );
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    const own = ['edl', 'edl.txt', 'csv-markers.txt', 'markers.csv', 'otio', 'otio.txt'];
    expect(written.sort()).toEqual(
      ['out', ...[...own, 'usable.otio'].map((ending) => `out/walk.${ending}`)].sort(),
    );
    expect(edl(folder)).toContain('10:00:01:00 10:00:02:01 01:00:00:00 01:00:01:01\n');
    expect(stdout).toMatch(/stop at the first sign of discomfort/);
    expect(stdout.trimEnd().split('\n').at(-1)).toBe(
      'next: twinkeel resample MOVIE --result walk.result.json --frames 10:00:01:00..10:00:02:00 --timecode 10:00:00:00 --out walk.steady.mkv',
    );
  });

  test('count from midnight at the clip’s first frame where no time code is given', () => {
    const { folder } = hand(RESULT, '--to', 'edl', '--trim', '65..89');
    expect(edl(folder)).toContain('00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n');
    expect(edl(folder)).toContain('no time code was given');
  });

  test('are told the clip’s time code, also of a movie that begins before the clip', () => {
    const codes = ['--timecode', '10:00:00:00', '--movie-starts', '15'];
    const { folder } = hand(RESULT, '--to', 'edl,otio', ...codes);
    expect(edl(folder)).toContain('10:00:00:00 10:00:04:00 01:00:00:00 01:00:04:00\n');
    const otio = readFileSync(join(folder, 'out', 'walk.otio'), 'utf8');
    const [clip] = JSON.parse(otio).tracks.children[0].children;
    // Ten hours of 25 frames per second; the movie begins 25 frames before.
    expect(clip.source_range.start_time.value).toBe(900_000);
    const { available_range } = clip.media_references.DEFAULT_MEDIA;
    expect(available_range.start_time.value).toBe(899_975);
    expectRefusal(
      hand(RESULT, '--to', 'edl', '--timecode', '00:00:00:10', '--movie-starts', '15'),
      2,
      '--timecode 00:00:00:10 is less than 25 frames after 00:00:00:00',
    );
  });

  test('a machine gets neither cautions nor commands between its JSON', () => {
    const { stdout } = hand(RESULT, '--to', 'edl', '--json');
    expect(JSON.parse(stdout)).toHaveLength(1);
  });
});

describe('a second pass through the command', () => {
  /** Where the camera looked on a frame of the original, and what the first pass did to it. */
  const camera = (frame: number) => turn([0, 1, 0], 0.3 * Math.sin(frame / 40)).q;
  const first = (frame: number) => turn([0.6, 0, 0.8], 0.05 * Math.sin(frame / 9)).q;
  const original = Array.from({ length: 200 }, (_, k) => 40 + k);
  const corrections = toCsv(
    resultOf({
      intended: original.map(() => [0, 0, 0, 1]),
      corrections: original.map(first),
      rate: RATE,
    }),
  );
  /** The edit shows frames 60 to 219; its own frames count from 0. */
  const shown = original.slice(20, 180);
  const tracked = trackToCsv(
    createTrack({
      times: frameTimes(RATE, shown.length),
      quaternions: Float64Array.from(
        shown.flatMap((frame) => {
          const [x, y, z, w] = first(frame);
          const back = [-x, -y, -z, w] as const;
          return [...composeQuaternions(Float64Array.from(camera(frame)), back)];
        }),
      ),
    }),
  );

  test.each([
    ['by frames', ['--trim', '60..219']],
    ['by time codes', ['--trim', '00:00:00:20..00:00:07:04']],
    [
      'by time codes of a clip that began at ten',
      ['--trim', '10:00:00:20..10:00:07:04', '--timecode', '10:00:00:00'],
    ],
  ])('on footage trimmed %s folds into one correction of the original', (_title, trim) => {
    const { status, stderr, folder } = run(
      { 'edit.csv': tracked, 'first.corrections.csv': corrections },
      ...['correct', 'edit.csv', '--out', 'out', '--rate', '25', '--shot', 'travelling'],
      ...['--earlier', 'first.corrections.csv', ...trim],
    );
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    const text = (name: string) => readFileSync(join(folder, 'out', name), 'utf8');
    const result = readResult(text('edit.result.json'));
    expect(Array.from(result.corrections.frames!)).toEqual(shown);
    expect(readCorrections(text('edit.corrections.csv')).frames).toEqual(result.corrections.frames);
    const measured = composeQuaternions(
      result.intended.quaternions,
      result.corrections.quaternions,
    );
    shown.forEach((frame, k) => {
      // Track and corrections went through text of twelve decimals, 2e-12 rad each; stamps of a
      // nanosecond move the camera, which turns below 0.5 rad/s, by another 0.5e-9.
      expect(apart(quaternionAt(measured, k), camera(frame))).toBeLessThan(1e-9);
    });
  });
});
