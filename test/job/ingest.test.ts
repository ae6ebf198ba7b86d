/** From a folder of files to the report, on what is built; and folders as nobody expects them. */
import { spawnSync } from 'node:child_process';
import {
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { dirname, join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { makeClockTake } from '../../bench/accuracy/clockTakes.js';
import { ffmpegMissing } from '../ffmpeg.js';
import { temporaryFolder } from '../temporaryFolder.js';
import { jsonOf, prints, twinkeel, walkCsv } from './shootFolder.js';

/** A folder with these files. */
function folderWith(files: Readonly<Record<string, string | Uint8Array>>): string {
  const folder = temporaryFolder();
  for (const [name, content] of Object.entries(files)) {
    mkdirSync(dirname(join(folder, name)), { recursive: true });
    writeFileSync(join(folder, name), content);
  }
  return folder;
}

/** What `shoot` makes of a folder, without ffprobe unless a test is about it. */
function shootOf(folder: string, ...more: readonly string[]) {
  const run = twinkeel(folder, 'shoot', '.', '--ffprobe', '/nowhere/ffprobe', ...more);
  const manifest = existsSync(join(folder, 'shoot.json'))
    ? jsonOf(folder, 'shoot.json')
    : undefined;
  return { ...run, manifest };
}

const shot = (files: Readonly<Record<string, string | Uint8Array>>) => shootOf(folderWith(files));

/** First bytes of a QuickTime movie, which are enough to be taken for one. */
const MOVIE = new TextEncoder().encode('\0\0\0\x14ftypqt  ');

const TRACK = walkCsv(6);
const LOG = `time_s,gx,gy,gz\n${Array.from({ length: 700 }, (_, k) => `${k / 100},0,0.1,0`).join('\n')}\n`;

/** The same walk as a tracker writes it that counts frames and knows no quaternions. */
const ANGLES = `frame,pan,tilt,lean\n${Array.from({ length: 151 }, (_, k) => `${k},${k / 10},${Math.sin(k)},0`).join('\n')}\n`;
const ANGLES_MAPPING =
  'time: column "frame" frames at 25\nangles: turn "pan" deg about up, then "tilt" deg about right, then "lean" deg about forward\n';
/** The same without a rate: the movie says it. */
const NO_TIME =
  'angles: turn "pan" deg about up, then "tilt" deg about right, then "lean" deg about forward\n';

describe('from a folder to the report', () => {
  test('shoot, correct and report follow each other, as each says', () => {
    const take = makeClockTake('walk', 1, { duration: 36 });
    const START = 1.7e9;
    const rows = (from: number, to: number) =>
      Array.from(take.track.times, (time, k) =>
        time >= from && time < to
          ? [[START + time, ...take.track.quaternions.subarray(4 * k, 4 * k + 4)].join(',')]
          : [],
      ).flat();
    const track = (from: number, to: number) => `time_s,x,y,z,w\n${rows(from, to).join('\n')}\n`;
    // The log’s own clock, which is near that of the tracks, as both state it.
    const log = Array.from(take.log.times, (time, k) =>
      [START + time, ...take.log.rate.subarray(3 * k, 3 * k + 3)].join(','),
    );
    const folder = folderWith({
      'pond/third.csv': track(24, 36),
      'aisle/second.csv': track(12, 24),
      'aisle/first.csv': track(0, 12),
      'logger/day.csv': `time_s,gx,gy,gz\n${log.join('\n')}\n`,
      'rig.json': '{ "interaxialMm": 60 }',
      'pond/rig.json': '{ "interaxialMm": 65 }',
    });
    const { status, stdout, stderr, manifest } = shootOf(folder);
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
    expect(
      manifest.clips.map(({ file, log: with_ }: Record<string, string>) => [file, with_]),
    ).toEqual([
      ['aisle/first.csv', 'logger/day.csv'],
      ['aisle/second.csv', 'logger/day.csv'],
      ['pond/third.csv', 'logger/day.csv'],
    ]);
    expect(manifest.folders).toEqual([{ folder: 'aisle', rig: 'rig.json' }]);
    expect(manifest.clips[2]).toMatchObject({
      rig: 'pond/rig.json',
      logOffset: expect.any(Number),
    });
    expect(manifest.clips[0].notes.join()).toContain('they overlap in time by what both say');
    const next = /^next: twinkeel (.+)$/m.exec(stdout)![1]!.split(' ');
    expect(next).toEqual(['correct', 'shoot.json', '--out', 'corrected']);

    const corrected = twinkeel(folder, ...next);
    expect(corrected).toMatchObject({ status: 0, stderr: '' });
    expect(corrected.stdout).toContain('3 clips: 3 done, 0 kept (done before), 0 failed');
    const report = /^next: (twinkeel report .+)$/m.exec(corrected.stdout)![1]!;
    const results = ['first', 'second', 'third'].map((name) => `corrected/${name}.result.json`);
    expect(report).toBe('twinkeel report corrected/*.result.json --out corrected/report.html');
    const page = twinkeel(folder, 'report', ...results, '--out', 'corrected/report.html');
    expect(page).toMatchObject({ status: 0, stderr: '' });
    expect(readFileSync(join(folder, 'corrected/report.html'), 'utf8')).toContain('third');

    // Results that lie there now are nobody’s tracks.
    expect(shootOf(folder, '--force').manifest).toEqual(manifest);
  }, 120_000);

  test.skipIf(ffmpegMissing)(
    'movies give rate, frames, time code and size',
    () => {
      const folder = folderWith({ 'walk.csv': ANGLES, 'mapping.txt': NO_TIME, 'tank.csv': TRACK });
      const film = (name: string, seconds: string, rate: string, ...more: string[]) =>
        spawnSync('ffmpeg', [
          ...['-v', 'error', '-f', 'lavfi', '-i', `testsrc2=s=64x32:r=${rate}`, '-t', seconds],
          ...['-c:v', 'mpeg4', ...more, join(folder, name)],
        ]);
      film('WALK.mov', '6', '24000/1001', '-timecode', '01:00:00:00');
      film('tank.mkv', '6.04', '25');
      film('alone.mp4', '1', '25');
      const run = twinkeel(folder, 'shoot', '.');
      expect(run).toMatchObject({ status: 0, stderr: '' });
      const { clips, notes } = jsonOf(folder, 'shoot.json');
      expect(clips).toEqual([
        {
          file: 'tank.csv',
          movie: 'tank.mkv',
          rate: '25',
          notes: [
            'movie: about 151 frames, 25 frames per second, 64 × 32 px',
            'rate 25 is the movie’s',
          ],
        },
        {
          file: 'walk.csv',
          movie: 'WALK.mov',
          mapping: 'mapping.txt',
          rate: '24000/1001',
          timecode: '01:00:00:00',
          notes: [
            'movie: 144 frames, 24000/1001 frames per second, 64 × 32 px, time code 01:00:00:00',
            'rate 24000/1001 is the movie’s',
            'the track has 151 frames and the movie 144',
          ],
        },
      ]);
      expect(notes).toEqual(['alone.mp4: in no clip: no track goes with it']);
      expect(twinkeel(folder, 'correct', 'shoot.json', '--out', 'out').status).toBe(0);
    },
    120_000,
  );

  test('without ffprobe it says so, and pairs by name', () => {
    const { status, manifest, stdout } = shot({ 'a.csv': TRACK, 'A.MOV': MOVIE });
    expect(status).toBe(0);
    expect(manifest.clips).toEqual([{ file: 'a.csv', movie: 'A.MOV' }]);
    expect(manifest.notes[0]).toContain('no ffprobe that runs as "/nowhere/ffprobe"');
    expect(stdout).toContain('note: no ffprobe');
  });
});

describe('mappings and rigs', () => {
  test('the nearest mapping that reads the file is taken, by its kind', () => {
    const gyro = LOG.replace('time_s,gx,gy,gz', 't,p,q,r');
    const log =
      'time: column 1 unit s\nrate: x 2 y 3 z 4 rad/s\naxes sensor: x right, y up, z back\n';
    const { manifest } = shot({
      'mapping.txt': 'time: seconds',
      'log.mapping.txt': log,
      'day/track.mapping.txt': ANGLES_MAPPING,
      'day/a.csv': ANGLES,
      'day/a_gyro.csv': gyro,
      'day/b.csv': ANGLES.replace('lean', 'roll'),
      'day/b.mapping.txt': ANGLES_MAPPING.replace('lean', 'roll'),
      'day/own.csv': TRACK,
    });
    expect(manifest.clips).toEqual([
      {
        ...{ file: 'day/a.csv', mapping: 'day/track.mapping.txt' },
        ...{ log: 'day/a_gyro.csv', logMapping: 'log.mapping.txt' },
      },
      { file: 'day/b.csv', mapping: 'day/b.mapping.txt' },
      { file: 'day/own.csv' },
    ]);
    expect(manifest.notes).toEqual([
      'mapping.txt: not used: found "time: seconds" in the mapping, expected a sentence that describes the file',
    ]);
  });

  test('what all clips share stands in the defaults', () => {
    const { manifest } = shot({
      'mapping.txt': ANGLES_MAPPING,
      'rig.json': '{}',
      'a.csv': ANGLES,
      'b.csv': ANGLES,
    });
    expect(manifest.defaults).toEqual({ mapping: 'mapping.txt', rig: 'rig.json' });
    expect(manifest.clips).toEqual([{ file: 'a.csv' }, { file: 'b.csv' }]);
  });

  test('a track with a fault is named, with what correct will say of it', () => {
    const { manifest } = shot({
      'a.csv': 'time_s,x,y,z,w\n0,0,0,0,1\n1,0,NaN,0,1\n',
      'b.csv': TRACK,
    });
    expect(manifest.clips[0]).toEqual({
      file: 'a.csv',
      notes: ['a.csv will fail: row 3: found "NaN", expected a finite number'],
    });
  });

  test('a table that nothing explains is left out, with a note', () => {
    const { manifest } = shot({ 'a.csv': TRACK, 'odd.csv': 'when,a,b\n0,1,2\n1,2,3\n' });
    expect(manifest.clips).toEqual([{ file: 'a.csv' }]);
    expect(manifest.notes).toEqual([
      'odd.csv: left out: its columns are not ours, and no mapping of a folder above it fits',
    ]);
  });
});

describe('folders as nobody expects them', () => {
  const refused = (run: ReturnType<typeof shootOf>, words: string | RegExp) => {
    expect(run.stderr).toMatch(/^twinkeel: .+\n$/);
    expect(run.stderr).toMatch(words);
    expect(run.status).toBe(2);
    expect(run.manifest).toBeUndefined();
  };

  test('an empty one, one of movies alone, one that is not there', () => {
    refused(shot({}), 'found no track and no motion log, expected');
    refused(
      shot({ 'a.mov': MOVIE, 'b.mov': MOVIE }),
      /no motion log \(2 movies alone\), .+ track the mov/,
    );
    const { status, stderr } = twinkeel(temporaryFolder(), 'shoot', 'nowhere');
    expect(status).toBe(2);
    expect(stderr).toMatch(/^twinkeel: nowhere: found no such folder, .+\n$/);
    const file = twinkeel(folderWith({ a: '' }), 'shoot', 'a');
    expect(file.stderr).toMatch(
      /^twinkeel: a: found a file, expected the folder of a shoot; .+\n$/,
    );
    expect(file.status).toBe(2);
  });

  test('names of any script, blanks, brackets, capitals that differ, no ending', () => {
    const { status, manifest } = shot({
      '夜の 温室.csv': TRACK,
      'Größe (2) [x].csv': TRACK,
      ' .csv': TRACK,
      'Aisle.csv': TRACK,
      'day/aisle.csv': TRACK,
      '-dash.csv': TRACK,
      'con.csv': TRACK,
      noending: TRACK,
      [`${'花'.repeat(80)}.csv`]: TRACK,
    });
    expect(status).toBe(0);
    const names = manifest.clips.map(({ file, name }: Record<string, string>) => [file, name]);
    expect(Object.fromEntries(names)).toEqual({
      '夜の 温室.csv': undefined,
      'Größe (2) [x].csv': 'Größe _2_ _x_',
      ' .csv': 'clip',
      'Aisle.csv': undefined,
      'day/aisle.csv': 'day-aisle',
      '-dash.csv': 'dash',
      'con.csv': 'clip-con',
      noending: undefined,
      [`${'花'.repeat(80)}.csv`]: '花'.repeat(66),
    });
  });

  test('two takes of one name in two folders keep their own logs and get names of their own', () => {
    const { manifest } = shot({
      ...{ 'one/walk.csv': TRACK, 'one/walk_gyro.csv': LOG },
      ...{ 'two/walk.csv': walkCsv(6, 1), 'two/walk_gyro.csv': LOG },
    });
    expect(manifest.clips).toEqual([
      { file: 'one/walk.csv', name: 'one-walk', log: 'one/walk_gyro.csv' },
      { file: 'two/walk.csv', name: 'two-walk', log: 'two/walk_gyro.csv' },
    ]);
  });

  test('a log that is a guess says so, and one beside other tracks is left out with a note', () => {
    const guess = shot({ 'a.csv': TRACK, 'logger.csv': LOG });
    expect(guess.manifest.clips[0].notes[0]).toMatch(
      /^log logger\.csv: a guess, for it is the only/,
    );
    expect(guess.stdout).toContain('logger.csv (a guess)');
    const short = shot({ 'a.csv': TRACK, 'b.csv': TRACK, 'logger.csv': LOG });
    expect(short.manifest.notes).toEqual(['logger.csv: in no clip: no track goes with it']);
  });

  test('logs alone are clips', () => {
    const { manifest } = shot({ 'a.csv': LOG });
    expect(manifest.clips).toEqual([
      {
        file: 'a.csv',
        notes: ['a motion log without a track: it is oriented and corrected by itself'],
      },
    ]);
  });

  test('links are not followed, pipes not read, hidden files not looked at', () => {
    const folder = folderWith({ 'a.csv': TRACK, '.b.csv': TRACK, '.old/c.csv': TRACK });
    const other = folderWith({ 'd.csv': TRACK, 'mapping.txt': ANGLES_MAPPING });
    symlinkSync(other, join(folder, 'door'));
    symlinkSync(folder, join(folder, 'round'));
    symlinkSync(join(other, 'd.csv'), join(folder, 'd.csv'));
    symlinkSync(join(other, 'mapping.txt'), join(folder, 'mapping.txt'));
    spawnSync('mkfifo', [join(folder, 'pipe.csv')]);
    const { status, manifest } = shootOf(folder);
    expect(status).toBe(0);
    expect(manifest.clips).toEqual([{ file: 'a.csv' }]);
    expect(manifest.notes.map((note: string) => note.split(':')[0])).toEqual([
      ...['d.csv', 'door', 'mapping.txt', 'pipe.csv', 'round'],
    ]);
  });

  test('a name with a star would stand for many files, and is left out', () => {
    const { manifest } = shot({ 'a.csv': TRACK, 'b*.csv': TRACK });
    expect(manifest.clips).toEqual([{ file: 'a.csv' }]);
    expect(manifest.notes[0]).toMatch(/^b\*\.csv: left out: \* and \?/);
  });

  test('thousands of files that are none of a shoot’s are counted, not listed', () => {
    const folder = folderWith({ 'a.csv': TRACK });
    mkdirSync(join(folder, 'stills'));
    for (let k = 0; k < 3000; k++) {
      writeFileSync(
        join(folder, 'stills', `${k}.jpg`),
        Uint8Array.of(0xff, 0xd8, 0xff, 0, k & 255),
      );
    }
    const { status, stdout, manifest } = shootOf(folder);
    expect({ status, notes: manifest.notes }).toEqual({ status: 0, notes: [] });
    expect(stdout).toContain('3000 other files were left alone');
  });
});

describe('the manifest', () => {
  test('is never written over but with --force, and that replaces manifests alone', () => {
    const folder = folderWith({ 'a.csv': TRACK, 'notes.json': '{"trellis": 1}' });
    expect(shootOf(folder).status).toBe(0);
    const before = prints(folder);
    for (const more of [[], ['--out', 'a.csv', '--force'], ['--out', 'notes.json', '--force']]) {
      const { status, stderr } = shootOf(folder, ...more);
      expect({ status, stderr }).toEqual({ status: 2, stderr: expect.stringMatching(/: found /) });
      expect(prints(folder)).toEqual(before);
    }
    expect(shootOf(folder, '--force').status).toBe(0);
    expect(prints(folder)).toEqual(before);
  });

  test('may lie above the folder, and nowhere else', () => {
    const folder = folderWith({ 'day/a.csv': TRACK, 'day/deep/x.txt': '', 'else/x.txt': '' });
    const run = (out: string) =>
      twinkeel(folder, 'shoot', 'day', '--ffprobe', '/nowhere', '--out', out);
    expect(run('all.json').status).toBe(0);
    expect(jsonOf(folder, 'all.json').clips).toEqual([{ file: 'day/a.csv' }]);
    for (const out of ['day/deep/shoot.json', 'else/shoot.json']) {
      expect(run(out)).toMatchObject({
        status: 2,
        stderr: expect.stringMatching(/^twinkeel: --out \S+ lies outside day, .+\n$/),
      });
    }
    expect(readdirSync(join(folder, 'else'))).toEqual(['x.txt']);
  });

  test('goes to machines as it is written', () => {
    const { stdout, manifest } = shootOf(folderWith({ 'a.csv': TRACK }), '--json');
    expect(JSON.parse(stdout)).toEqual({ path: 'shoot.json', manifest });
  });
});
