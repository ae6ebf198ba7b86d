/**
 * What a correction Exp(e) may do at each sample, radians, above zero; infinite where nothing is
 * asked.
 */
export interface CorrectionLimit {
  /** Its angle, |e|. */
  readonly total: Float64Array;
  /** Its parts about the camera's x, y and z axis: tilt, heading, roll. */
  readonly axes?: readonly [Float64Array, Float64Array, Float64Array];
  /** How far the optical axis may turn, √(e_x² + e_y²): what the lens covers. */
  readonly swing?: Float64Array;
  /** How far the line between the lenses may turn, √(e_y² + e_z²): what the two eyes bear. */
  readonly baseline?: Float64Array;
}

/** A bound on the length of some components of each correction. */
export interface Bound {
  /** Which of the components x, y, z. */
  readonly parts: readonly (0 | 1 | 2)[];
  /** Largest length at each sample, rad; may be infinite. */
  readonly most: Float64Array;
}

/** Every limit as a bound on a length. */
export function boundsOf({ total, axes, swing, baseline }: CorrectionLimit): Bound[] {
  return [
    { parts: [0, 1, 2], most: total },
    ...(axes ?? []).map((most, part) => ({ parts: [part as 0 | 1 | 2], most })),
    ...(swing ? [{ parts: [0, 1] as const, most: swing }] : []),
    ...(baseline ? [{ parts: [1, 2] as const, most: baseline }] : []),
  ];
}

/** Length of the bounded components of a correction as a share of the bound. */
export function fractionOfBound(e: Float64Array, k: number, { parts, most }: Bound): number {
  let square = 0;
  for (const part of parts) square += e[3 * k + part]! ** 2;
  return Math.sqrt(square) / most[k]!;
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
    ...(swing && { swing: tighter(swing) }),
    ...(baseline && { baseline: tighter(baseline) }),
  };
}
