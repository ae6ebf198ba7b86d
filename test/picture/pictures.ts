import type { CorrectionResult } from '../../src/correct.js';
import type { PixelFormat } from '../../src/picture/pixelFormat.js';
import { frameBytes, planesOf } from '../../src/picture/pixelFormat.js';
import type { EyeImage, StereoFrame } from '../../src/picture/stereoFrame.js';
import type { EyeLayout } from '../../src/rig/picture.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';
import { type ResultParts, resultOf } from '../handoff/results.js';

/** Half a sphere. */
export const HALF: EyeImage = { projection: 'half-equirect' };

/** A lens that a polynomial describes, off the middle of its picture, cut off above and below. */
export const LENS: EyeImage = {
  projection: 'fisheye',
  mapping: { law: 'polynomial', coefficients: [-0.02, 0.001] },
  fieldDeg: 190,
};

export const LEVEL: Quaternion = [0, 0, 0, 1];

/** Two frames with one correction, K. */
export const corrected = (k: Quaternion, more: Partial<ResultParts> = {}): CorrectionResult =>
  resultOf({ intended: [LEVEL, LEVEL], corrections: [k, k], ...more });

/** A frame of two eyes alike. */
export function frameOf(
  eye: EyeImage,
  eyePx: number,
  layout: EyeLayout = 'side-by-side',
): StereoFrame {
  const [widthPx, heightPx] = layout === 'side-by-side' ? [2 * eyePx, eyePx] : [eyePx, 2 * eyePx];
  return { widthPx, heightPx, layout, left: eye, right: eye };
}

/**
 * Waves of 7 to 20 samples, other ones in each plane and eye, of half the range: their slope stays below
 * a quarter of the range per sample.
 */
export function waves(frame: StereoFrame, format: PixelFormat): Uint8Array {
  const bytes = new Uint8Array(frameBytes(format, frame.widthPx, frame.heightPx));
  const range = 2 ** format.bits - 1;
  planesOf(format, frame.widthPx, frame.heightPx).forEach(({ offset, width, height }, p) => {
    for (let j = 0, i = 0; j < height; j++) {
      for (let column = 0; column < width; column++, i++) {
        const light =
          0.5 +
          0.13 * Math.sin(0.7 * column + 0.2 * p * j + p) +
          0.12 * Math.cos(0.3 * column - 0.6 * j + 2 * p);
        const code = Math.round(range * light);
        if (format.bytesPerSample === 1) bytes[offset + i] = code;
        else {
          bytes[offset + 2 * i] = code & 255;
          bytes[offset + 2 * i + 1] = code >> 8;
        }
      }
    }
  });
  return bytes;
}
