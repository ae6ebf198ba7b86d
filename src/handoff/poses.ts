import type { CorrectionResult } from '../correct.js';
import { alignSigns, composeQuaternions } from '../rotation/arrays.js';

/**
 * What a file of camera poses tells: where the corrected view looks (S), where the camera really
 * pointed (C), both camera→world, or the rotation between them (K, camera→view).
 */
export type Motion = 'intended' | 'measured' | 'correction';

/**
 * The orientations of one kind at every frame.
 *
 * @param result - of {@link index!correct}
 * @param motion - which of the three rotations
 * @returns unit quaternions x, y, z, w, sign-continuous; length 4n
 * @example
 * const measured = orientationsOf(result, 'measured');
 * angularDistances(measured, track.quaternions)[99]; // 0 rad
 */
export function orientationsOf(result: CorrectionResult, motion: Motion): Float64Array {
  const { intended, corrections } = result;
  switch (motion) {
    case 'intended':
      return intended.quaternions;
    case 'measured':
      // K = S⁻¹C, so C = S K.
      return alignSigns(composeQuaternions(intended.quaternions, corrections.quaternions));
    case 'correction':
      return corrections.quaternions;
  }
}

/**
 * The frame numbers of a result, counted from 0 where the track gave none.
 *
 * @returns length n
 * @example
 * framesOf(trimResult(result, 60, 62)); // [60, 61, 62]
 */
export function framesOf({ corrections }: Pick<CorrectionResult, 'corrections'>): Int32Array {
  return corrections.frames ?? Int32Array.from(corrections.times, (_, k) => k);
}
