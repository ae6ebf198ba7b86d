import type { Vector3 } from '../rotation/quaternion.js';

/**
 * What a correction S = C Exp(e) may do at each sample, radians, above zero; infinite where nothing
 * is asked.
 */
export interface CorrectionLimit {
  /** Its angle, |e|. */
  readonly total: Float64Array;
  /** Its parts about the camera's x, y and z axis: tilt, heading, roll. */
  readonly axes?: readonly [Float64Array, Float64Array, Float64Array];
  /** How far optical axes may swing off the middle of the view: what each eye's picture covers. */
  readonly swing?: readonly SwingLimit[];
  /** How far the line between the lenses may turn, √(e_y² + e_z²): what the two eyes bear. */
  readonly baseline?: Float64Array;
}

/** How far one eye's optical axis may lie from the middle of the view. */
export interface SwingLimit {
  /** Where the axis points in the camera's axes, a unit vector; (0, 0, −1) for an eye without alignment. */
  readonly axis: Vector3;
  /** Largest angle to the middle of the view at each sample, rad; more than the axis is off by itself. */
  readonly most: Float64Array;
}

/** A bound on how far some components of each correction lie from a centre. */
export interface Bound {
  /** Which of the components x, y, z. */
  readonly parts: readonly (0 | 1 | 2)[];
  /** The centre's components at each sample, rad, one list for each of `parts`; zero when left out. */
  readonly centre?: readonly Float64Array[];
  /** Largest distance at each sample, rad, more than the centre's own from zero; may be infinite. */
  readonly most: Float64Array;
}

/**
 * Every limit as a bound on a length or distance.
 *
 * @param wanted - the corrections that are wanted, rotation vectors; their largest roll decides how
 *   much an axis that is off the camera's own must keep clear
 */
export function boundsOf(
  { total, axes, swing, baseline }: CorrectionLimit,
  wanted: Float64Array,
): Bound[] {
  return [
    { parts: [0, 1, 2], most: total },
    ...(axes ?? []).map((most, part) => ({ parts: [part as 0 | 1 | 2], most })),
    ...(swing ? swingBounds(swing, wanted) : []),
    ...(baseline ? [{ parts: [1, 2] as const, most: baseline }] : []),
  ];
}

/** Room for the roll beyond the largest that is wanted: this share of it, and rad. */
const ROLL_ROOM = { share: 0.05, more: 0.01 };

/**
 * Optical axes a that must stay within φ of the middle of the view f, as discs in e_x and e_y.
 *
 * K a = Exp(−e) a lies as far from f as a from Exp(e) f. That point lies off f by a tangent vector
 * r R(β) w with w = (−e_y, e_x), 0 ≤ r ≤ 1 (a turn of θ about an axis at an angle ψ to f moves it
 * by 2 asin(sin ψ sin(θ/2)) ≤ θ sin ψ) and tan β = e_z tan(θ/2)/θ: rolling makes it start off
 * sideways. With u the tangent vector of a, m long, and since on a sphere two points lie no further
 * apart than the tips of their tangent vectors,
 *
 *   angle(K a, f) ≤ |r w − R(−β) u| ≤ |r w − u| + 2 m sin(|β|/2).
 *
 * A disc |w − u| ≤ φ − 2 m sin(β/2) that holds zero holds r w with w. It is exact but for the last
 * term, 0.04° for an axis 1° off and 5° of roll. A bound on the roll, never felt by what is
 * wanted, keeps β down. Where that disc hardly holds zero, at which every search begins, |w| ≤ φ − m
 * is taken, which is enough whatever the roll.
 */
function swingBounds(swing: readonly SwingLimit[], wanted: Float64Array): Bound[] {
  const askew = swing.some(({ axis }) => axis[0] !== 0 || axis[1] !== 0);
  if (!askew) return swing.map(({ most }) => ({ parts: [0, 1] as const, most }));
  let largestRoll = 0;
  for (let i = 2; i < wanted.length; i += 3) {
    largestRoll = Math.max(largestRoll, Math.abs(wanted[i]!));
  }
  const roll = (1 + ROLL_ROOM.share) * largestRoll + ROLL_ROOM.more;
  const bounds = swing.map(({ axis: [x, y, z], most }): Bound => {
    const across = Math.hypot(x, y);
    if (across === 0) return { parts: [0, 1], most };
    const m = Math.atan2(across, -z);
    const widest = most.reduce((max, value) => Math.max(max, value), 0) + m;
    const sideways = 2 * m * Math.sin(sidewaysTurn(roll, widest) / 2);
    const offset = most.map((value) =>
      Number(value - sideways - m > LEAST_SHARE_OF_ROOM * (value - m)),
    );
    // w = u, that is −e_y = u_x and e_x = u_y.
    const centre = [(m * y) / across, (-m * x) / across].map((part) =>
      offset.map((taken) => taken * part),
    );
    return {
      parts: [0, 1],
      centre,
      most: most.map((value, k) => value - (offset[k] === 1 ? sideways : m)),
    };
  });
  return [...bounds, { parts: [2], most: new Float64Array(wanted.length / 3).fill(roll) }];
}

/** An offset disc must leave zero this share of the room that a centred one leaves (our judgement). */
const LEAST_SHARE_OF_ROOM = 0.2;

/** Largest β of a correction whose roll and swing are bounded, rad. */
function sidewaysTurn(roll: number, swing: number): number {
  const angle = Math.hypot(roll, swing);
  // β grows with the angle and ends at a right angle.
  return angle < Math.PI ? Math.atan((roll * Math.tan(angle / 2)) / angle) : Math.PI / 2;
}

/** How far of its way a correction has come to a bound: 1 on it, more beyond. */
function fractionOfBound(e: Float64Array, k: number, { parts, centre, most }: Bound): number {
  let square = 0;
  let along = 0;
  let offSquare = 0;
  for (let j = 0; j < parts.length; j++) {
    const value = e[3 * k + parts[j]!]!;
    const off = centre ? centre[j]![k]! : 0;
    square += value * value;
    along += value * off;
    offSquare += off * off;
  }
  if (offSquare === 0 || most[k] === Number.POSITIVE_INFINITY) return Math.sqrt(square) / most[k]!;
  // The share s ≥ 0 at which |s e − c| = most; zero lies inside.
  const inside = most[k]! * most[k]! - offSquare;
  return (Math.sqrt(along * along + square * inside) - along) / inside;
}

/** How far of its way each correction has come to the nearest of its bounds; length n. */
export function fractionsOfBounds(e: Float64Array, bounds: readonly Bound[]): Float64Array {
  const fractions = new Float64Array(e.length / 3);
  for (const bound of bounds) {
    for (let k = 0; k < fractions.length; k++) {
      fractions[k] = Math.max(fractions[k]!, fractionOfBound(e, k, bound));
    }
  }
  return fractions;
}

/** The same limit, tighter by a clearance, rad. */
export function withinBy(
  { total, axes, swing, baseline }: CorrectionLimit,
  clearance: number,
): CorrectionLimit {
  const tighter = (most: Float64Array) => most.map((value) => value - clearance);
  return {
    total: tighter(total),
    ...(axes && { axes: [tighter(axes[0]), tighter(axes[1]), tighter(axes[2])] as const }),
    ...(swing && { swing: swing.map(({ axis, most }) => ({ axis, most: tighter(most) })) }),
    ...(baseline && { baseline: tighter(baseline) }),
  };
}
