import { spawnSync } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { COMMANDS_NAME, type FfmpegRun } from '../../src/handoff/ffmpeg.js';
import type { EyeLayout } from '../../src/picture/stereoFrame.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';
import { EYES, type Eye, type Lens, renderEye } from './room.js';
import type { Picture } from './tileShift.js';

/** A movie of the glasshouse, and what stands in it. */
export interface Clip {
  readonly layout: EyeLayout;
  /** Width and height of one eye's picture. */
  readonly sizePx: number;
  readonly lens: Lens;
}

/**
 * Renders a movie and stores it without loss: `orientationOf` each half's lens at each frame, 8 bits
 * that another pixel format may hold.
 */
export function filmClip(
  path: string,
  { layout, sizePx, lens }: Clip,
  count: number,
  halves: readonly { eye: Eye; orientationOf: (frame: number) => Quaternion }[],
  pixelFormat = 'yuv420p',
): void {
  const [width, height] = frameSize(layout, sizePx);
  const bytes = (width * height * 3) / 2;
  // Neutral chroma: the picture is grey, in the format of most movies.
  const frames = new Uint8Array(count * bytes).fill(128);
  for (let k = 0; k < count; k++) {
    halves.forEach(({ eye, orientationOf }, half) => {
      const light = renderEye(eye, orientationOf(k), lens, sizePx);
      const [x, y] = corner(layout, sizePx, half);
      for (let row = 0; row < sizePx; row++) {
        const line = light.subarray(row * sizePx, (row + 1) * sizePx).map(Math.round);
        frames.set(line, k * bytes + (y + row) * width + x);
      }
    });
  }
  const raw = `-f rawvideo -pix_fmt yuv420p -s ${width}x${height} -r 60000/1001 -i -`.split(' ');
  ffmpeg([...raw, '-c:v', 'ffv1', '-pix_fmt', pixelFormat, path], frames);
}

/** Sends a movie through one run's filters, its commands beside it in a folder. */
export function throughFilters(
  movie: string,
  { filters, commands }: Pick<FfmpegRun, 'filters' | 'commands'>,
  folder: string,
): Buffer {
  mkdirSync(folder, { recursive: true });
  writeFileSync(join(folder, 'turns.txt'), commands);
  const chain = filters.replace(COMMANDS_NAME, 'turns.txt');
  return ffmpeg(['-i', movie, '-vf', chain, ...TO_RAW], undefined, folder);
}

/** All frames of a movie, raw. */
export function decoded(movie: string): Buffer {
  return ffmpeg(['-i', movie, ...TO_RAW]);
}

/** Times of a movie's pictures, s. */
export function pictureTimes(movie: string): number[] {
  return probed(movie, 'frame=pts_time').map(Number);
}

/** How the pixels of a movie's pictures are stored. */
export function pixelFormat(movie: string): string {
  return probed(movie, 'stream=pix_fmt').join();
}

function probed(movie: string, entries: string): string[] {
  const options = [
    '-v',
    'error',
    '-select_streams',
    'v:0',
    '-show_entries',
    entries,
    '-of',
    'csv=p=0',
  ];
  const { stdout } = spawnSync('ffprobe', [...options, movie], { encoding: 'utf8' });
  // Some lines end with the comma of a cell that follows.
  return stdout.split('\n').flatMap((line) => line.match(/^[^,]+/) ?? []);
}

const TO_RAW = ['-an', '-f', 'rawvideo', '-pix_fmt', 'yuv420p', '-'];

function ffmpeg(options: readonly string[], input?: Uint8Array, cwd?: string): Buffer {
  const { status, stdout, stderr } = spawnSync('ffmpeg', ['-v', 'error', ...options], {
    ...(input ? { input } : { stdio: ['ignore', 'pipe', 'pipe'] }),
    ...(cwd && { cwd }),
    maxBuffer: 2 ** 30,
  });
  if (status !== 0) throw new Error(`ffmpeg ${options.join(' ')}: ${stderr}`);
  return stdout;
}

/** How many frames raw bytes hold. */
export function frameCount(
  raw: Buffer,
  { layout, sizePx }: Pick<Clip, 'layout' | 'sizePx'>,
): number {
  const [width, height] = frameSize(layout, sizePx);
  return raw.length / ((width * height * 3) / 2);
}

/** The brightness of one half of a frame; its left or upper half belongs to the left eye. */
export function halfOf(
  raw: Buffer,
  { layout, sizePx }: Pick<Clip, 'layout' | 'sizePx'>,
  frame: number,
  eye: Eye,
): Picture {
  const [width, height] = frameSize(layout, sizePx);
  const [x, y] = corner(layout, sizePx, EYES.indexOf(eye));
  const light = new Uint8Array(sizePx * sizePx);
  for (let row = 0; row < sizePx; row++) {
    const start = (frame * width * height * 3) / 2 + (y + row) * width + x;
    light.set(raw.subarray(start, start + sizePx), row * sizePx);
  }
  return { sizePx, light };
}

function frameSize(layout: EyeLayout, sizePx: number): [width: number, height: number] {
  return layout === 'side-by-side' ? [2 * sizePx, sizePx] : [sizePx, 2 * sizePx];
}

function corner(layout: EyeLayout, sizePx: number, half: number): [x: number, y: number] {
  return layout === 'side-by-side' ? [half * sizePx, 0] : [0, half * sizePx];
}
