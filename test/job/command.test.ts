import { spawnSync } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { readCorrections, trackToCsv } from '../../src/handoff/csv.js';
import { readResult } from '../../src/handoff/readResult.js';
import { readTrack } from '../../src/read/readTrack.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import { frameTimes } from '../../src/track/frameRate.js';
import { createTrack } from '../../src/track/orientationTrack.js';
import { largestGap } from '../apart.js';
import { CLI } from '../command.js';
import { temporaryFolder } from '../temporaryFolder.js';

/** A walk past the moonflowers: a slow turn to the left with a nod at every step. */
function walk(seconds: number): string {
  const frameRate = { numerator: 25, denominator: 1 };
  const times = frameTimes(frameRate, 25 * seconds + 1);
  const look = (t: number) =>
    quaternionFromHeadingTiltRoll(0.1 * t, 0.02 * Math.sin(12 * t), 0.02 * Math.cos(6 * t));
  const quaternions = Float64Array.from([...times].flatMap((t) => [...look(t)]));
  return trackToCsv(createTrack({ times, quaternions }));
}

const WALK = walk(10);

const LINES = WALK.split('\n');

/** The same walk with one line, counted from 1, written anew. */
const withLine = (line: number, text: string): string =>
  LINES.map((own, k) => (k === line - 1 ? text : own)).join('\n');

/** The same walk without the frames from one up to before another. */
const withoutFrames = (from: number, to: number): string =>
  LINES.filter((_, k) => k <= from || k > to).join('\n');

const LOG = `time_s,gx,gy,gz,ax,ay,az\n${Array.from({ length: 1001 }, (_, k) => {
  const t = k / 100;
  return `${t},${0.24 * Math.cos(12 * t)},0.1,0,0,9.81,0`;
}).join('\n')}\n`;

/** A still camera at 30000/1001 per second, with stamps rounded to milliseconds, for 40 s. */
const STAMPED = `time_s,x,y,z,w\n${Array.from({ length: 1200 }, (_, k) => {
  return `${((k * 1001) / 30000).toFixed(3)},0,${0.001 * Math.sin(k / 9)},0,1`;
}).join('\n')}\n`;

/** Every file of a folder: its bytes and when it was written. */
function contents(folder: string): Map<string, string> {
  const names = readdirSync(folder, { recursive: true }) as string[];
  const files = names.filter((name) => statSync(join(folder, name)).isFile());
  return new Map(
    files.map((name) => {
      const path = join(folder, name);
      return [name, `${statSync(path).mtimeMs} ${readFileSync(path).toString('base64')}`];
    }),
  );
}

/** Runs the command in a new folder that holds some files, which it must not touch. */
function run(files: Readonly<Record<string, string | Uint8Array>>, ...args: readonly string[]) {
  const folder = temporaryFolder();
  for (const [name, content] of Object.entries(files)) writeFileSync(join(folder, name), content);
  return runIn(folder, ...args);
}

function runIn(folder: string, ...args: readonly string[]) {
  const before = contents(folder);
  const { status, stdout, stderr } = spawnSync(process.execPath, [CLI, ...args], {
    cwd: folder,
    encoding: 'utf8',
  });
  const after = contents(folder);
  for (const [name, content] of before) expect(after.get(name)).toBe(content);
  const written = [...after.keys()].filter((name) => !before.has(name)).sort();
  return { status, stdout, stderr, written, folder };
}

const CORRECT = ['correct', 'walk.csv', '--out', 'out'];
const MAPPED = [...CORRECT, '--mapping', 'how.txt'];
const ANGLES =
  'time: column "t" unit s\nangles: turn "yaw" deg about up, then "pitch" deg about right, then "roll" deg about back\n';

describe('a clip that cannot be used ends with 1, one sentence, and nothing written', () => {
  test.each<[string, string | Uint8Array, string, string]>([
    ['an empty file', '', ': found an empty file', 'export the file again'],
    ['a header alone', 'time_s,x,y,z,w\n', ': found a header and no rows', 'export the file again'],
    ['one row', LINES.slice(0, 2).join('\n'), ': found 1 sample', 'export the whole take'],
    [
      'a cell that is no number',
      withLine(5, '0.12,0,0,zero,1'),
      ', row 5, column "z": found "zero"',
      'correct the cell or delete the row',
    ],
    [
      'a cell that says NaN',
      withLine(9, '0.28,0,NaN,0,1'),
      ', row 9, column "y": found "NaN"',
      'correct the cell or delete the row',
    ],
    [
      'a row of another length',
      withLine(12, '0.4,0,0,1'),
      ', row 12: found 4 cells, expected 5',
      'correct the row or delete it',
    ],
    [
      'time that runs back',
      withLine(7, '0.1,0,0,0,1'),
      ', row 7, column time: found 0.1 s after 0.16 s',
      'sort the rows by time',
    ],
    [
      'a time twice',
      withLine(7, '0.16,0,0,0,1'),
      ', row 7, column time: found the time 0.16 s twice',
      'remove duplicates',
    ],
    [
      'a zero quaternion',
      withLine(3, '0.04,0,0,0,0'),
      ', row 3: found a quaternion of norm 0.00000',
      'leave the sample out',
    ],
    ['binary data', Uint8Array.of(0x1f, 0x8b, 8, 0, 0, 0), ': found binary data', 'export'],
    ['less than three seconds', walk(2), ': found 2.00 s, expected at least 3 s', 'a longer take'],
    [
      'three seconds without a sample',
      withoutFrames(60, 135),
      ', at 2.36 s: found 3.04 s without a sample',
      'split the clip there',
    ],
  ])('%s', (_, content, words, remedy) => {
    const { status, stdout, stderr, written } = run({ 'walk.csv': content }, ...CORRECT);
    expect(stderr).toMatch(/^twinkeel: walk\.csv.+, expected .+; .+\.\n$/);
    expect(stderr).toContain(`twinkeel: walk.csv${words}`);
    expect(stderr).toContain(remedy);
    expect({ status, stdout, written }).toEqual({ status: 1, stdout: '', written: [] });
  });

  test('a file that is not there', () => {
    const { status, stderr, written } = run({}, ...CORRECT);
    expect(stderr).toBe(
      'twinkeel: walk.csv: found no such file, expected a readable file; check the path and the permissions.\n',
    );
    expect({ status, written }).toEqual({ status: 1, written: [] });
  });

  test('columns of another name, with sentences to start a mapping from', () => {
    const { status, stderr, written } = run({ 'walk.csv': 'when,a,b,c\n0,1,2,3\n' }, ...CORRECT);
    expect(stderr).toContain(
      'walk.csv: found the columns "when", "a", "b", "c", expected a header',
    );
    expect(stderr).toContain('pass it with --mapping:\n  time: column "TIME" unit s\n');
    expect({ status, written }).toEqual({ status: 1, written: [] });
  });

  test('a mapping that names a column the file does not have', () => {
    const files = { 'walk.csv': 't,yaw,pitch,lean\n0,1,2,3\n1,1,2,3\n', 'how.txt': ANGLES };
    const { status, stderr, written } = run(files, ...MAPPED);
    expect(stderr).toBe(
      'twinkeel: walk.csv: found the columns "t", "yaw", "pitch", "lean", expected the column "roll" that the mapping names; correct the column in the mapping, or check that the mapping belongs to this file.\n',
    );
    expect({ status, written }).toEqual({ status: 1, written: [] });
  });

  test('an output that exists, until --force is given', () => {
    const folder = temporaryFolder();
    writeFileSync(join(folder, 'walk.csv'), WALK);
    mkdirSync(join(folder, 'out'));
    writeFileSync(join(folder, 'out', 'walk.result.json'), 'old');
    const { status, stderr, written } = runIn(folder, ...CORRECT);
    expect(stderr).toContain('walk.result.json: found a file of this name, expected a new name');
    expect(stderr).toContain('pass --force to replace it');
    expect({ status, written }).toEqual({ status: 1, written: [] });
    writeFileSync(join(folder, 'out', 'walk.corrections.csv'), 'old');
    spawnSync(process.execPath, [CLI, ...CORRECT, '--force'], { cwd: folder });
    expect(
      readCorrections(readFileSync(join(folder, 'out', 'walk.corrections.csv'))).times,
    ).toHaveLength(251);
  });

  test('a folder below a regular file', () => {
    const { status, stderr, written } = run(
      { 'walk.csv': WALK },
      'correct',
      'walk.csv',
      '--out',
      'walk.csv/out',
    );
    expect(stderr).toMatch(
      /found a place that cannot be written \(E\w+\), expected a writable folder/,
    );
    expect({ status, written }).toEqual({ status: 1, written: [] });
  });

  test('a second clip of the same name', () => {
    const folder = temporaryFolder();
    for (const day of ['monday', 'tuesday']) {
      mkdirSync(join(folder, day));
      writeFileSync(join(folder, day, 'walk.csv'), WALK);
    }
    const paths = ['monday', 'tuesday'].map((day) => join(day, 'walk.csv'));
    const { status, stderr } = runIn(folder, 'correct', ...paths, '--out', 'out', '--force');
    expect(stderr).toContain(`${paths[1]}: found the name "walk" of ${paths[0]} again`);
    expect(status).toBe(1);
  });

  test('a disk that fills up', () => {
    const folder = temporaryFolder();
    writeFileSync(join(folder, 'walk.csv'), WALK);
    // One block is the largest file that this shell may write.
    const command = `ulimit -f 1; exec "${process.execPath}" "${CLI}" ${CORRECT.join(' ')}`;
    const { status } = spawnSync('sh', ['-c', command], { cwd: folder });
    expect({ status, files: [...contents(folder).keys()] }).toEqual({
      status: 1,
      files: ['walk.csv'],
    });
  });
});

describe('a wrong call ends with 2, one sentence, and nothing written', () => {
  test.each<[string, readonly string[], string]>([
    [
      'an unknown command',
      ['stabilise', 'walk.csv'],
      'there is no command "stabilise"; the commands are shoot, inspect, orient, correct, handoff, resample, report, merge, demo',
    ],
    [
      'an unknown option',
      [...CORRECT, '--rotate'],
      "Unknown option '--rotate'; see twinkeel correct --help",
    ],
    [
      'an option that is nearly right',
      [...CORRECT, '--markrs', 'm.csv'],
      "Unknown option '--markrs'; write --markers if that was meant; see twinkeel correct --help",
    ],
    [
      'a command that is nearly right',
      ['corect', 'walk.csv'],
      'there is no command "corect"; write "correct" if that was meant; the commands are shoot,',
    ],
    [
      'a word that is nearly right',
      [...CORRECT, '--shot', 'traveling'],
      'expected one of auto, travelling, pan, locked-off; write "travelling" if that was meant',
    ],
    [
      'a target that is nearly right',
      ['handoff', 'walk.result.json', '--to', 'glft', '--out', 'out'],
      '--to: found "glft", expected one of csv, json, gltf',
    ],
    [
      'an option of another command',
      ['inspect', 'walk.csv', '--out', 'out'],
      "Unknown option '--out'; see twinkeel inspect --help",
    ],
    [
      'an option without its value',
      ['correct', 'walk.csv', '--out'],
      "Option '--out <value>' argument missing",
    ],
    ['no file', ['correct', '--out', 'out'], 'no file was given'],
    ['no folder to write into', ['correct', 'walk.csv'], 'say where to write: --out DIR'],
    [
      'a decimal frame rate',
      [...CORRECT, '--rate', '59.94'],
      '--rate: found "59.94", expected a whole number or an exact fraction such as 60000/1001, from 1 to 1000 frames per second; write 23.976 as 24000/1001, 29.97 as 30000/1001, 59.94 as 60000/1001',
    ],
    [
      'an unknown kind of shot',
      [...CORRECT, '--shot', 'flight'],
      '--shot: found "flight", expected one of auto, travelling, pan, locked-off',
    ],
    [
      'a level beyond 1',
      [...CORRECT, '--level', '2'],
      '--level: found 2, expected a share from 0 to 1',
    ],
    [
      'a level that is no number',
      [...CORRECT, '--level', 'full'],
      '--level: found "full", expected a share from 0 to 1',
    ],
    [
      'a limit of nothing',
      [...CORRECT, '--limit', '0'],
      '--limit: found 0, expected an angle above 0° or "none"',
    ],
    [
      'an unknown filter',
      [...CORRECT, '--filter', 'median'],
      '--filter: found "median", expected one of structural',
    ],
    [
      'a mapping that is not there',
      MAPPED,
      'how.txt: found no such file, expected a readable file',
    ],
    [
      'aim keys that are not there',
      [...CORRECT, '--aim', 'aim.csv'],
      'aim.csv: found no such file',
    ],
    [
      'earlier corrections of another kind',
      [...CORRECT, '--earlier', 'walk.csv'],
      'walk.csv, row 1: found the header time_s,x,y,z,w, expected frame,time_s,x,y,z,w',
    ],
    ['files for the demonstration', ['demo', 'walk.csv'], 'demo takes no files'],
  ])('%s', (_, args, words) => {
    const { status, stdout, stderr, written } = run({ 'walk.csv': WALK }, ...args);
    expect(stderr).toMatch(/^twinkeel: .+\n$/);
    expect(stderr).toContain(words);
    expect({ status, stdout, written }).toEqual({ status: 2, stdout: '', written: [] });
  });

  test.each([
    [
      'left-handed axes',
      'axes camera: x right, y back, z up',
      'how.txt: found left-handed axes (axes camera: x right, y back, z up)',
    ],
    [
      'axes that are not perpendicular',
      'axes world: x up, y up, z back',
      'write for example "axes world: x right, y down, z forward"',
    ],
    [
      'a sentence that is not understood',
      'time: seconds',
      'how.txt, row 1: found "time: seconds" in the mapping',
    ],
  ])('a mapping with %s', (_, mapping, words) => {
    const { status, stderr, written } = run({ 'walk.csv': WALK, 'how.txt': mapping }, ...MAPPED);
    expect(stderr).toContain(words);
    expect({ status, written }).toEqual({ status: 2, written: [] });
  });

  test('no command at all shows what there is', () => {
    const { status, stdout, written } = run({});
    expect(stdout).toContain('twinkeel COMMAND --help');
    expect({ status, written }).toEqual({ status: 2, written: [] });
  });

  test('a negative level is one sentence too', () => {
    const { stderr } = run({ 'walk.csv': WALK }, ...CORRECT, '--level', '-1');
    expect(stderr).toMatch(/^twinkeel: .+\n$/);
  });
});

describe('correct', () => {
  test('one rotation per frame is written, and the cautions are said', () => {
    const { status, stdout, stderr, written, folder } = run({ 'walk.csv': WALK }, ...CORRECT);
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    expect(written).toEqual([
      'out/walk.clip.json',
      'out/walk.corrections.csv',
      'out/walk.result.json',
    ]);
    const [, csv, json] = written.map((name) => readFileSync(join(folder, name), 'utf8'));
    const { corrections, intended } = readResult(json!);
    // Twelve decimals: half a unit, 5e-13, for each component. Four of them change the norm by 1e-12 at
    // most, which is made up for on reading.
    const gap = largestGap(readCorrections(csv!).quaternions, corrections.quaternions);
    expect(gap).toBeLessThan(1.5e-12);
    expect(intended.times).toEqual(readTrack(WALK).times);
    expect(stdout).toContain('judge it in a headset');
  });

  test('a bad clip among good ones costs only itself', () => {
    const files = {
      'moonflower.csv': WALK,
      'walk.csv': 'time_s,x,y,z,w\n0,0,0,0\n',
      'tank.csv': WALK,
    };
    const { status, stderr, written } = run(
      files,
      'correct',
      ...Object.keys(files),
      '--out',
      'out',
    );
    expect(stderr).toMatch(/^twinkeel: walk\.csv, row 2: found 4 cells.+\n$/);
    expect(status).toBe(1);
    expect(written).toEqual(
      ['moonflower', 'tank'].flatMap((stem) => [
        `out/${stem}.clip.json`,
        `out/${stem}.corrections.csv`,
        `out/${stem}.result.json`,
      ]),
    );
  });

  test('--json says the same for machines, of good and of bad clips', () => {
    const files = { 'walk.csv': WALK, 'tank.csv': '' };
    const { status, stdout } = run(
      files,
      'correct',
      ...Object.keys(files),
      '--out',
      'out',
      '--json',
    );
    expect(status).toBe(1);
    expect(JSON.parse(stdout)).toMatchObject([
      { file: 'walk.csv', ok: true, paths: ['out/walk.corrections.csv', 'out/walk.result.json'] },
      {
        file: 'tank.csv',
        ok: false,
        code: 'read/empty',
        message: expect.stringContaining('tank.csv'),
      },
    ]);
  });

  test('three to eight seconds are corrected with a note to judge with care', () => {
    const { status, stdout } = run({ 'walk.csv': walk(5) }, ...CORRECT);
    expect(status).toBe(0);
    expect(stdout).toContain('note: the clip lasts 5.0 s');
    expect(stdout).toContain('judge the result with care');
  });

  test('degrees that a mapping calls radians are noticed', () => {
    const rows = Array.from({ length: 251 }, (_, k) => `${k / 25},${k / 3},0,0`).join('\n');
    const files = {
      'walk.csv': `t,yaw,pitch,roll\n${rows}\n`,
      'how.txt': ANGLES.replace('"yaw" deg', '"yaw" rad'),
    };
    const { status, stdout } = run(files, ...MAPPED);
    expect(status).toBe(0);
    expect(stdout).toContain(
      'note: column yaw reaches 83.3 rad, which looks like degrees; if so, write "deg"',
    );
  });

  test('missing frames are bridged and said to be', () => {
    const { status, stdout, folder } = run(
      { 'walk.csv': withoutFrames(99, 101) },
      ...CORRECT,
      '--rate',
      '25',
    );
    expect(status).toBe(0);
    expect(stdout).toContain('note: 2 frames are missing: 99–100');
    expect(stdout).toContain(
      '2 missing frames were bridged by interpolation, the first is frame 99',
    );
    const csv = readFileSync(join(folder, 'out', 'walk.corrections.csv'));
    expect(readCorrections(csv).times).toHaveLength(251);
  });

  test('aim, markers, limit and earlier corrections are taken as they are given', () => {
    const files = {
      'walk.csv': WALK,
      'aim.csv': 'time_s,heading_deg,tilt_deg\n0,0,0\n10,60,0\n',
      'marks.csv': 'from_s,to_s,intent\n2,4,move\n',
      'before.csv': 'frame,time_s,x,y,z,w\n0,0,0,0,0,1\n250,10,0,0,0,1\n',
    };
    const { status, stdout, stderr } = run(
      files,
      ...CORRECT,
      ...['--aim', 'aim.csv', '--markers', 'marks.csv', '--earlier', 'before.csv', '--limit', '5'],
    );
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    expect(stdout).not.toContain('limit: none');
  });
});

describe('the verdict of correct', () => {
  test('is printed with a line for every reason of the result, and its number with its unit', () => {
    const { status, stdout, folder } = run({ 'walk.csv': WALK }, ...CORRECT, '--limit', '0.5');
    expect(status).toBe(0);
    const json = readFileSync(join(folder, 'out', 'walk.result.json'), 'utf8');
    const { verdict, reasons } = readResult(json);
    expect(reasons.some(({ now }) => now !== undefined)).toBe(true);
    const lines = stdout.split('\n').map((line) => line.trim());
    const at = lines.indexOf(`verdict: ${verdict}, because of`);
    expect(at).toBeGreaterThan(0);
    let next = at + 1;
    for (const { figure, value, unit, threshold, source, now, nextTime } of reasons) {
      const line = lines[next++]!;
      expect(line.startsWith(`${figure}: `)).toBe(true);
      // Two digits are printed at least: half a unit of the second is 1/20 of the value at most.
      const shown = line.slice(figure.length + 2);
      expect(Math.abs(Number.parseFloat(shown) / value - 1)).toBeLessThanOrEqual(1 / 20);
      for (const word of [unit, `above ${threshold}`, source, 'caused by ']) {
        expect(shown).toContain(word);
      }
      if (now !== undefined) expect(lines[next++]).toBe(`now: ${now}`);
      expect(lines[next++]).toBe(`next time: ${nextTime}`);
    }
    expect(lines[next]).toBe(
      'not judged without a rig (--rig): black edges, vertical disparity, up and down',
    );
    expect(lines[next + 1]).toMatch(/^usable: /);
    expect(lines.slice(next + 2).find((line) => line.startsWith('wrote '))).toBeDefined();
    expect(stdout).not.toMatch(/safe/i);
  });

  test('stands alone where nothing speaks against the clip', () => {
    const { stdout, folder } = run({ 'walk.csv': WALK }, ...CORRECT);
    const json = readFileSync(join(folder, 'out', 'walk.result.json'), 'utf8');
    expect(JSON.parse(json)).toMatchObject({ verdict: 'deliver', reasons: [] });
    expect(stdout).toMatch(/^ *verdict: deliver$/m);
  });

  test('is what --json says', () => {
    const args = [...CORRECT, '--limit', '0.5', '--json'];
    const { stdout, folder } = run({ 'walk.csv': WALK }, ...args);
    const json = readFileSync(join(folder, 'out', 'walk.result.json'), 'utf8');
    const { verdict, reasons, cautions } = JSON.parse(json);
    expect(JSON.parse(stdout)).toMatchObject([{ ok: true, verdict, reasons, cautions }]);
  });
});

describe('orient', () => {
  test('a log becomes a track that needs no mapping', () => {
    const { status, written, folder } = run(
      { 'gyro.csv': LOG },
      'orient',
      'gyro.csv',
      '--out',
      'out',
    );
    expect({ status, written }).toEqual({ status: 0, written: ['out/gyro.track.csv'] });
    const track = readTrack(readFileSync(join(folder, written[0]!)));
    expect(track.times).toHaveLength(1001);
  });

  test('with a frame rate it has a row for every frame', () => {
    const args = ['orient', 'gyro.csv', '--out', 'out', '--rate', '30000/1001', '--json'];
    const { status, stdout, written, folder } = run({ 'gyro.csv': LOG }, ...args);
    expect(status).toBe(0);
    expect(JSON.parse(stdout)).toMatchObject([{ ok: true, path: 'out/gyro.track.csv' }]);
    expect(readTrack(readFileSync(join(folder, written[0]!))).frames).toHaveLength(300);
  });

  test('an accelerometer in a file of its own levels it', () => {
    const [header, ...rows] = LOG.trim().split('\n');
    const cut = (from: number, to: number) =>
      [header!, ...rows].map((row) =>
        row.split(',').filter((_, k) => k === 0 || (k >= from && k < to)),
      );
    const text = (cells: string[][]) => `${cells.map((row) => row.join(',')).join('\n')}\n`;
    const files = { 'gyro.csv': text(cut(1, 4)), 'accel.csv': text(cut(4, 7)) };
    const { status, stdout, written, folder } = run(
      files,
      ...['orient', 'gyro.csv', '--accel', 'accel.csv', '--accel-offset', '0', '--out', 'out'],
    );
    expect({ status, written }).toEqual({ status: 0, written: ['out/gyro.track.csv'] });
    expect(stdout).toContain('horizon ± ');
    const apart = readFileSync(join(folder, written[0]!), 'utf8');
    const whole = run({ 'gyro.csv': LOG }, 'orient', 'gyro.csv', '--out', 'out');
    // The same samples at the same times: on a line between two samples there is the sample.
    expect(apart).toBe(readFileSync(join(whole.folder, 'out/gyro.track.csv'), 'utf8'));
  });

  test('an accelerometer belongs to one log', () => {
    const { status, stderr, written } = run(
      { 'gyro.csv': LOG, 'other.csv': LOG, 'accel.csv': LOG },
      ...['orient', 'gyro.csv', 'other.csv', '--accel', 'accel.csv', '--out', 'out'],
    );
    expect(stderr).toContain("--accel accel.csv belongs to one gyroscope's log");
    expect({ status, written }).toEqual({ status: 2, written: [] });
  });

  test('a track is no log', () => {
    const { status, stderr, written } = run(
      { 'walk.csv': WALK },
      'orient',
      'walk.csv',
      '--out',
      'out',
    );
    expect(stderr).toContain('walk.csv: found no line about the angular rate in the mapping');
    expect({ status, written }).toEqual({ status: 1, written: [] });
  });
});

describe('inspect', () => {
  test('a gap is refused as in the main job', () => {
    const rows = LINES.slice(1, -1).map((line, k) => {
      const [, ...q] = line.split(',');
      return [k / 25 + (k > 100 ? 1e6 : 0), ...q.slice(-4)].join(',');
    });
    const text = `time_s,x,y,z,w\n${rows.join('\n')}\n`;
    const { status, stderr } = run({ 'walk.csv': text }, 'inspect', 'walk.csv');
    expect({ status, stderr }).toMatchObject({ status: 1 });
    expect(stderr).toContain('s without a sample');
  });

  test('it says what was understood and writes nothing', () => {
    const files = { 'walk.csv': WALK, 'gyro.csv': LOG };
    const { status, stdout, stderr, written } = run(files, 'inspect', 'walk.csv', 'gyro.csv');
    expect({ status, stderr, written }).toEqual({ status: 0, stderr: '', written: [] });
    expect(stdout).toContain('walk.csv\n  orientation track\n  251 samples, 10.00 s');
    expect(stdout).toContain(
      'first row: the camera looks north, level, rolled 1.1° counter-clockwise',
    );
    expect(stdout).toContain('gyro.csv\n  motion log\n');
  });

  test.each([
    [
      '60',
      'frames that are counted',
      WALK,
      'the file has 25.000 rows per second and --rate says 60',
    ],
    ['25', 'frames that are counted', WALK, undefined],
    ['30000/1001', 'stamps in whole milliseconds', STAMPED, undefined],
    [
      '30',
      'stamps in whole milliseconds',
      STAMPED,
      'the file has 29.970 rows per second and --rate says 30:',
    ],
  ])('--rate %s and %s: a rate that contradicts the file is said', (rate, _, text, words) => {
    const { status, stdout } = run({ 'walk.csv': text }, 'inspect', 'walk.csv', '--rate', rate);
    expect(status).toBe(0);
    if (words === undefined) expect(stdout).not.toContain('--rate says');
    else expect(stdout).toContain(words);
  });

  test('a rate that contradicts the mapping is said', () => {
    const rows = Array.from({ length: 151 }, (_, k) => `${k},0,0,${k / 100}`).join('\n');
    const files = {
      'walk.csv': `t,yaw,pitch,roll\n${rows}\n`,
      'how.txt': ANGLES.replace('column "t" unit s', 'column "t" frames at 25'),
    };
    const args = ['inspect', 'walk.csv', '--mapping', 'how.txt', '--rate', '24'];
    expect(run(files, ...args).stdout).toContain(
      'note: the file counts 25 frames per second and --rate says 24: frames at 24 are made between',
    );
  });

  test('--json is one list', () => {
    const { stdout, written } = run({ 'walk.csv': WALK }, 'inspect', 'walk.csv', '--json');
    expect(JSON.parse(stdout)).toMatchObject([
      { file: 'walk.csv', ok: true, kind: 'track', samples: 251, durationS: 10, up: 'stated' },
    ]);
    expect(written).toEqual([]);
  });
});

describe('demo', () => {
  test('the greenhouse walk is made and corrected, and not made twice over', () => {
    const first = run({}, 'demo', '--out', 'walk');
    expect({ status: first.status, stderr: first.stderr }).toEqual({ status: 0, stderr: '' });
    expect(first.written).toEqual(
      ['greenhouse-gyro', 'greenhouse-walk']
        .flatMap((stem) =>
          ['clip.json', 'corrections.csv', 'csv', 'mapping.txt', 'result.json'].map(
            (end) => `walk/${stem}.${end}`,
          ),
        )
        .concat('walk/report.html'),
    );
    for (const stem of ['walk', 'gyro']) {
      const csv = readFileSync(join(first.folder, `walk/greenhouse-${stem}.corrections.csv`));
      expect(readCorrections(csv).times).toHaveLength(2398);
    }
    const again = runIn(first.folder, 'demo', '--out', 'walk');
    expect(again.stderr).toContain('found a file of this name, expected a new name');
    expect(again.status).not.toBe(0);
  });
});

describe('help', () => {
  test.each([
    ['inspect', ['--mapping FILE', '--rate N/D', '--shot KIND', '--json', '--help, -h']],
    ['orient', ['--out DIR', '--mapping FILE', '--rate N/D', '--force', '--json']],
    [
      'correct',
      ['--level', '--level-at', '--aim', '--limit', '--filter', '--markers', '--earlier', '--json'],
    ],
    ['demo', ['--out DIR', '--force']],
  ])('twinkeel %s --help lists its options', (command, options) => {
    const { status, stdout, stderr, written } = run({}, command, '--help');
    expect(stdout).toContain(`twinkeel ${command}`);
    for (const option of options) expect(stdout).toContain(option);
    expect({ status, stderr, written }).toEqual({ status: 0, stderr: '', written: [] });
  });

  test.each(['--help', '-h'])('twinkeel %s names every command', (flag) => {
    const { status, stdout } = run({}, flag);
    for (const command of ['inspect', 'orient', 'correct', 'demo']) {
      expect(stdout).toContain(`\n  ${command} `);
    }
    expect(status).toBe(0);
  });
});
