import type { StereoRig } from '../rig/stereoRig.js';
import { fisheyeDerivatives } from './bends.js';
import { lensLaw } from './lensLaw.js';
import { heightOf, ROW_BANDS } from './rays.js';

/**
 * What the rolling of a shutter adds to the bounds of a direction's derivatives: the direction decides
 * the row and the row the rotation.
 */
export interface RowBends {
  /** Enlarges bounds of the first three derivatives (at `from`, `from + 1`, `from + 2`) in place. */
  readonly enlarge: (speeds: Float64Array, from: number) => void;
  /**
   * How much the direction's derivative by the row jumps in sum, where within a cell one band ends and the
   * next begins; times the rows per pixel it is a jump of the direction's slope.
   *
   * @param seen - middle of the cell, in the lens's axes
   * @param rows - how far the cell's rows lie from that of its middle at most
   */
  readonly jumps: (seen: Float64Array, rows: number) => number;
  /** Bound of the rows per pixel, from one of the direction's first derivative. */
  readonly rowsPerPixel: (speed: number) => number;
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
 * @param rig - states the lens
 * @returns a function of the bands' rotations
 */
export function rowBends({ lens }: StereoRig): (rows: Float64Array) => RowBends {
  const law = lensLaw(lens.mapping, lens.fieldDeg);
  // The bounds grow with the angle: those a little beyond the field hold inside it.
  const edge = Float64Array.of(1, 0, 0);
  const reach = Math.max(0, law.halfField - Math.PI / 2) + BEYOND;
  const derivatives = fisheyeDerivatives(lens.mapping);
  const row = new Float64Array(3);
  /** Bounds of the row's derivatives, from those of the direction; a row is 2 · edge of them high. */
  const rowOf = (s1: number, s2: number, s3: number) => {
    derivatives(edge, reach, s1, s2, s3, row);
    for (let k = 0; k < 3; k++) row[k] = row[k]! / (2 * law.edge);
  };
  return (rows) => {
    const { turn, jump } = turnsOf(rows);
    const r1 = 2 * turn;
    const r2 = 4 * turn ** 2 + 2 * turn ** 2;
    const r3 = 12 * turn ** 3 + 12 * turn ** 3;
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
      jumps: (seen, rows) => {
        const middle = heightOf(seen, law);
        const first = Math.max(0, Math.ceil((middle - rows) * ROW_BANDS - 0.5));
        const last = Math.min(ROW_BANDS - 1, Math.floor((middle + rows) * ROW_BANDS - 0.5));
        let sum = 0;
        for (let band = first; band <= last; band++) sum += jump[band]!;
        return sum;
      },
      rowsPerPixel: (speed) => {
        rowOf(speed, 0, 0);
        return row[0]!;
      },
    };
  };
}

/** Largest turn per row, and how much that changes at the middle of each band; quaternions' lengths. */
function turnsOf(rows: Float64Array): { turn: number; jump: Float64Array } {
  const jump = new Float64Array(ROW_BANDS);
  let turn = 0;
  for (let i = 0; i + 4 < rows.length; i += 4) {
    let [step, change] = [0, 0];
    for (let d = 0; d < 4; d++) {
      const [q0, q1, q2] = [rows[i + d]!, rows[i + 4 + d]!, rows[i + 8 + d] ?? 0];
      step += (q1 - q0) ** 2;
      if (i + 8 < rows.length) change += (q2 - 2 * q1 + q0) ** 2;
    }
    turn = Math.max(turn, ROW_BANDS * Math.sqrt(step));
    jump[i / 4 + 1] = 2 * ROW_BANDS * Math.sqrt(change);
  }
  return { turn, jump };
}
