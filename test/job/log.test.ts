import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { makeClockTake } from '../../bench/accuracy/clockTakes.js';
import { trackToCsv } from '../../src/handoff/csv.js';
import { readResult } from '../../src/handoff/readResult.js';
import type { MotionLog } from '../../src/track/motionLog.js';
import { CLI } from '../command.js';
import { temporaryFolder } from '../temporaryFolder.js';

const logToCsv = ({ times, rate }: MotionLog) =>
  `time_s,gx,gy,gz\n${Array.from(times, (time, k) =>
    [time, ...rate.subarray(3 * k, 3 * k + 3)].join(','),
  ).join('\n')}\n`;

/** Corrects a walk past the moonflowers with a log beside it. */
function correctWith(take: ReturnType<typeof makeClockTake>) {
  const folder = temporaryFolder();
  writeFileSync(join(folder, 'clip.csv'), trackToCsv(take.track));
  writeFileSync(join(folder, 'gyro.csv'), logToCsv(take.log));
  const args = ['correct', 'clip.csv', '--log', 'gyro.csv', '--out', 'out'];
  const run = spawnSync(process.execPath, [CLI, ...args], { cwd: folder, encoding: 'utf8' });
  return { ...run, folder };
}

describe('twinkeel correct clip.csv --log gyro.csv', () => {
  test('lines the log up, replaces the wild frames and says so', () => {
    const take = makeClockTake('walk', 1, { duration: 15 });
    const { status, stderr, stdout, folder } = correctWith(take);
    expect({ status, stderr }).toMatchObject({ status: 0 });
    const written = readdirSync(join(folder, 'out'));
    const json = written.find((name) => name.endsWith('.result.json'))!;
    const { warnings } = readResult(readFileSync(join(folder, 'out', json), 'utf8'));
    const fused = warnings.find(({ code }) => code === 'sync/fused')!;
    const start = Number(/it starts (\d+\.\d+) s before the clip/.exec(fused.message)![1]);
    // Rows wander by 1.28 ms, alike for 39 of 900 frames: 0.27 ms, three and a half of them.
    expect(Math.abs(start - take.offset)).toBeLessThan(3.5 * 0.27e-3);
    expect(`${stdout}${stderr}`).toContain('clip');
  });

  test('refuses the log of another take in one sentence and writes nothing', () => {
    const { status, stdout, stderr, folder } = correctWith(
      makeClockTake('walk', 1, { duration: 15, logSeed: 9 }),
    );
    expect({ status, stdout }).toEqual({ status: 1, stdout: '' });
    expect(stderr).toMatch(/^twinkeel: clip\.csv.* found a log that cannot be lined up.+\.\n$/);
    expect(readdirSync(folder).sort()).toEqual(['clip.csv', 'gyro.csv']);
  });

  test('takes a log shorter than the clip for the part that it covers, and says so', () => {
    const { status, folder } = correctWith(
      makeClockTake('walk', 1, { duration: 15, before: 2, after: -6 }),
    );
    expect(status).toBe(0);
    const written = readdirSync(join(folder, 'out'));
    const json = written.find((name) => name.endsWith('.result.json'))!;
    const { warnings } = readResult(readFileSync(join(folder, 'out', json), 'utf8'));
    const part = warnings.find(({ code }) => code === 'sync/part')!;
    expect(part.message).toMatch(
      /^the log covers the clip from 0\.00 s to (8\.9|9\.0)\d s of 1[45]\./,
    );
  });

  test('refuses a log that shares two seconds with the clip', () => {
    const { status, stderr } = correctWith(
      makeClockTake('walk', 1, { duration: 15, before: -5, after: -8 }),
    );
    expect(status).toBe(1);
    expect(stderr).toContain('log and clip share at most 2.0 s, and 3 s are needed');
  });
});
