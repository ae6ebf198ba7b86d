import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { handoff } from '../../src/batch/handoff.js';
import { type Options, UsageError } from '../../src/batch/usage.js';
import { HANDOFF_TARGETS } from '../../src/handoff/targets.js';
import { temporaryFolder } from '../temporaryFolder.js';

/** A wrong call never comes to open the file, which is not there. */
const FILES = ['moonflower.result.json'];

describe('a wrong call is refused before any file is opened', () => {
  test.each<[string, Options, string]>([
    ['no target', {}, `say as what: --to ${HANDOFF_TARGETS.join(' | ')}`],
    [
      'an unknown target',
      { to: 'gltf,pollen' },
      '--to: found "pollen", expected one of csv, json, gltf',
    ],
    ['an empty target', { to: 'csv,' }, '--to: found "", expected one of csv'],
    [
      'an unknown motion',
      { to: 'tum', motion: 'dance' },
      '--motion: found "dance", expected one of intended',
    ],
    [
      'an unknown angle',
      { to: 'opentrackio', flip: 'yaw' },
      '--flip: found "yaw", expected pan, tilt, roll',
    ],
    [
      'an unknown picture',
      { to: 'ffmpeg', picture: 'flat' },
      '--picture: found "flat", expected one of half-e',
    ],
    [
      'an unknown layout',
      { to: 'ffmpeg', layout: 'mixed' },
      '--layout: found "mixed", expected one of side-by-',
    ],
    ['a size in words', { to: 'st-maps', size: 'big' }, '--size big is no size such as 1024x1024'],
    ['a size of the source', { to: 'st-maps', 'source-size': '9' }, '--source-size 9 is no size'],
    ['frames in words', { to: 'st-maps', frames: '1,dusk' }, '--frames 1,dusk is no list of'],
    ['a frame left blank', { to: 'st-maps', frames: '40,' }, '--frames 40, is no list of'],
    [
      'a field in words',
      { to: 'ffmpeg', field: 'wide' },
      '--field: found "wide", expected a number',
    ],
    [
      'a movie that begins within a frame',
      { to: 'ffmpeg', 'movie-starts': '39.5' },
      '--movie-starts 39.5 is not a whole number',
    ],
  ])('%s', async (_title, options, words) => {
    const out = join(temporaryFolder(), 'out');
    const call = handoff(FILES, { out, ...options });
    await expect(call).rejects.toThrow(words);
    await expect(call).rejects.toBeInstanceOf(UsageError);
    expect(existsSync(out)).toBe(false);
  });

  test('no file, or no folder to write into', async () => {
    await expect(handoff([], { to: 'csv', out: 'out' })).rejects.toThrow('no file was given');
    await expect(handoff(FILES, { to: 'csv' })).rejects.toThrow('say where to write: --out DIR');
  });
});
