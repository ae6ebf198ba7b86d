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

type Triple = [number, number, number];

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
  // The row's derivatives along a curve: k₁s′, k₂s′² + k₁s″ and k₃s′³ + k₁₂s′s″ + k₁s‴; a picture of the
  // lens is two of its edges high.
  const bounds = new Float64Array(3);
  derivatives(edge, reach, 1, 0, 0, bounds);
  const [k1, k2, k3] = [...bounds].map((bound) => bound / (2 * law.edge)) as Triple;
  derivatives(edge, reach, 1, 1, 0, bounds);
  const k12 = bounds[2]! / (2 * law.edge) - k3;
  return (rows) => {
    const { turn, jump } = turnsOf(rows);
    const r1 = 2 * turn;
    const r2 = 4 * turn ** 2 + 2 * turn ** 2;
    const r3 = 12 * turn ** 3 + 12 * turn ** 3;
    return {
      enlarge: (speeds, from) => {
        const [d1, d2, d3] = [speeds[from]!, speeds[from + 1]!, speeds[from + 2]!];
        // s′ ≤ r₁g′ + d₁ and so on, where the row g holds s again: solved for s.
        const rest = 1 - r1 * k1;
        if (!(rest > 0)) {
          speeds.fill(Number.POSITIVE_INFINITY, from, from + 3);
          return;
        }
        const s1 = d1 / rest;
        const g1 = k1 * s1;
        const s2 = (r2 * g1 * g1 + r1 * k2 * s1 * s1 + 2 * r1 * g1 * d1 + d2) / rest;
        const g2 = k2 * s1 * s1 + k1 * s2;
        const known =
          r3 * g1 ** 3 +
          3 * r2 * g1 * g2 +
          r1 * (k3 * s1 ** 3 + k12 * s1 * s2) +
          3 * (r2 * g1 * g1 + r1 * g2) * d1 +
          3 * r1 * g1 * d2 +
          d3;
        speeds[from] = s1;
        speeds[from + 1] = s2;
        speeds[from + 2] = known / rest;
      },
      jumps: (seen, rows) => {
        const middle = heightOf(seen, law);
        const first = Math.max(0, Math.ceil((middle - rows) * ROW_BANDS - 0.5));
        const last = Math.min(ROW_BANDS - 1, Math.floor((middle + rows) * ROW_BANDS - 0.5));
        let sum = 0;
        for (let band = first; band <= last; band++) sum += jump[band]!;
        return sum;
      },
      rowsPerPixel: (speed) => k1 * speed,
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
