/** A shoot day in one go, on what is built: bad clips, shares, what is kept, and being stopped. */
import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import {
  appendFileSync,
  chmodSync,
  cpSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { basename, join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { beforeAll, describe, expect, onTestFinished, test } from 'vitest';
import { makeClockTake } from '../../bench/accuracy/clockTakes.js';
import { HOST, newMark, partialBeside } from '../../src/files/partials.js';
import { readCorrections, trackToCsv } from '../../src/handoff/csv.js';
import { readResult } from '../../src/handoff/readResult.js';
import type * as Built from '../../src/node.js';
import { temporaryFolder } from '../temporaryFolder.js';
import {
  CLI,
  jsonOf,
  manifestOf,
  prints,
  sharedFolder,
  shootFolder,
  twinkeel,
  walkCsv,
} from './shootFolder.js';

const ROOT_USER = process.getuid?.() === 0;

const RUN = ['correct', 'shoot.json', '--out', 'out'];

/** The library as it is shipped, in few files. */
const built = () =>
  import(new URL('../../dist/library/node.js', import.meta.url).href) as Promise<typeof Built>;

/** The names that a finished shoot of these clips leaves. */
const finishedNames = (names: readonly string[]) =>
  [
    ...names.flatMap((name) =>
      ['clip.json', 'corrections.csv', 'result.json'].map((end) => `${name}.${end}`),
    ),
    'shoot.summary.json',
  ].sort();

/** When every file of a folder was written. */
const writtenAt = (folder: string, ends = '') =>
  readdirSync(folder)
    .filter((name) => name.endsWith(ends))
    .map((name) => `${name} ${statSync(join(folder, name), { bigint: true }).mtimeNs}`);

describe('all clips of a manifest', () => {
  test('are corrected, told in a table and in a summary', () => {
    const folder = shootFolder(3);
    const { status, stdout, stderr } = twinkeel(folder, ...RUN);
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    expect(stdout.split('\n')[0]).toMatch(/^clip +state +verdict +weightiest reason$/);
    expect(stdout).toContain('3 clips: 3 done, 0 kept (done before), 0 failed');
    expect(stdout).toContain('next: twinkeel report out/*.result.json --out out/report.html');
    for (const k of [0, 1, 2]) expect(stdout).toMatch(new RegExp(`^take-${k} `, 'm'));
    expect(stdout).toContain('judge it in a headset');
    const out = join(folder, 'out');
    expect(readdirSync(out).sort()).toEqual(finishedNames(['take-0', 'take-1', 'take-2']));
    const summary = jsonOf(out, 'shoot.summary.json');
    expect(summary.clipCount).toBe(3);
    const fates = summary.clips.map(({ name, ok }: { name: string; ok: boolean }) => [name, ok]);
    expect(fates).toEqual([0, 1, 2].map((k) => [`take-${k}`, true]));
  });

  test('are the bytes that each gets alone', () => {
    const folder = shootFolder(2);
    twinkeel(folder, ...RUN);
    for (const take of ['take-0', 'take-1']) {
      twinkeel(folder, 'correct', `${take}.csv`, '--rate', '25', '--out', `${take}.alone`);
      const alone = prints(join(folder, `${take}.alone`));
      expect(Object.keys(alone)).toHaveLength(3);
      expect(prints(join(folder, 'out'))).toMatchObject(alone);
    }
  });

  test('machines get the summary on standard output', () => {
    const folder = shootFolder(2);
    const { stdout } = twinkeel(folder, ...RUN, '--json');
    expect(JSON.parse(stdout)).toEqual(jsonOf(folder, 'out', 'shoot.summary.json'));
  });

  test('a dozen and one stay without a word on standard error', () => {
    expect(twinkeel(shootFolder(13), ...RUN)).toMatchObject({ status: 0, stderr: '' });
  });

  test('two clips share the log that the defaults name', () => {
    const folder = temporaryFolder();
    const take = makeClockTake('walk', 1, { duration: 15 });
    const { times, rate } = take.log;
    const rows = Array.from(times, (time, k) =>
      [time, ...rate.subarray(3 * k, 3 * k + 3)].join(','),
    );
    writeFileSync(join(folder, 'gyro.csv'), `time_s,gx,gy,gz\n${rows.join('\n')}\n`);
    const lines = trackToCsv(take.track).trimEnd().split('\n');
    writeFileSync(join(folder, 'whole.csv'), `${lines.join('\n')}\n`);
    // The first frames are left out: a second clip that starts later in the same log.
    const late = 60;
    writeFileSync(join(folder, 'late.csv'), `${[lines[0], ...lines.slice(1 + late)].join('\n')}\n`);
    const clips = [{ file: 'whole.csv' }, { file: 'late.csv' }];
    writeFileSync(join(folder, 'shoot.json'), manifestOf(clips, { log: 'gyro.csv' }));
    expect(twinkeel(folder, ...RUN)).toMatchObject({ status: 0, stderr: '' });
    const starts = ['whole', 'late'].map((name) => {
      const text = readFileSync(join(folder, 'out', `${name}.result.json`), 'utf8');
      const fused = readResult(text).warnings.find(({ code }) => code === 'sync/fused')!;
      return Number(/it starts (\d+\.\d+) s before the clip/.exec(fused.message)![1]);
    });
    // Each is found on its own within 3.5 times 0.27 ms, as test/job/log.test.ts derives.
    const apart = take.track.times[late]! - take.track.times[0]!;
    expect(Math.abs(starts[1]! - starts[0]! - apart)).toBeLessThan(2 * 3.5 * 0.27e-3);
  });
});

describe('one bad clip fails alone, with one sentence and exit code 1', () => {
  const GOOD = walkCsv(6);
  const replaced = (line: number, text: string) =>
    GOOD.split('\n')
      .map((own, k) => (k === line - 1 ? text : own))
      .join('\n');

  const BAD: Readonly<Record<string, [make: (path: string) => void, found: string]>> = {
    missing: [() => {}, 'found no such file'],
    empty: [(path) => writeFileSync(path, ''), 'found an empty file'],
    folder: [(path) => mkdirSync(path), 'found a folder'],
    binary: [(path) => writeFileSync(path, Uint8Array.of(31, 139, 8, 0, 0)), 'found binary data'],
    nan: [(path) => writeFileSync(path, replaced(9, '0.28,0,NaN,0,1')), 'column "y": found "NaN"'],
    dangling: [(path) => symlinkSync('nowhere.csv', path), 'found no such file'],
    short: [(path) => writeFileSync(path, walkCsv(2)), 'expected at least 3 s'],
    prose: [(path) => writeFileSync(path, 'moonflower\n'), 'found a header and no rows'],
    pipe: [(path) => void spawnSync('mkfifo', [path]), 'found a pipe or a device'],
  };

  test('of every kind', () => {
    const folder = temporaryFolder();
    const kinds = Object.entries(BAD);
    writeFileSync(join(folder, 'first.csv'), GOOD);
    for (const [name, [make]] of kinds) make(join(folder, `${name}.csv`));
    writeFileSync(join(folder, 'last.csv'), walkCsv(6, 1));
    const names = ['first', ...kinds.map(([name]) => name), 'last'];
    writeFileSync(
      join(folder, 'shoot.json'),
      manifestOf(names.map((name) => ({ file: `${name}.csv` }))),
    );
    const { status, stderr, stdout } = twinkeel(folder, ...RUN);
    expect(status).toBe(1);
    const sentences = stderr.trimEnd().split('\n');
    expect(sentences).toHaveLength(kinds.length);
    kinds.forEach(([name, [, found]], k) => {
      const sentence = /^twinkeel: (\w+)\.csv.*: found .+, expected .+; .+\.$/;
      expect(sentence.exec(sentences[k]!)?.[1]).toBe(name);
      expect(sentences[k]).toContain(found);
    });
    for (const [k, [name]] of kinds.entries()) {
      const row = `${name.padEnd(8)}  failed  –                  ${sentences[k]!.replace('twinkeel: ', '')}`;
      expect(stdout.split('\n')).toContain(row);
    }
    expect(stdout).toContain(`11 clips: 2 done, 0 kept (done before), 9 failed`);
    expect(stdout).toContain(
      'next: mend what failed and make the same call again; what is done is kept',
    );
    expect(readdirSync(join(folder, 'out')).sort()).toEqual(finishedNames(['first', 'last']));
    const { clips } = jsonOf(folder, 'out', 'shoot.summary.json');
    expect(clips.map(({ ok }: { ok: boolean }) => ok)).toEqual([
      true,
      ...kinds.map(() => false),
      true,
    ]);
    const told = clips.flatMap(({ message }: { message?: string }) => message ?? []);
    expect(told.map((message: string) => `twinkeel: ${message}`)).toEqual(sentences);
  });

  test.skipIf(ROOT_USER)('not to be read (root reads everything)', () => {
    const folder = shootFolder(2);
    chmodSync(join(folder, 'take-1.csv'), 0o000);
    const { status, stderr } = twinkeel(folder, ...RUN);
    expect(status).toBe(1);
    expect(stderr).toMatch(/take-1\.csv: found a file that cannot be read \(EACCES\)/);
  });

  test('a file that a setting names and that is not there', () => {
    const folder = shootFolder(3);
    const own = [{}, { rig: 'none.json' }, { markers: 'take-0.csv' }];
    const clips = own.map((more, k) => ({ file: `take-${k}.csv`, ...more }));
    writeFileSync(join(folder, 'shoot.json'), manifestOf(clips));
    const { status, stderr } = twinkeel(folder, ...RUN);
    expect(status).toBe(1);
    expect(stderr.trimEnd().split('\n')).toEqual([
      expect.stringMatching(/none\.json: found no such file/),
      expect.stringMatching(/take-0\.csv: found the columns time_s, .+ expected a column from_s/),
    ]);
    expect(readdirSync(join(folder, 'out')).sort()).toEqual(finishedNames(['take-0']));
  });

  test('a worker that dies of memory fails its clip, and others are done after it', async () => {
    const folder = shootFolder(4);
    // Quoted cells become texts: about 40 bytes each and more, 200,000 of them beyond 12 MB.
    const quoted = walkCsv(1600).replace(/[^,\n]+/g, '"$&"');
    writeFileSync(join(folder, 'take-1.csv'), quoted);
    const { correctShoot } = await built();
    const { clips } = await correctShoot(join(folder, 'shoot.json'), {
      folder: join(folder, 'out'),
      jobs: 1,
      workerMemoryMb: 12,
    });
    expect(clips.map(({ ok }) => ok)).toEqual([true, false, true, true]);
    expect(clips[1]).toMatchObject({
      code: 'batch/worker',
      message: expect.stringMatching(/^take-1\.csv: found a worker that died \(.*memory.*\), exp/),
    });
    const names = ['take-0', 'take-2', 'take-3'];
    expect(readdirSync(join(folder, 'out')).sort()).toEqual(finishedNames(names));
  });
});

describe('however the work is spread', () => {
  test('one worker, two, three, and merged shares write the same bytes', () => {
    const folder = shootFolder(5);
    // One that fails belongs to the summary too.
    writeFileSync(join(folder, 'take-3.csv'), '');
    for (const jobs of ['1', '2', '3']) {
      const { status } = twinkeel(folder, 'correct', 'shoot.json', '--out', jobs, '--jobs', jobs);
      expect(status).toBe(1);
    }
    const one = prints(join(folder, '1'));
    expect(Object.keys(one)).toEqual(finishedNames(['take-0', 'take-1', 'take-2', 'take-4']));
    expect(prints(join(folder, '2'))).toEqual(one);
    expect(prints(join(folder, '3'))).toEqual(one);

    // More shares than clips: the last has nothing to do.
    const shares = ['6/6', '2/6', '4/6', '1/6', '5/6', '3/6'];
    for (const shard of shares) {
      twinkeel(folder, 'correct', 'shoot.json', '--out', 'shares', '--shard', shard);
    }
    const summaries = shares.map(
      (shard) => `shares/shoot.summary.${shard.replace('/', '-of-')}.json`,
    );
    const merged = twinkeel(folder, 'merge', ...summaries, '--out', 'shares/shoot.summary.json');
    expect(merged.status).toBe(1);
    expect(merged.stderr).toMatch(/^twinkeel: \S*take-3\.csv: found an empty file.*\n$/);
    for (const summary of summaries) rmSync(join(folder, summary));
    expect(prints(join(folder, 'shares'))).toEqual(one);
  });

  test.each(['0/2', '3/2', '1', '1/0', 'a/b', '1/2/3', '-1/2', '1.5/2'])(
    'the share %s is refused',
    (shard) => {
      const { status, stderr } = twinkeel(shootFolder(0), ...RUN, `--shard=${shard}`);
      expect({ status, stderr }).toMatchObject({
        status: 2,
        stderr: expect.stringMatching(/^twinkeel: --shard .* is no share such as 2\/8\n$/),
      });
    },
  );

  test.each(['0', '-1', '1.5', 'many', ''])('%s jobs are refused', (jobs) => {
    const { status, stderr } = twinkeel(shootFolder(1), ...RUN, `--jobs=${jobs}`);
    expect(status).toBe(2);
    expect(stderr).toMatch(/^twinkeel: --jobs: found .*, expected a .*\n$/);
  });

  test('a setting beside a manifest is refused', () => {
    const folder = shootFolder(1);
    for (const [option, value] of [
      ['--level', '0.5'],
      ['--rate', '25'],
      ['--log-offset', '1'],
    ] as const) {
      const { status, stderr } = twinkeel(folder, ...RUN, option, value);
      expect(status).toBe(2);
      expect(stderr).toMatch(/^twinkeel: with a manifest, ".+" belongs into it, .+\n$/);
    }
    expect(readdirSync(folder)).not.toContain('out');
  });

  test.each([
    ['a path that leads out', { file: '../x.csv' }, 'clips[0].file'],
    ['a share of 2', { file: 'take-0.csv', level: 2 }, 'clips[0].level'],
    ['a kind of shot that is none', { file: 'take-0.csv', shot: 'crane' }, 'clips[0].shot'],
  ])('a manifest with %s is refused before anything is made', (_, clip, entry) => {
    const folder = shootFolder(1);
    writeFileSync(join(folder, 'shoot.json'), manifestOf([clip]));
    const { status, stderr } = twinkeel(folder, ...RUN);
    expect(status).toBe(2);
    expect(stderr).toMatch(/^twinkeel: .+\n$/);
    expect(stderr).toContain(`"${entry}"`);
    expect(readdirSync(folder)).not.toContain('out');
  });
});

describe('running again', () => {
  const finished = sharedFolder();
  beforeAll(() => {
    shootFolder(2, { folder: finished });
    expect(twinkeel(finished, ...RUN).status).toBe(0);
  });

  /** A copy of a shoot that is done, its folder of results, and a way to run it again. */
  function done() {
    const folder = temporaryFolder();
    cpSync(finished, folder, { recursive: true });
    const out = join(folder, 'out');
    const again = (...more: string[]) => twinkeel(folder, ...RUN, ...more);
    return { folder, out, before: prints(out), again };
  }

  const EXISTS = /^twinkeel: \S*take-1\.\w+\.\w+: found a file of this name, .+ --force .+\.\n$/;

  test('finished clips are kept: no file of theirs is written', () => {
    const { out, before, again } = done();
    const ends = ['.clip.json', '.corrections.csv', '.result.json'];
    const times = ends.map((end) => writtenAt(out, end));
    const run = again();
    expect(run).toMatchObject({ status: 0, stderr: '' });
    expect(run.stdout).toMatch(/^take-1 +kept +\S/m);
    expect(run.stdout).toContain('2 clips: 0 done, 2 kept (done before), 0 failed');
    expect(ends.map((end) => writtenAt(out, end))).toEqual(times);
    expect(prints(out)).toEqual(before);
  });

  test('with --fresh they are done again, to the same bytes', () => {
    const { out, before, again } = done();
    const times = writtenAt(out);
    expect(again('--fresh')).toMatchObject({ status: 0, stderr: '' });
    expect(prints(out)).toEqual(before);
    const after = writtenAt(out);
    for (const time of times) expect(after).not.toContain(time);
  });

  test('a clip whose file changed is refused without --force and done with it; others are kept', () => {
    const { folder, out, before, again } = done();
    const kept = writtenAt(out, 'take-0.result.json');
    writeFileSync(join(folder, 'take-1.csv'), walkCsv(7, 1));
    expect(again()).toMatchObject({ status: 1, stderr: expect.stringMatching(EXISTS) });
    expect(prints(out)['take-1.result.json']).toBe(before['take-1.result.json']);
    expect(again('--force')).toMatchObject({ status: 0, stderr: '' });
    expect(prints(out)['take-1.result.json']).not.toBe(before['take-1.result.json']);
    expect(writtenAt(out, 'take-0.result.json')).toEqual(kept);
  });

  test('so is one whose settings changed, or the content of a file they name', () => {
    const { folder, out, before, again } = done();
    const clips = [{ file: 'take-0.csv' }, { file: 'take-1.csv', aim: 'aim.csv' }];
    const aim = 'time_s,heading_deg,tilt_deg\n0,0,0\n5,';
    writeFileSync(join(folder, 'aim.csv'), `${aim}20,0\n`);
    writeFileSync(join(folder, 'shoot.json'), manifestOf(clips, { rate: '25' }));
    expect(again()).toMatchObject({ status: 1, stderr: expect.stringMatching(EXISTS) });
    expect(again('--force').status).toBe(0);
    const first = prints(out);
    expect(first['take-0.result.json']).toBe(before['take-0.result.json']);
    expect(first['take-1.result.json']).not.toBe(before['take-1.result.json']);
    writeFileSync(join(folder, 'aim.csv'), `${aim}40,0\n`);
    expect(again().status).toBe(1);
    expect(again('--force').status).toBe(0);
    expect(prints(out)['take-1.result.json']).not.toBe(first['take-1.result.json']);
  });

  test.each(['take-1.result.json', 'take-1.corrections.csv'])(
    '%s that somebody altered is not replaced without --force',
    (name) => {
      const { out, before, again } = done();
      appendFileSync(join(out, name), ' ');
      const altered = prints(out)[name];
      expect(again()).toMatchObject({ status: 1, stderr: expect.stringMatching(EXISTS) });
      expect(prints(out)[name]).toBe(altered);
      expect(again('--force')).toMatchObject({ status: 0, stderr: '' });
      expect(prints(out)).toEqual(before);
    },
  );

  test.each<[string, (record: Record<string, unknown>) => unknown]>([
    ['cut off', (record) => JSON.stringify(record).slice(0, 40)],
    ['empty', () => ''],
    ['without outputs', (record) => JSON.stringify({ ...record, outputs: {} })],
    ['of null', () => 'null'],
    ['of other inputs', (record) => JSON.stringify({ ...record, inputs: '00' })],
  ])('a record that is %s counts for nothing: the clip is done again', (_, alter) => {
    const { out, before, again } = done();
    const record = join(out, 'take-1.clip.json');
    writeFileSync(record, String(alter(jsonOf(record))));
    expect(again()).toMatchObject({ status: 0, stderr: '' });
    expect(prints(out)).toEqual(before);
  });

  test.each([
    ['before the record', ['take-1.clip.json']],
    ['between the results', ['take-1.clip.json', 'take-1.result.json']],
    ['before anything', ['take-1.clip.json', 'take-1.result.json', 'take-1.corrections.csv']],
  ])('what a run stopped %s left is completed without --force', (_, missing) => {
    const { out, before, again } = done();
    for (const name of missing) rmSync(join(out, name));
    expect(again()).toMatchObject({ status: 0, stderr: '' });
    expect(prints(out)).toEqual(before);
  });
});

describe('several files on one call resume like a manifest', () => {
  const TAKES = ['take-0.csv', 'take-1.csv', 'take-2.csv'];
  const CALL = ['correct', ...TAKES, '--rate', '25', '--out', 'out'];

  test('after one fault the same call completes, and keeps what was done', () => {
    const folder = shootFolder(3);
    const out = join(folder, 'out');
    writeFileSync(join(folder, 'take-1.csv'), '');
    const first = twinkeel(folder, ...CALL);
    expect(first.status).toBe(1);
    expect(first.stderr).toMatch(/^twinkeel: take-1\.csv: found an empty file, .+\.\n$/);
    expect(first.stdout).toMatch(/^take-1 +failed +– +take-1\.csv: found an empty file/m);
    expect(first.stdout).toContain('3 clips: 2 done, 0 kept (done before), 1 failed');
    const times = writtenAt(out, 'take-0.result.json');

    writeFileSync(join(folder, 'take-1.csv'), walkCsv(6, 1));
    const second = twinkeel(folder, ...CALL);
    expect(second).toMatchObject({ status: 0, stderr: '' });
    expect(second.stdout).toContain('3 clips: 1 done, 2 kept (done before), 0 failed');
    expect(second.stdout).toContain('kept out/take-0.result.json');
    expect(writtenAt(out, 'take-0.result.json')).toEqual(times);
    // What it says of a clip that it keeps is what it said when it did it.
    const said = (text: string) =>
      text
        .slice(text.indexOf('take-0.csv'), text.indexOf('take-1.csv'))
        .replace(/(kept|wrote) /g, '');
    expect(said(second.stdout).split('\n').slice(0, 12)).toEqual(
      said(first.stdout).split('\n').slice(0, 12),
    );

    const whole = prints(out);
    expect(twinkeel(folder, ...CALL, '--fresh')).toMatchObject({ status: 0, stderr: '' });
    expect(writtenAt(out, 'take-0.result.json')).not.toEqual(times);
    expect(prints(out)).toEqual(whole);
  });

  test('what a call did a manifest keeps, and the other way round', () => {
    const folder = shootFolder(3);
    const out = join(folder, 'out');
    twinkeel(folder, ...CALL);
    const times = writtenAt(out, '.result.json');
    const shoot = twinkeel(folder, ...RUN);
    expect(shoot.stdout).toContain('3 clips: 0 done, 3 kept (done before), 0 failed');
    const call = twinkeel(folder, ...CALL, '--json');
    expect(JSON.parse(call.stdout).map(({ kept }: { kept: boolean }) => kept)).toEqual([
      ...[true, true, true],
    ]);
    expect(writtenAt(out, '.result.json')).toEqual(times);
  });

  test('other settings are refused without --force', () => {
    const folder = shootFolder(3);
    twinkeel(folder, ...CALL);
    const other = [...CALL, '--level', '0.5'];
    expect(twinkeel(folder, ...other)).toMatchObject({
      status: 1,
      stderr: expect.stringContaining('found a file of this name'),
    });
    expect(twinkeel(folder, ...other, '--force')).toMatchObject({ status: 0, stderr: '' });
  });
});

describe('inputs are never written over, with --force either', () => {
  const CLASH = /^twinkeel: .+: found an input of this call where the result would go, .+\.\n$/;

  test("another clip's input", () => {
    const folder = shootFolder(2);
    const clips = [
      { file: 'take-0.csv', earlier: 'take-1.corrections.csv' },
      { file: 'take-1.csv' },
    ];
    writeFileSync(join(folder, 'shoot.json'), manifestOf(clips));
    writeFileSync(join(folder, 'take-1.corrections.csv'), walkCsv(6, 3));
    const before = prints(folder);
    const run = twinkeel(folder, 'correct', 'shoot.json', '--out', '.', '--force');
    expect(run).toMatchObject({ status: 2, stderr: expect.stringMatching(CLASH) });
    expect(prints(folder)).toEqual(before);
  });

  test.each(['shoot.summary.json', 'take-0.clip.json', 'take-0.result.json'])(
    'a manifest of the name %s',
    (name) => {
      const folder = shootFolder(1);
      writeFileSync(join(folder, name), readFileSync(join(folder, 'shoot.json')));
      const before = prints(folder);
      const run = twinkeel(folder, 'correct', name, '--out', '.', '--force');
      expect(run).toMatchObject({ status: 2, stderr: expect.stringMatching(CLASH) });
      expect(prints(folder)).toEqual(before);
    },
  );

  test('an output folder that is a link to that of the inputs', () => {
    const folder = shootFolder(1);
    const clips = [{ file: 'take-0.csv', earlier: 'take-0.corrections.csv' }];
    writeFileSync(join(folder, 'shoot.json'), manifestOf(clips));
    writeFileSync(join(folder, 'take-0.corrections.csv'), walkCsv(6, 3));
    const door = join(temporaryFolder(), 'door');
    symlinkSync(folder, door);
    const before = prints(folder);
    const run = twinkeel(folder, 'correct', 'shoot.json', '--out', door, '--force');
    expect(run).toMatchObject({ status: 2, stderr: expect.stringMatching(CLASH) });
    expect(prints(folder)).toEqual(before);
  });
});

describe('being stopped', () => {
  // Enough that a signal after the first cannot come too late.
  const COUNT = 20;
  const folder = sharedFolder();
  let undisturbed: Record<string, string>;
  beforeAll(() => {
    shootFolder(COUNT, { folder });
    expect(twinkeel(folder, ...RUN).status).toBe(0);
    undisturbed = prints(join(folder, 'out'));
  });

  /** Starts the shoot and waits for its first clip. */
  async function started(folder: string): Promise<ChildProcess> {
    const child = spawn(process.execPath, [CLI, ...RUN, '--jobs', '2'], { cwd: folder });
    onTestFinished(() => void child.kill('SIGKILL'));
    const isDone = () => {
      try {
        return readdirSync(join(folder, 'out')).some((name) => name.endsWith('.clip.json'));
      } catch {
        return false;
      }
    };
    while (!isDone() && child.exitCode === null) await sleep(2);
    return child;
  }

  /** Every file there is whole: it can be read, and has a row for every frame. */
  function expectWhole(out: string): void {
    for (const name of readdirSync(out)) {
      const text = readFileSync(join(out, name), 'utf8');
      if (name.endsWith('.result.json'))
        expect(readResult(text).corrections.times).toHaveLength(151);
      else if (name.endsWith('.csv')) expect(readCorrections(text).times).toHaveLength(151);
      else expect(JSON.parse(text)).toMatchObject({ ok: true });
    }
  }

  test.each(['SIGINT', 'SIGTERM'] as const)(
    'by %s: exit code 130, whole files, and going on ends as if nothing had been',
    async (signal) => {
      const folder = shootFolder(COUNT);
      const out = join(folder, 'out');
      const child = await started(folder);
      let stderr = '';
      child.stderr!.on('data', (chunk) => {
        stderr += chunk;
      });
      child.kill(signal);
      const [status] = await once(child, 'close');
      expect({ status, stderr }).toEqual({
        status: 130,
        stderr: 'twinkeel: stopped; clips that were done are kept, run again to go on\n',
      });
      const left = readdirSync(out);
      expect(left.filter((name) => name.startsWith('.'))).toEqual([]);
      expect(left).not.toContain('shoot.summary.json');
      const records = left.filter((name) => name.endsWith('.clip.json'));
      expect(records.length).toBeGreaterThan(0);
      expect(records.length).toBeLessThan(COUNT);
      expectWhole(out);
      const kept = writtenAt(out).filter((line) => records.includes(line.split(' ')[0]!));

      expect(twinkeel(folder, ...RUN)).toMatchObject({ status: 0, stderr: '' });
      expect(writtenAt(out)).toEqual(expect.arrayContaining(kept));
      expect(prints(out)).toEqual(undisturbed);
    },
  );

  test('what a run left that is over is taken away, and nothing that others write', async () => {
    const shoot = shootFolder(1);
    const out = join(shoot, 'out');
    mkdirSync(out);
    // Neither of this machine's runs that go on nor of other machines anything is taken away.
    const own = partialBeside(join(out, 'take-9.result.json'), newMark(), 'partial');
    const name = basename(own);
    const dead = name.replace(`-${process.pid}-`, '-99999999-');
    const elsewhere = dead.replace(`${HOST}-`, 'greenhouse-two-');
    const running = name.replace(`-${process.pid}-`, `-${process.ppid}-`);
    for (const left of [name, dead, elsewhere, running]) writeFileSync(join(out, left), 'cut off');
    const { correctShoot } = await built();
    await correctShoot(join(shoot, 'shoot.json'), { folder: out, jobs: 1 });
    expect(readdirSync(out).sort()).toEqual(
      [...finishedNames(['take-0']), name, elsewhere, running].sort(),
    );
  });

  test('by SIGKILL, several times over: the last run completes it', async () => {
    const folder = shootFolder(COUNT);
    const out = join(folder, 'out');
    for (const wait of [0, 30, 60]) {
      const child = await started(folder);
      await sleep(wait);
      child.kill('SIGKILL');
      await once(child, 'close');
    }
    expect(twinkeel(folder, ...RUN)).toMatchObject({ status: 0, stderr: '' });
    // What the killed ones were writing is gone too.
    expect(prints(out)).toEqual(undisturbed);
  });
});
