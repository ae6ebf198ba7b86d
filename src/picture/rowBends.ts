import type { StereoRig } from '../rig/stereoRig.js';
import { fisheyeDerivatives } from './bends.js';
import { lensLaw } from './lensLaw.js';
import { ROW_BANDS } from './rays.js';

/**
 * What the rolling of a shutter adds to the bounds of a direction's derivatives: the direction decides
 * the row and the row the rotation.
 */
export interface RowBends {
  /** Enlarges bounds of the first three derivatives (at `from`, `from + 1`, `from + 2`) in place. */
  readonly enlarge: (speeds: Float64Array, from: number) => void;
  /**
   * Bound of the jump of the direction's derivative where one band ends and the next begins, times how
   * often that happens within a length.
   *
   * @param speed - bound of the first derivative
   * @param length - of the cell, pixels
   */
  readonly kinks: (speed: number, length: number) => number;
}

/** Rounds of the inequality; each shrinks what is missing by the turn per row, a few hundredths. */
const ROUNDS = 8;
/** How far beyond the edge of the field cells reach that hold some of it, rad. */
const BEYOND = 0.1;

/**
 * The bounds for one frame and lens. Between two bands the rotation is that of a straight line of
 * quaternions q: |R′| ≤ 2|q′|, |R″| ≤ 2|q″| + 2|q′|², |R‴| ≤ 2|q‴| + 6|q″||q′| with q″ ≤ 2|q′|² and
 * q‴ ≤ 6|q′|³ from keeping it at norm 1.
 *
 * @param rows - rotations of the bands
 */
export function rowBends(rows: Float64Array, rig: StereoRig): RowBends {
  const law = lensLaw(rig.lens.mapping, rig.lens.fieldDeg);
  let [turn, jump] = [0, 0];
  for (let i = 0; i + 4 < rows.length; i += 4) {
    let [step, change] = [0, 0];
    for (let d = 0; d < 4; d++) {
      const [q0, q1, q2] = [rows[i + d]!, rows[i + 4 + d]!, rows[i + 8 + d] ?? 0];
      step += (q1 - q0) ** 2;
      if (i + 8 < rows.length) change += (q2 - 2 * q1 + q0) ** 2;
    }
    turn = Math.max(turn, ROW_BANDS * Math.sqrt(step));
    jump = Math.max(jump, 2 * ROW_BANDS * Math.sqrt(change));
  }
  const r1 = 2 * turn;
  const r2 = 4 * turn ** 2 + 2 * turn ** 2;
  const r3 = 12 * turn ** 3 + 12 * turn ** 3;
  // The bounds grow with the angle: those a little beyond the field hold inside it.
  const edge = Float64Array.of(1, 0, 0);
  const reach = Math.max(0, law.halfField - Math.PI / 2) + BEYOND;
  const derivatives = fisheyeDerivatives(rig.lens.mapping);
  const row = new Float64Array(3);
  /** Bounds of the row's derivatives, from those of the direction; a row is 2 · edge of them high. */
  const rowOf = (s1: number, s2: number, s3: number) => {
    derivatives(edge, reach, s1, s2, s3, row);
    for (let k = 0; k < 3; k++) row[k] = row[k]! / (2 * law.edge);
  };
  return {
    enlarge: (speeds, from) => {
      const [d1, d2, d3] = [speeds[from]!, speeds[from + 1]!, speeds[from + 2]!];
      let [s1, s2, s3] = [d1, d2, d3];
      for (let round = 0; round < ROUNDS; round++) {
        rowOf(s1, s2, s3);
        const [g1, g2, g3] = [row[0]!, row[1]!, row[2]!];
        s1 = r1 * g1 + d1;
        s2 = r2 * g1 * g1 + r1 * g2 + 2 * r1 * g1 * d1 + d2;
        s3 =
          r3 * g1 ** 3 +
          3 * r2 * g1 * g2 +
          r1 * g3 +
          3 * (r2 * g1 * g1 + r1 * g2) * d1 +
          3 * r1 * g1 * d2 +
          d3;
      }
      speeds[from] = s1;
      speeds[from + 1] = s2;
      speeds[from + 2] = s3;
    },
    kinks: (speed, length) => {
      rowOf(speed, 0, 0);
      const rowsPerPixel = row[0]!;
      const bands = Math.floor(rowsPerPixel * length * ROW_BANDS) + 1;
      return jump * rowsPerPixel * bands;
    },
  };
}
