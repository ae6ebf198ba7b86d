import { composeQuaternions } from '../rotation/arrays.js';
import type { Corrections } from '../track/corrections.js';
import type { StereoRig } from './stereoRig.js';

/**
 * The rotations for one lens: K A, where A is that lens's own fixed alignment, which comes first. Without a
 * rig, and where its lenses are not aligned apart, both get K, the same to the last bit.
 *
 * Lenses and not eyes are named: where a result says `swapEyes`, the picture of the right lens is shown to
 * the left eye.
 *
 * @param result - of `correct`, or corrections and the rig that they are for
 * @param eye - which lens
 * @returns unit quaternions x, y, z, w, length 4n, an array of its own; cost O(n)
 * @example
 * const left = eyeCorrections(result, 'left');
 * angularDistances(left, eyeCorrections(result, 'right'))[99]; // 0 rad, this rig's lenses stand alike
 */
export function eyeCorrections(
  result: { readonly corrections: Pick<Corrections, 'quaternions'>; readonly rig?: StereoRig },
  eye: 'left' | 'right',
): Float64Array {
  const { corrections, rig } = result;
  if (!rig) return corrections.quaternions.slice();
  return composeQuaternions(corrections.quaternions, rig.eyes[eye].alignment);
}
