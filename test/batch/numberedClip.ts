import { spawnSync } from 'node:child_process';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';

/**
 * Clips whose every frame says its number by its brightness, and corrections that say theirs by how
 * many columns they turn out of view: a frame that got its neighbour's correction shows at once.
 */

/** Width and height of one eye, px. */
export const EYE_PX = 64;
const [WIDTH, HEIGHT] = [2 * EYE_PX, EYE_PX];
const FRAME_BYTES = (WIDTH * HEIGHT * 3) / 2;

/** Brightness of a frame, for up to sixty. */
export const lightOf = (frame: number) => 40 + 3 * (frame % 60);

/** Columns out of sight: 3, 6, … 21, never the same within seven frames. */
export const hiddenBy = (correction: number) => 3 * (1 + ((3 * correction) % 7));

/** A turn about the vertical by that many columns of half a sphere. */
export const turnOf = (correction: number): Quaternion =>
  quaternionFromHeadingTiltRoll((hiddenBy(correction) * Math.PI) / EYE_PX, 0, 0);

/** How a clip is stored. */
export interface Storage {
  /** Pictures per second before any are left out. */
  readonly rate?: string;
  /** Which pictures are kept, by number; the others leave a hole in time. */
  readonly kept?: readonly number[];
  /** More inputs for ffmpeg, such as a sound. */
  readonly inputs?: readonly string[];
  readonly options?: readonly string[];
  readonly pixelFormat?: string;
}

/** Stores a clip of so many frames, without loss unless the options say otherwise. */
export function numberedClip(path: string, count: number, storage: Storage = {}): void {
  const { rate = '60000/1001', kept, inputs = [], options = [], pixelFormat = 'yuv420p' } = storage;
  const frames = new Uint8Array(count * FRAME_BYTES).fill(128);
  for (let k = 0; k < count; k++) {
    frames.fill(lightOf(k), k * FRAME_BYTES, k * FRAME_BYTES + WIDTH * HEIGHT);
  }
  const chosen = kept?.map((frame) => `eq(n,${frame})`).join('+');
  const size = `${WIDTH}x${HEIGHT}`;
  ffmpeg(
    [
      ...['-f', 'rawvideo', '-pix_fmt', 'yuv420p', '-s', size, '-r', rate, '-i', '-', ...inputs],
      ...(chosen ? ['-vf', `select='${chosen}'`, '-fps_mode', 'passthrough'] : []),
      ...['-c:v', 'ffv1', '-pix_fmt', pixelFormat, ...options, `file:${path}`],
    ],
    frames,
  );
}

/** What each frame of a steadied clip tells: brightness, and columns out of sight, per eye. */
export function readFrames(path: string): { light: number; hidden: [number, number] }[] {
  const raw = ffmpeg([
    ...['-i', `file:${path}`, '-fps_mode', 'passthrough'],
    ...['-an', '-f', 'rawvideo', '-pix_fmt', 'yuv420p', '-'],
  ]);
  return Array.from({ length: raw.length / FRAME_BYTES }, (_, k) => {
    const start = k * FRAME_BYTES + (HEIGHT / 2) * WIDTH;
    const row = raw.subarray(start, start + WIDTH);
    const light = row[EYE_PX / 2]!;
    const hidden = (from: number) => {
      const dark = [...row.subarray(from, from + EYE_PX)].filter((each) => each < (16 + light) / 2);
      return 3 * Math.round(dark.length / 3);
    };
    return { light, hidden: [hidden(0), hidden(EYE_PX)] };
  });
}

/** What is expected of frames of the source by their corrections. */
export const expected = (pairs: readonly (readonly [frame: number, correction: number])[]) =>
  pairs.map(([frame, correction]) => ({
    light: lightOf(frame),
    hidden: [hiddenBy(correction), hiddenBy(correction)],
  }));

/** Stamps of a movie's pictures, s. */
export function stampsOf(path: string): number[] {
  const { stdout } = probe(path, ['-select_streams', 'v:0', '-show_entries', 'packet=pts_time']);
  return (stdout.match(/-?\d+\.\d+/g) ?? []).map(Number).sort((a, b) => a - b);
}

/** What ffprobe says of a movie. */
export function describeMovie(path: string): {
  streams: {
    codec_type: string;
    codec_name: string;
    width?: number;
    height?: number;
    pix_fmt?: string;
    start_time?: string;
    color_range?: string;
    color_space?: string;
    chroma_location?: string;
    tags?: Record<string, string>;
  }[];
  format: { tags?: Record<string, string>; duration: string };
} {
  return JSON.parse(probe(path, ['-show_streams', '-show_format'], 'json').stdout);
}

function probe(path: string, options: readonly string[], form = 'csv=p=0') {
  const all = ['-v', 'error', ...options, '-of', form, `file:${path}`];
  return spawnSync('ffprobe', all, { encoding: 'utf8' });
}

export function ffmpeg(options: readonly string[], input?: Uint8Array): Buffer {
  const { status, stdout, stderr } = spawnSync('ffmpeg', ['-v', 'error', '-y', ...options], {
    ...(input ? { input } : { stdio: ['ignore', 'pipe', 'pipe'] }),
    maxBuffer: 2 ** 30,
  });
  if (status !== 0) throw new Error(`ffmpeg ${options.join(' ')}: ${stderr}`);
  return stdout;
}
