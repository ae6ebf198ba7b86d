/** A tiny stereo movie whose every frame says its number and shows the world's horizon. */
import { spawnSync } from 'node:child_process';
import type { Grey } from './browser.js';

/** Turns directions of the camera to the world: heading, tilt and roll of a frame as a matrix. */
export type Matrix = readonly (readonly [number, number, number])[];

export interface Film {
  readonly layout: 'side-by-side' | 'top-bottom';
  readonly frames: number;
  /** Camera→world of each frame, the camera's own axes. */
  readonly orientation: (frame: number) => Matrix;
}

/** Pixels across the picture of one eye, 180°. */
const EYE = 320;
const [GROUND, DARK, BRIGHT, LINE] = [60, 0, 200, 255];

/** Blocks of 6°: six bits of the number, then which half of the file this is, below the middle. */
const BLOCK_DEG = 6;
const BLOCKS = [32, 16, 8, 4, 2, 1, 'half'] as const;
const LATITUDE_DEG = -26;
const deg = Math.PI / 180;

/** Direction of the middle of a block, camera axes. */
export function blockMiddle(place: number): readonly [number, number, number] {
  const longitude = (place - (BLOCKS.length - 1) / 2) * BLOCK_DEG * deg;
  const latitude = LATITUDE_DEG * deg;
  return [
    Math.cos(latitude) * Math.sin(longitude),
    Math.sin(latitude),
    -Math.cos(latitude) * Math.cos(longitude),
  ];
}

/** Frame number and half of the file as seven blocks say it, where `place` finds each in a picture. */
export function readBlocks(
  picture: Grey,
  place: (direction: readonly [number, number, number]) => readonly [number, number],
): { frame: number; half: 0 | 1 } {
  const lit = BLOCKS.map((_, k) => {
    const [x, y] = place(blockMiddle(k));
    return picture.values[Math.round(y) * picture.width + Math.round(x)]! > (DARK + BRIGHT) / 2;
  });
  const frame = BLOCKS.reduce<number>(
    (sum, worth, k) => sum + (lit[k] && worth !== 'half' ? worth : 0),
    0,
  );
  return { frame, half: lit[BLOCKS.length - 1] ? 1 : 0 };
}

/** Brightness of half a file in one direction; the horizon is a bell 1.5° wide, smooth to the texel. */
function brightness(
  frame: number,
  half: 0 | 1,
  up: readonly [number, number, number],
  longitude: number,
  latitude: number,
): number {
  const place = Math.round(longitude / BLOCK_DEG + (BLOCKS.length - 1) / 2);
  if (Math.abs(latitude - LATITUDE_DEG) < BLOCK_DEG / 2 && place in BLOCKS) {
    const worth = BLOCKS[place]!;
    return (worth === 'half' ? half === 1 : (frame & worth) > 0) ? BRIGHT : DARK;
  }
  const [lon, lat] = [longitude * deg, latitude * deg];
  const height =
    up[0] * Math.cos(lat) * Math.sin(lon) +
    up[1] * Math.sin(lat) -
    up[2] * Math.cos(lat) * Math.cos(lon);
  return GROUND + (LINE - GROUND) * Math.exp(-((height / (1.5 * deg)) ** 2));
}

/** Ground on which the horizon lies; what is brighter near it is the line. */
export const FILM_GROUND = GROUND;

/** Writes the movie: VP9 without loss, a key frame every ten, so that seeking has to decode. */
export function writeFilm(path: string, { layout, frames, orientation }: Film): void {
  const [width, height] = layout === 'side-by-side' ? [2 * EYE, EYE] : [EYE, 2 * EYE];
  const film = Buffer.alloc(frames * width * height);
  for (let frame = 0; frame < frames; frame++) {
    // The world's vertical in camera axes: the middle row of camera→world.
    const up = orientation(frame)[1]!;
    for (const half of [0, 1] as const) {
      const [left, top] = layout === 'side-by-side' ? [half * EYE, 0] : [0, half * EYE];
      for (let row = 0; row < EYE; row++) {
        const latitude = 90 - ((row + 0.5) * 180) / EYE;
        const start = (frame * height + top + row) * width + left;
        for (let column = 0; column < EYE; column++) {
          const longitude = ((column + 0.5) * 180) / EYE - 90;
          film[start + column] = Math.round(brightness(frame, half, up, longitude, latitude));
        }
      }
    }
  }
  const size = `${width}x${height}`;
  const made = spawnSync(
    'ffmpeg',
    [
      ...['-v', 'error', '-y', '-f', 'rawvideo', '-pix_fmt', 'gray', '-s', size],
      ...['-r', '60000/1001', '-i', '-', '-pix_fmt', 'yuv420p', '-c:v', 'libvpx-vp9'],
      ...['-lossless', '1', '-cpu-used', '8', '-g', '10', path],
    ],
    { input: film, encoding: 'utf8', maxBuffer: film.length },
  );
  if (made.status !== 0) throw new Error(`ffmpeg made no movie: ${made.stderr}`);
}
