import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { COMMANDS_NAME, toFfmpeg } from '../../src/handoff/ffmpeg.js';
import { steadyScript } from '../../src/handoff/ffmpegScript.js';
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
    expect(script).toContain(' -ss 0.500500 -t 0.116783 -i "$movie"');
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
