import { describe, expect, test } from 'vitest';
import { lazyClip } from '../../src/report/page/motion.js';
import { sameTake } from '../../src/report/page/variants.js';
import { clipDataOf } from '../../src/report/pageData.js';
import { hangingBy, resultOf } from './clips.js';

const named = (name: string, options: Parameters<typeof resultOf>[0] = {}) =>
  lazyClip(clipDataOf(name, resultOf(options)));

describe('results of one take', () => {
  test('agree in their name up to the first dot', () => {
    expect(sameTake(named('aisle.a'), named('aisle.b', { frames: 420 }))).toBe(true);
  });

  test('or in frames, rate and measured path, however they were corrected', () => {
    const free = named('first');
    expect(sameTake(free, named('second', { limits: { totalDeg: 0.5 } }))).toBe(true);
    expect(sameTake(free, named('second', { angles: hangingBy(2.6) }))).toBe(false);
    expect(sameTake(free, named('second', { frames: 301 }))).toBe(false);
  });

  test('the number of frames is known before anything is unpacked', () => {
    for (const frames of [298, 299, 300]) expect(named('aisle', { frames }).frames).toBe(frames);
  });
});
