import { composeQuaternions, invertQuaternions, rotateVectors } from '../rotation/arrays.js';
import type { Quaternion } from '../rotation/quaternion.js';

/** How a camera hangs, from where gravity points in its picture. */
export interface MountGuess {
  /** `undecided` where samples disagree or the camera looks steeply up or down. */
  readonly mount: 'upright' | 'inverted' | 'undecided';
  /** Agreement of the samples, 0 to 1. */
  readonly confidence: number;
}

/** Half a turn about the optical axis: what an inverted mount does to each eye's picture. */
export const HALF_TURN: Quaternion = [0, 0, 1, 0];

/** Looking up or down more steeply than 69.5°, the vertical says little about roll (sine of the angle). */
const LEAST_SINE = 0.35;
/** Agreement and share of usable samples below which nothing is decided (our judgement). */
const LEAST_CONFIDENCE = 0.6;
const LEAST_USABLE = 0.5;

/**
 * Whether a camera is mounted upside down: the mean of cos(roll), each sample weighted by how
 * clearly the vertical shows across its picture.
 *
 * @param quaternions - camera→world in a world whose vertical is known
 * @example
 * detectMount(track.quaternions).mount; // 'upright'
 */
export function detectMount(quaternions: Float64Array): MountGuess {
  const n = quaternions.length / 4;
  const vertical = Float64Array.from({ length: 3 * n }, (_, i) => (i % 3 === 1 ? 1 : 0));
  const up = rotateVectors(invertQuaternions(quaternions), vertical);
  let sum = 0;
  let total = 0;
  let usable = 0;
  for (let k = 0; k < n; k++) {
    const sine = Math.hypot(up[3 * k]!, up[3 * k + 1]!);
    if (sine < LEAST_SINE) continue;
    usable++;
    // sine · cos(roll) is the upward part itself.
    sum += up[3 * k + 1]!;
    total += sine;
  }
  const confidence = total === 0 ? 0 : Math.abs(sum) / total;
  if (usable < LEAST_USABLE * n || confidence < LEAST_CONFIDENCE) {
    return { mount: 'undecided', confidence };
  }
  return { mount: sum < 0 ? 'inverted' : 'upright', confidence };
}

/**
 * The orientation of an upside-down camera once its picture is turned by 180°: C' = C Rz(180°).
 * The turn belongs together with exchanging the eyes: turned alone, near becomes far.
 *
 * @param quaternions - C, unit quaternions x, y, z, w, camera→world; length 4n
 * @returns C', length 4n
 * @example
 * detectMount(turnMount(track.quaternions)).mount; // 'inverted'
 */
export function turnMount(quaternions: Float64Array): Float64Array {
  return composeQuaternions(quaternions, HALF_TURN);
}
