import { spawnSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { COMMANDS_NAME, toFfmpeg } from '../../src/handoff/ffmpeg.js';
import { type Film, shaken } from './films.js';

/**
 * Processor milliseconds per frame of ffmpeg's v360, turned anew for each frame; what making the frames
 * costs is taken off.
 *
 * @returns nothing without ffmpeg
 */
export function v360(film: Film, frames: number, folder: string): number | undefined {
  const [run] = toFfmpeg(shaken(frames), {
    input: { projection: 'half-equirect', layout: 'side-by-side' },
  });
  writeFileSync(join(folder, 'turns.txt'), run!.commands);
  const filters = run!.filters.replace(COMMANDS_NAME, 'turns.txt');
  const plain = processorMs(film, frames, 'null', folder);
  const turned = processorMs(film, frames, filters, folder);
  return plain === undefined || turned === undefined ? undefined : (turned - plain) / frames;
}

function processorMs(film: Film, frames: number, filters: string, folder: string) {
  const { widthPx, heightPx, pixels } = film;
  const input = `testsrc2=size=${widthPx}x${heightPx}:rate=60000/1001,format=${pixels}`;
  return spent(
    ['-f', 'lavfi', '-i', input, '-frames:v', `${frames}`, '-vf', filters, '-f', 'null', '-'],
    folder,
  );
}

/**
 * Processor milliseconds per frame of reading a movie of a moving picture with some grain and writing it
 * again, H.264 both, at a preset of the encoder.
 */
export function throughEncoder(
  { widthPx, heightPx, pixels }: Film,
  frames: number,
  preset: 'ultrafast' | 'fast',
  folder: string,
): number | undefined {
  const input = `testsrc2=size=${widthPx}x${heightPx}:rate=60000/1001,noise=alls=6:allf=t,format=${pixels}`;
  const encoder = ['-c:v', 'libx264', '-preset', preset];
  const made = spent(
    ['-f', 'lavfi', '-i', input, '-frames:v', `${frames}`, ...encoder, '-y', 'movie.mkv'],
    folder,
  );
  if (made === undefined) return undefined;
  const whole = spent(['-i', 'movie.mkv', ...encoder, '-f', 'null', '-'], folder);
  return whole === undefined ? undefined : whole / frames;
}

/** User and system time of a run of ffmpeg, ms, as it tells it itself. */
function spent(options: readonly string[], folder: string): number | undefined {
  const { status, stderr } = spawnSync('ffmpeg', ['-benchmark', '-nostdin', ...options], {
    cwd: folder,
    encoding: 'utf8',
    maxBuffer: 2 ** 26,
  });
  if (status !== 0) return undefined;
  const [, user, system] = /bench: utime=([\d.]+)s stime=([\d.]+)s/.exec(stderr) ?? [];
  return 1000 * (Number(user) + Number(system));
}
