import { spawn, spawnSync } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test, vi } from 'vitest';
import { COMMANDS_NAME, toFfmpeg } from '../../src/handoff/ffmpeg.js';
import { steadyScript } from '../../src/handoff/ffmpegScript.js';
import { formatTimecode, parseTimecode } from '../../src/track/timecode.js';
import { ffmpegMissing } from '../ffmpeg.js';
import { temporaryFolder } from '../temporaryFolder.js';
import { turn } from '../turns.js';
import { resultOf } from './results.js';

const indexes = Array.from({ length: 7 }, (_, k) => k);
const result = resultOf({
  intended: indexes.map(() => [0, 0, 0, 1]),
  corrections: indexes.map((k) => turn([0, 1, 0], 0.01 * k).q),
});
const input = { projection: 'half-equirect', layout: 'side-by-side' } as const;
const runs = toFfmpeg(result, { input, framesPerRun: 3, firstFrame: 10 });
const { script, lists } = steadyScript(result, runs, 10);

describe('the script around the runs', () => {
  test('names every list once, in the order of the runs', () => {
    expect(lists.map(({ name }) => name)).toEqual([
      'turns-000.txt',
      'turns-001.txt',
      'turns-002.txt',
    ]);
    expect(lists.map(({ content }) => content)).toEqual(runs.map(({ commands }) => commands));
    expect([...script.matchAll(/sendcmd=f=([^,]+),/g)].map(([, name]) => name)).toEqual(
      lists.map(({ name }) => name),
    );
    expect(script).not.toContain(COMMANDS_NAME);
  });

  test('takes the sound from the first steadied frame on, for as long as the frames last', () => {
    // Frame 40 of a movie from frame 10 on: 30 frames; 7 frames. 1001/60000 s each.
    expect(script).toContain(' -ss 0.500500 -t 0.116783 -i "file:$movie"');
    expect(script).toContain('# Steadies frames 40 to 46 of a movie');
    expect(steadyScript(result, runs).script).toContain(' -ss 0.000000 ');
  });

  test('a shell understands it', () => {
    const { status, stderr } = spawnSync('sh', ['-n'], { input: script, encoding: 'utf8' });
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
  });

  test.each([
    ['without its two names', [], 2, 'usage: sh steady.sh MOVIE OUT.mov'],
    ['without a movie', ['fog.mov', 'out.mov'], 1, 'cannot read fog.mov'],
    ['over a file that exists', ['walk.mov', 'walk.mov'], 1, 'walk.mov exists'],
  ])('%s it stops before anything is made', (_title, args, code, words) => {
    const folder = temporaryFolder();
    writeFileSync(join(folder, 'steady.sh'), script);
    writeFileSync(join(folder, 'walk.mov'), 'no movie at all');
    const options = { cwd: folder, encoding: 'utf8' } as const;
    const { status, stderr } = spawnSync('sh', ['steady.sh', ...args], options);
    expect(stderr).toContain(words);
    expect(status).toBe(code);
    expect(readdirSync(folder).sort()).toEqual(['steady.sh', 'walk.mov']);
    expect(readFileSync(join(folder, 'walk.mov'), 'utf8')).toBe('no movie at all');
  });

  test('a step that fails leaves no parts behind and no movie', () => {
    const folder = temporaryFolder();
    writeFileSync(join(folder, 'steady.sh'), script);
    writeFileSync(join(folder, 'walk.mov'), 'no movie at all');
    // Fails alike where ffmpeg is missing and where it finds no movie in the file.
    const { status } = spawnSync('sh', ['steady.sh', 'walk.mov', 'out.mov'], { cwd: folder });
    expect(status).not.toBe(0);
    expect(readdirSync(folder).sort()).toEqual(['steady.sh', 'walk.mov']);
  });
});

/** A movie as ffprobe tells it; the script runs up to its first frame, where this ffmpeg fails. */
function told(
  movie: Partial<Record<'r' | 'mean' | 'count' | 'code' | 'turn' | 'codes', string>>,
  { made = result, first = 10 } = {},
) {
  const folder = temporaryFolder();
  const bin = join(folder, 'bin');
  mkdirSync(bin);
  const says = { r: '60000/1001', mean: '60000/1001', count: '100', ...movie };
  const answers = [
    ['r_frame_rate', says.r],
    ['*d*avg_frame_rate', says.codes ?? ''],
    ['avg_frame_rate', says.mean],
    ['nb_read_packets', says.count],
    ['tags=timecode', says.code ?? ''],
    ['rotation', says.turn ?? ''],
  ];
  const cases = answers.map(([word, words]) => {
    const pattern = word!.startsWith('*d*') ? '*"select_streams d"*' : `*${word}*`;
    return `  ${pattern}) echo '${words}' ;;`;
  });
  writeProgram(join(bin, 'ffprobe'), ['case "$*" in', ...cases, 'esac']);
  // Says which time code it is given, and lets the script count what it "made".
  writeProgram(join(bin, 'ffmpeg'), ['for last; do :; done', 'echo "ran $*"', 'exit 7']);
  const pieces = toFfmpeg(made, { input, firstFrame: first });
  const whole = steadyScript(made, pieces, first).script;
  // What is counted on is told before the first run.
  const shown = whole.replace(/^say 'frames/m, 'say "code <$code>"\n$&');
  writeFileSync(join(folder, 'steady.sh'), shown);
  writeFileSync(join(folder, 'walk.mov'), 'a stand-in');
  const { status, stdout, stderr } = spawnSync('sh', ['steady.sh', 'walk.mov', 'out.mov'], {
    cwd: folder,
    encoding: 'utf8',
    env: { ...process.env, PATH: `${bin}:${process.env.PATH}` },
  });
  return { status, stdout, stderr, left: readdirSync(folder).sort() };
}

function writeProgram(path: string, lines: readonly string[]): void {
  writeFileSync(path, ['#!/bin/sh', ...lines, ''].join('\n'), { mode: 0o755 });
}

describe('before its first frame the script', () => {
  test.each<[string, Parameters<typeof told>[0], string]>([
    ['another rate', { r: '30/1', mean: '30/1' }, 'found 30/1 frames per second'],
    [
      'a rate off by a thousandth',
      { r: '60/1', mean: '60/1' },
      'found 60/1 frames per second (mean 60/1), expected 60000/1001 evenly',
    ],
    ['a rate that varies', { mean: '48/1' }, 'found 60000/1001 frames per second (mean 48/1)'],
    ['no rate', { r: '0/0', mean: '0/0' }, 'found 0/1 frames per second'],
    ['too few frames', { count: '36' }, 'found 36 frames, expected at least 37'],
    ['a file that tells no frames', { count: '' }, 'found 0 frames, expected at least 37'],
    ['turned pictures', { turn: '-90' }, 'found pictures that players turn by -90 degrees'],
  ])('refuses %s', (_title, movie, words) => {
    const { status, stdout, stderr, left } = told(movie);
    expect(stderr).toContain(`walk.mov: ${words}`);
    expect({ status, stdout, left }).toEqual({
      status: 1,
      stdout: '',
      left: ['bin', 'steady.sh', 'walk.mov'],
    });
  });

  test('takes exactly as many frames as it needs, and a mean that coarse stamps blur', () => {
    const { status, stdout } = told({ count: '37', mean: '19001/317' });
    expect(stdout).toContain('frames 40 to 46');
    expect(status).toBe(7);
  });

  test('a run that fails ends the script with its code, and leaves nothing', () => {
    expect(told({})).toMatchObject({ status: 7, left: ['bin', 'steady.sh', 'walk.mov'] });
  });

  const rates = [
    [60000, 1001],
    [30000, 1001],
    [24000, 1001],
    [25, 1],
  ] as const;
  const codes = ['00:00:00:00', '08:09:59:20', '23:59:59:23', '01:08:59:10'];

  test.each(
    rates.flatMap(([numerator, denominator]) =>
      codes.flatMap((code) => {
        const plain = [[numerator, denominator, code] as const];
        const drops = denominator === 1001 && numerator !== 24000;
        return drops
          ? [...plain, [numerator, denominator, code.replace(/:(\d+)$/, ';$1')] as const]
          : plain;
      }),
    ),
  )(
    'at %i/%i counts %s on by the frames left out, as ST 12-1 does',
    (numerator, denominator, code) => {
      const rate = { numerator, denominator };
      const drops = code.includes(';');
      for (const first of [10, -1790, -17_960, -107_900]) {
        const made = resultOf({
          intended: indexes.map(() => [0, 0, 0, 1]),
          corrections: indexes.map((k) => turn([0, 1, 0], 0.01 * k).q),
          rate,
        });
        const stated = `${numerator}/${denominator}`;
        const { stdout, stderr } = told(
          { r: stated, mean: stated, count: '999999', code },
          { made, first },
        );
        const labels = parseTimecode(code, rate) + 40 - first;
        expect(stdout + stderr).toContain(`code <${formatTimecode(labels, rate, drops)}>`);
      }
    },
  );

  test('keeps the time code of a movie that is not cut', () => {
    expect(told({ code: '01:00:00;10' }, { first: 40 }).stdout).toContain('code <01:00:00;10>');
  });

  test('writes none where it counts at another rate than the frames come, and says so', () => {
    for (const movie of [{ codes: '30000/1001' }, { code: '01:00:00:61' }]) {
      const { stdout, stderr } = told({ code: '01:00:00:10', ...movie });
      expect(stdout).toContain('code <>');
      expect(stderr).toContain('does not count the frames of this movie');
    }
  });
});

describe.skipIf(ffmpegMissing !== undefined)(
  `the script with ffmpeg${ffmpegMissing === undefined ? '' : `: skipped, ${ffmpegMissing}`}`,
  () => {
    const LIMIT = { timeout: 120_000 };

    /** Sixty frames with a sound, a title and a time code, and the script beside them. */
    function shoot(movie: string, beside = temporaryFolder()) {
      const folder = temporaryFolder();
      const made = [
        ...['-f', 'lavfi', '-i', 'testsrc2=s=128x64:r=60000/1001'],
        ...['-f', 'lavfi', '-i', 'sine=r=48000', '-t', '1.001', '-c:v', 'mpeg4', '-g', '12'],
        ...['-c:a', 'pcm_s16le', '-metadata', "title=moth's light", '-timecode', '01:00:59;50'],
      ];
      const film = spawnSync('ffmpeg', ['-v', 'error', ...made, `file:${join(folder, movie)}`]);
      expect(film.status).toBe(0);
      writeFileSync(join(beside, 'steady.sh'), script);
      for (const { name, content } of lists) writeFileSync(join(beside, name), content);
      return { folder, script: join(beside, 'steady.sh') };
    }

    test(
      'names with quotes, newlines, blanks, backslashes, percents and a leading dash are names',
      LIMIT,
      () => {
        const movie = '-moth\'s "light"\n\\100%d $(touch gone) \n.mov';
        const beside = join(temporaryFolder(), '-bed\'s "row"\n\\%d');
        mkdirSync(beside);
        const { folder, script: path } = shoot(movie, beside);
        const out = '-steady\'s \n"night" %d.mov';
        const { status, stderr } = spawnSync('sh', [path, movie, out], {
          cwd: folder,
          encoding: 'utf8',
          env: { ...process.env, CDPATH: '/', ENCODE: '-c:v ffv1' },
        });
        expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
        expect(readdirSync(folder).sort()).toEqual([movie, out].sort());
      },
    );

    test(
      'seven frames of a longer movie with its title, their sound and their time code',
      LIMIT,
      () => {
        const { folder, script: path } = shoot('walk.mov');
        const run = spawnSync('sh', [path, 'walk.mov', 'out.mov'], {
          cwd: folder,
          encoding: 'utf8',
        });
        expect(run.stderr).toBe('');
        const entries =
          'format_tags=title:stream=codec_type,nb_frames,start_time:stream_tags=timecode';
        const { stdout } = spawnSync(
          'ffprobe',
          ['-v', 'error', '-show_entries', entries, '-of', 'json', join(folder, 'out.mov')],
          { encoding: 'utf8' },
        );
        const { streams, format } = JSON.parse(stdout) as {
          streams: { codec_type: string; nb_frames: string; start_time: string; tags?: object }[];
          format: { tags: { title: string } };
        };
        expect(format.tags.title).toBe("moth's light");
        const picture = streams.find(({ codec_type }) => codec_type === 'video')!;
        expect(picture.nb_frames).toBe('7');
        // 30 frames after 01:00:59;50: ten reach the minute, which begins with ;04.
        expect(picture.tags).toMatchObject({ timecode: '01:01:00;24' });
        const sound = streams.find(({ codec_type }) => codec_type === 'audio')!;
        // At most a packet late: 1024 samples of 48000 a second.
        expect(Number(sound.start_time)).toBeLessThanOrEqual(1024 / 48000);
      },
    );

    test.each(['SIGHUP', 'SIGTERM', 'SIGINT'] as const)(
      'after %s neither parts nor a running ffmpeg are left',
      LIMIT,
      async (signal) => {
        const { folder, script: path } = shoot('walk.mov');
        const bin = join(folder, 'bin');
        mkdirSync(bin);
        // Stands in for a run that lasts, and says who it is.
        writeProgram(join(bin, 'ffmpeg'), [`echo $$ > '${folder}/who'`, 'exec sleep 600']);
        const shell = spawn('sh', [path, 'walk.mov', 'out.mov'], {
          cwd: folder,
          env: { ...process.env, PATH: `${bin}:${process.env.PATH}` },
          stdio: 'ignore',
        });
        const ended = new Promise<number | null>((done) => shell.on('exit', done));
        await vi.waitFor(() => expect(readFileSync(join(folder, 'who'), 'utf8')).toMatch(/\d\n/), {
          timeout: 30_000,
        });
        const who = Number(readFileSync(join(folder, 'who'), 'utf8'));
        shell.kill(signal);
        expect(await ended).toBe({ SIGHUP: 129, SIGTERM: 143, SIGINT: 130 }[signal]);
        expect(() => process.kill(who, 0)).toThrow('ESRCH');
        expect(readdirSync(folder).sort()).toEqual(['bin', 'walk.mov', 'who']);
      },
    );
  },
);
