import type { CorrectionResult } from '../../src/correct.js';
import type { StereoFrame } from '../../src/picture.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';
import { resultOf } from '../../test/handoff/results.js';

/** A size that the table has a row for. */
export interface Film {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly pixels: string;
}

export const FILMS: Readonly<Record<string, Film>> = {
  '4096x2048': { widthPx: 4096, heightPx: 2048, pixels: 'yuv420p' },
  '8192x4096': { widthPx: 8192, heightPx: 4096, pixels: 'yuv420p' },
  '8192x4096-10': { widthPx: 8192, heightPx: 4096, pixels: 'yuv420p10le' },
};

/** Turns of up to 3° on each axis, another one in each frame. */
export function shaken(frames: number): CorrectionResult {
  const degree = Math.PI / 180;
  const corrections = Array.from(
    { length: frames },
    (_, k): Quaternion =>
      quaternionFromHeadingTiltRoll(
        3 * degree * Math.cos(0.8 * k),
        3 * degree * Math.sin(0.8 * k),
        2 * degree * Math.sin(0.5 * k + 1),
      ),
  );
  return resultOf({ intended: corrections.map(() => [0, 0, 0, 1]), corrections, first: 0 });
}

/** A half-equirect pair. */
export function frameOf({ widthPx, heightPx }: Film): StereoFrame {
  const eye = { projection: 'half-equirect' } as const;
  return { widthPx, heightPx, layout: 'side-by-side', left: eye, right: eye };
}

/** Some picture: codes that change from sample to sample, within the range. */
export function someFrame(bytes: number, tenBits: boolean): Uint8Array {
  const frame = new Uint8Array(new SharedArrayBuffer(bytes));
  for (let i = 0; i < bytes; i++)
    frame[i] = tenBits && i % 2 === 1 ? (i >> 9) & 3 : (i * 7 + (i >> 9)) & 255;
  return frame;
}
