import { describe, expect, test } from 'vitest';
import { makeClockTake } from '../../bench/accuracy/clockTakes.js';
import { alignClocks } from '../../src/sync/alignClocks.js';
import { cleanTrack } from '../../src/sync/cleanTrack.js';

describe('clean footage', () => {
  test.each(['gimbal', 'pan', 'yaw only'] as const)('a clean %s clip is not refused', (kind) => {
    const take = makeClockTake(kind, 1, { duration: 20, wild: 0 });
    expect(alignClocks(take.log, take.track).verdict).not.toBe('refused');
  });
  test('a smooth clip without wild frames keeps its frames and its noise', () => {
    const { track } = makeClockTake('gimbal', 1, { duration: 20, wild: 0 });
    const { weights, noise } = cleanTrack(track.quaternions);
    expect(weights.filter((weight) => weight === 0).length).toBeLessThan(0.05 * weights.length);
    expect((noise * 180) / Math.PI).toBeGreaterThan(0.03 * 0.9);
  });
  test.each([31, 32])('the log of another walk is named as such (%d)', (logSeed) => {
    const take = makeClockTake('walk', 1, { duration: 20, logSeed });
    expect(alignClocks(take.log, take.track).reason).toContain('it may belong to another take');
  });
});
