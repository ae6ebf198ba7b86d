import { describe, expect, test } from 'vitest';
import { timecodeAt } from '../../src/batch/movieTimecode.js';
import { parseFrameRate } from '../../src/track/frameRate.js';

const RATE = parseFrameRate('60000/1001');
const STEP = 1001 / 60000;
const movie = (text: string, rate = RATE) => ({ rate: RATE, timecode: { text, rate } });

describe('the time code of a part', () => {
  test('counts the frames, dropping labels where the code does', () => {
    expect(timecodeAt(movie('01:00:59;50'), 30, STEP, true)).toEqual({ text: '01:01:00;24' });
    expect(timecodeAt(movie('01:00:59:50'), 30, STEP, true)).toEqual({ text: '01:01:00:20' });
    // An hour of frames: 215784 labels are left after 108 · 2 are dropped each ten minutes but one.
    expect(timecodeAt(movie('00:00:00;00'), 215_784, STEP, true)).toEqual({ text: '01:00:00;00' });
  });

  test('of the beginning is that of the movie, however it counts', () => {
    expect(timecodeAt(movie('01:00:00:99'), 0, STEP, false)).toEqual({ text: '01:00:00:99' });
  });

  test('may count at half the rate, on frames that have a label', () => {
    const half = movie('10:00:00:28', parseFrameRate('30000/1001'));
    expect(timecodeAt(half, 6, STEP, true)).toEqual({ text: '10:00:01:01' });
    expect(timecodeAt(half, 7, STEP, true)).toEqual({
      lost: 'frame 7 lies between two labels of the time code, which counts at 30000/1001',
    });
  });

  test('is none where frames are not evenly spaced, the code is none, or there was none', () => {
    expect(timecodeAt(movie('01:00:00:00'), 5, STEP, false)).toHaveProperty('lost');
    expect(timecodeAt(movie('01:00:00:77'), 5, STEP, true)).toHaveProperty('lost');
    expect(timecodeAt({ rate: RATE }, 5, STEP, true)).toBeUndefined();
  });
});
