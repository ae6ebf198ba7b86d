import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test, vi } from 'vitest';
import { toJson } from '../../src/handoff/json.js';
import {
  describeMovie,
  expected,
  numberedClip,
  readFrames,
  turnOf,
} from '../batch/numberedClip.js';
import { CLI } from '../command.js';
import { ffmpegMissing } from '../ffmpeg.js';
import { resultOf } from '../handoff/results.js';
import { temporaryFolder } from '../temporaryFolder.js';

const LIMIT = { timeout: 180_000 };
const upTo = (count: number) => Array.from({ length: count }, (_, k) => k);
const resultText = (count: number) =>
  toJson(
    resultOf({
      intended: upTo(count).map(() => [0, 0, 0, 1]),
      corrections: upTo(count).map(turnOf),
      first: 100,
    }),
  );

/** A folder with a movie of so many frames and its corrections. */
function clipFolder(count: number): string {
  const folder = temporaryFolder();
  numberedClip(join(folder, 'walk.mov'), count);
  writeFileSync(join(folder, 'walk.result.json'), resultText(count));
  return folder;
}

function run(folder: string, ...args: readonly string[]) {
  const options = { cwd: folder, encoding: 'utf8' } as const;
  const { status, stdout, stderr } = spawnSync(
    process.execPath,
    [CLI, 'resample', ...args],
    options,
  );
  return { status, stdout, stderr };
}

const WALK = ['walk.mov', '--result', 'walk.result.json'];

describe('a wrong call ends with 2 and one sentence, before anything is looked at', () => {
  test.each<[string, readonly string[], string]>([
    ['no movie', ['--out', 'a.mkv'], 'name the movie'],
    ['two movies', ['a.mov', 'b.mov'], 'one movie at a time, found also b.mov'],
    ['no corrections', ['a.mov', '--out', 'a.mkv'], '--result STEM.result.json'],
    ['nowhere to write', WALK, '--out FILE.mkv'],
    [
      'two sizes',
      [...WALK, '--out', 'a.mkv', '--proxy', '640', '--size', '64x32'],
      'leave --size out',
    ],
    ['no size', [...WALK, '--out', 'a.mkv', '--size', 'large'], 'no size such as 4096x2048'],
    [
      'no circle',
      [...WALK, '--out', 'a.mkv', '--picture', 'fisheye', '--circle', '1,2'],
      'no circle such as',
    ],
    [
      'a circle in no fisheye',
      [...WALK, '--out', 'a.mkv', '--circle', '9,9,9'],
      'without --picture fisheye',
    ],
    [
      'an unknown filter',
      [...WALK, '--out', 'a.mkv', '--filter', 'soft'],
      'one of bicubic, bilinear, lanczos3',
    ],
    ['no frame number', [...WALK, '--out', 'a.mkv', '--movie-starts', '1.5'], 'not a whole number'],
    [
      'an option of shoots',
      [...WALK, '--out', 'a.mkv', '--results', 'x'],
      'goes with a manifest only',
    ],
    ['an option nobody knows', ['--moon', 'full'], "Unknown option '--moon'"],
  ])('%s', (_title, args, words) => {
    const folder = temporaryFolder();
    const { status, stdout, stderr } = run(folder, ...args);
    expect(stderr).toMatch(/^twinkeel: [^\n]+\n$/);
    expect(stderr).toContain(words);
    expect({ status, stdout, left: readdirSync(folder) }).toEqual({
      status: 2,
      stdout: '',
      left: [],
    });
  });
});

describe.skipIf(ffmpegMissing !== undefined)(
  `the command resample${ffmpegMissing === undefined ? '' : `: skipped, ${ffmpegMissing}`}`,
  () => {
    test('makes a movie, says so with the cautions, and passes options on', LIMIT, () => {
      const folder = clipFolder(12);
      const { status, stdout, stderr } = run(
        folder,
        ...[
          ...WALK,
          '--out',
          'made/steady.mkv',
          '--frames',
          '102..109',
          '--jobs',
          '2',
          '--',
          '-c:v',
          'ffvhuff',
        ],
      );
      expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
      expect(stdout).toContain('8 frames of 128 × 64 pixels');
      expect(stdout).toContain('wrote made/steady.mkv');
      expect(stdout).toContain('judge it in a headset');
      const out = join(folder, 'made/steady.mkv');
      expect(describeMovie(out).streams[0]!.codec_name).toBe('ffvhuff');
      expect(readFrames(out)).toEqual(expected(upTo(8).map((k) => [2 + k, 2 + k])));
    });

    test(
      'a movie that does not fit ends with 1 and one sentence; machines get its code',
      LIMIT,
      () => {
        const folder = clipFolder(12);
        writeFileSync(join(folder, 'walk.result.json'), resultText(15));
        const { status, stdout, stderr } = run(folder, ...WALK, '--out', 'steady.mkv', '--json');
        expect(stderr).toMatch(
          /^twinkeel: walk\.mov: found 12 of the 15 frames[^\n]+--frames 100\.\.111\.\n$/,
        );
        expect(status).toBe(1);
        expect(JSON.parse(stdout)).toMatchObject([
          { file: 'walk.mov', ok: false, code: 'movie/unfit' },
        ]);
        expect(readdirSync(folder).sort()).toEqual(['walk.mov', 'walk.result.json']);
      },
    );

    /** Starts a long run of small segments and waits until some are whole. */
    async function begun(
      folder: string,
    ): Promise<{ child: ChildProcess; ended: Promise<unknown> }> {
      const args = [CLI, 'resample', ...WALK, '--out', 'out.mkv', '--segment', '3', '--jobs', '1'];
      const child = spawn(process.execPath, args, {
        cwd: folder,
        stdio: ['ignore', 'ignore', 'pipe'],
      });
      const ended = new Promise((done) => child.on('exit', (code, signal) => done(code ?? signal)));
      const second = join(folder, '.out.mkv.twinkeel-part', 'segment-00001.mkv');
      await vi.waitFor(() => expect(existsSync(second)).toBe(true), {
        timeout: 120_000,
        interval: 10,
      });
      return { child, ended };
    }

    test('killed without warning and run again, it makes the bytes of one run', LIMIT, async () => {
      const folder = clipFolder(36);
      const { child, ended } = await begun(folder);
      child.kill('SIGKILL');
      expect(await ended).toBe('SIGKILL');
      expect(existsSync(join(folder, 'out.mkv'))).toBe(false);
      const again = run(folder, ...WALK, '--out', 'out.mkv', '--segment', '3');
      expect(again.stderr).toBe('');
      const before = Number(/, (\d+) of them made before/.exec(again.stdout)?.[1]);
      expect(before).toBeGreaterThanOrEqual(6);
      expect(before).toBeLessThan(36);
      const once = run(folder, ...WALK, '--out', 'once.mkv', '--segment', '3');
      expect(once).toMatchObject({ status: 0, stderr: '' });
      expect(readFileSync(join(folder, 'out.mkv'))).toEqual(readFileSync(join(folder, 'once.mkv')));
      expect(readFrames(join(folder, 'out.mkv'))).toEqual(expected(upTo(36).map((k) => [k, k])));
      expect(readdirSync(folder).sort()).toEqual([
        'once.mkv',
        'out.mkv',
        'walk.mov',
        'walk.result.json',
      ]);
    });

    test.each(['SIGINT', 'SIGTERM', 'SIGHUP'] as const)(
      'after %s whole segments are left, no movie, and no ffmpeg',
      LIMIT,
      async (signal) => {
        const folder = clipFolder(36);
        const { child, ended } = await begun(folder);
        let said = '';
        child.stderr!.setEncoding('utf8').on('data', (text: string) => {
          said += text;
        });
        child.kill(signal);
        expect(await ended).toBe(130);
        expect(said).toBe('twinkeel: stopped; whole segments are kept, run again to go on\n');
        const left = readdirSync(join(folder, '.out.mkv.twinkeel-part'));
        expect(left.filter((name) => !/^(plan\.json|segment-\d{5}\.mkv)$/.test(name))).toEqual([]);
        for (const name of left.filter((each) => each.endsWith('.mkv'))) {
          expect(readFrames(join(folder, '.out.mkv.twinkeel-part', name))).toHaveLength(3);
        }
        const running = spawnSync('ps', ['-eo', 'args'], { encoding: 'utf8' }).stdout;
        expect(running).not.toContain(folder);
      },
    );

    test(
      'a shoot: each clip its movie, a bad one costs only itself, what is done stays',
      LIMIT,
      () => {
        const folder = temporaryFolder();
        mkdirSync(join(folder, 'results'));
        numberedClip(join(folder, 'pond.mov'), 8);
        numberedClip(join(folder, 'moth.mov'), 5);
        numberedClip(join(folder, 'gate.mov'), 6);
        for (const name of ['pond', 'moth', 'gate']) {
          // Two frames too many for one of them.
          const count = { pond: 8, moth: 7, gate: 6 }[name]!;
          writeFileSync(join(folder, 'results', `${name}.result.json`), resultText(count));
        }
        const clips = [
          ...['pond', 'moth', 'gate'].map((name) => ({
            file: `${name}.csv`,
            movie: `${name}.mov`,
          })),
          { file: 'silent.csv' },
        ];
        const manifest = { format: 'twinkeel-shoot', version: 1, clips };
        writeFileSync(join(folder, 'shoot.json'), JSON.stringify(manifest));
        const call = ['shoot.json', '--results', 'results', '--out', 'out', '--jobs', '2'];
        const first = run(folder, ...call);
        expect(first.status).toBe(1);
        expect(first.stderr.split('\n').filter((line) => line !== '')).toEqual([
          'twinkeel: silent is left out: the manifest names no movie of it',
          expect.stringContaining('moth.mov: found 5 of the 7 frames'),
        ]);
        expect(readdirSync(join(folder, 'out')).sort()).toEqual(
          ['gate', 'pond'].flatMap((name) => [`${name}.steady.mkv`, `${name}.steady.mkv.json`]),
        );
        expect(readFrames(join(folder, 'out', 'gate.steady.mkv'))).toHaveLength(6);
        // The next night: two are there, one is mended, one had been cut by hand.
        writeFileSync(join(folder, 'results', 'moth.result.json'), resultText(5));
        writeFileSync(join(folder, 'out', 'gate.steady.mkv'), 'cut by hand');
        const second = run(folder, ...call);
        expect(second.stdout).toContain('out/pond.steady.mkv was made before');
        expect(second.stdout).toContain('wrote out/moth.steady.mkv');
        expect(second.stderr).toContain('out/gate.steady.mkv: found a file of this name');
        expect(second.status).toBe(1);
        expect(readFileSync(join(folder, 'out', 'gate.steady.mkv'), 'utf8')).toBe('cut by hand');
      },
    );
  },
);
