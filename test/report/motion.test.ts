import { describe, expect, test } from 'vitest';
import { framesPassed } from '../../src/report/page/motion.js';

describe('the clock of the preview', () => {
  const clip = { frameRate: { numerator: 60000, denominator: 1001 } };

  test.each([
    ['of 60 pictures a second', 1000 / 60],
    ['of 144', 1000 / 144],
    ['of a busy machine', 70],
  ])('ten seconds on a screen %s are ten seconds of frames', (_, interval) => {
    const ticks = Math.round(10_000 / interval);
    let since = 0;
    let total = 0;
    for (let k = 1; k <= ticks; k++) {
      const { frames, until } = framesPassed(clip, since, k * interval);
      total += frames;
      since = until;
    }
    // All that may be missing is the frame that has not passed yet; sums of moments round, by far
    // less than a millionth of a frame.
    const passed = (ticks * interval * 60) / 1001;
    expect(total).toBeLessThanOrEqual(passed);
    expect(total).toBeGreaterThan(passed - 1 - 1e-6);
  });

  test('a clock that went back shows no frame twice', () => {
    expect(framesPassed(clip, 100, 50)).toEqual({ frames: 0, until: 100 });
  });
});
