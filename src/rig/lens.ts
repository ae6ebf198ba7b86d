/**
 * How an angle from the optical axis becomes a distance from the picture's middle, in focal
 * lengths: four classical laws, or r = θ (1 + c₁θ² + c₂θ⁴ + …).
 *
 * @see Kannala and Brandt, "A generic camera model and calibration method for conventional,
 *   wide-angle, and fish-eye lenses", IEEE PAMI 28(8), 2006, eqs. (2)–(6)
 */
export type LensMapping =
  | {
      /** r = θ, 2 sin(θ/2), 2 tan(θ/2) or sin θ. */
      readonly law: 'equidistant' | 'equisolid' | 'stereographic' | 'orthographic';
    }
  | {
      /** r = θ (1 + c₁θ² + c₂θ⁴ + …). */
      readonly law: 'polynomial';
      /** c₁, c₂, …, for θ in rad. */
      readonly coefficients: readonly number[];
    };

/**
 * Distance from the middle of the picture, focal lengths.
 *
 * @param mapping - the lens's law
 * @param angle - from the optical axis, rad, 0 to the lens's half field
 * @example
 * imageRadius({ law: 'equisolid' }, Math.PI / 2); // 1.4142 focal lengths
 */
export function imageRadius(mapping: LensMapping, angle: number): number {
  switch (mapping.law) {
    case 'equidistant':
      return angle;
    case 'equisolid':
      return 2 * Math.sin(angle / 2);
    case 'stereographic':
      return 2 * Math.tan(angle / 2);
    case 'orthographic':
      return Math.sin(angle);
    case 'polynomial': {
      const square = angle * angle;
      const series = mapping.coefficients.reduceRight((sum, c) => (sum + c) * square, 0);
      return angle * (1 + series);
    }
  }
}

/**
 * The angle from the optical axis that a distance from the picture's middle stands for, by bisection.
 *
 * @param mapping - the lens's law
 * @param radius - focal lengths, from 0 to the radius of `limit`
 * @param limit - half field of the lens, rad
 * @returns rad, exact to rounding
 * @example
 * angleOfRadius({ law: 'equisolid' }, Math.SQRT2, 1.7); // 1.5708 rad
 */
export function angleOfRadius(mapping: LensMapping, radius: number, limit: number): number {
  let low = 0;
  let high = limit;
  // Each step halves an interval of at most π: 53 steps reach the last place.
  for (let step = 0; step < 53; step++) {
    const middle = (low + high) / 2;
    if (imageRadius(mapping, middle) < radius) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Where an eye's picture lies on its pixels. */
export interface ImageCircle {
  /** Middle of the circle, pixels from the left and from the top edge of the picture. */
  readonly centrePx: readonly [number, number];
  /** Diameter of the circle of the full field, pixels. */
  readonly diameterPx: number;
}

/**
 * The direction that a point of an eye's picture shows.
 *
 * @param point - pixels from the left and from the top edge
 * @param lens - its field, degrees across, and its law
 * @param circle - where the full field lies in the picture
 * @returns unit vector in the eye's own axes
 * @example
 * const circle = { centrePx: [1000, 1000], diameterPx: 2000 } as const;
 * const lens = { fieldDeg: 180, mapping: { law: 'equidistant' } } as const;
 * directionOfPoint([2000, 1000], lens, circle); // [1, 0, 0], at the right edge
 */
export function directionOfPoint(
  point: readonly [number, number],
  lens: { readonly fieldDeg: number; readonly mapping: LensMapping },
  circle: ImageCircle,
): [number, number, number] {
  const half = (lens.fieldDeg * Math.PI) / 360;
  const edge = imageRadius(lens.mapping, half);
  const right = ((point[0] - circle.centrePx[0]) * 2 * edge) / circle.diameterPx;
  const up = (-(point[1] - circle.centrePx[1]) * 2 * edge) / circle.diameterPx;
  const radius = Math.hypot(right, up);
  if (radius === 0) return [0, 0, -1];
  const angle = angleOfRadius(lens.mapping, radius, half);
  const s = Math.sin(angle) / radius;
  return [s * right, s * up, -Math.cos(angle)];
}
