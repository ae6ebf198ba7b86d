import { UNIT_NORM, ZERO_NORM } from '../tolerances.js';

/** A norm this near to 1 is that of a computed rotation: its numbers stay, to the last bit. */
const COMPUTED_NORM = 1e-12;

/** Unit quaternions, or the first that is none. */
export type UnitQuaternions =
  | {
      /** Length 4n; a new array. */
      readonly quaternions: Float64Array;
      /** Largest departure of a norm from 1. */
      readonly departure: number;
    }
  | {
      /** Index of the first quaternion whose norm is too far from 1, or not finite. */
      readonly wrong: number;
      /** Its norm. */
      readonly norm: number;
    };

/**
 * Quaternions whose norms miss 1 by rounding, made unit ones; those within 1e-12 stay as they are.
 *
 * @param quaternions - x, y, z, w; length 4n
 * @returns unit quaternions; or which one's norm misses 1 by more than 0.01, of which whoever knows
 *   file and row makes a sentence
 * @example
 * unitQuaternions(Float64Array.of(0, 0, 0, 2)); // { wrong: 0, norm: 2 }
 */
export function unitQuaternions(quaternions: Float64Array): UnitQuaternions {
  const out = quaternions.slice();
  let departure = 0;
  for (let i = 0; i < out.length; i += 4) {
    const x = out[i]!;
    const y = out[i + 1]!;
    const z = out[i + 2]!;
    const w = out[i + 3]!;
    const norm = Math.sqrt(x * x + y * y + z * z + w * w);
    const off = Math.abs(norm - 1);
    // Written so that NaN is refused.
    if (!(off <= UNIT_NORM && norm > ZERO_NORM)) return { wrong: i / 4, norm };
    if (off <= COMPUTED_NORM) continue;
    if (off > departure) departure = off;
    out[i] = x / norm;
    out[i + 1] = y / norm;
    out[i + 2] = z / norm;
    out[i + 3] = w / norm;
  }
  return { quaternions: out, departure };
}
