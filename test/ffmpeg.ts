import { spawnSync } from 'node:child_process';

/** Why tests that need ffmpeg are skipped here; undefined where it runs and knows `v360`. */
export const ffmpegMissing: string | undefined = lookForFfmpeg();

function lookForFfmpeg(): string | undefined {
  const { status, stdout } = spawnSync('ffmpeg', ['-v', 'error', '-filters'], { encoding: 'utf8' });
  if (status !== 0) return 'ffmpeg is not installed here';
  if (!/\bv360\b/.test(stdout)) return 'the ffmpeg installed here has no v360 filter';
  return undefined;
}
