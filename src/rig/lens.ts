/**
 * How an angle from the optical axis becomes a distance from the picture's middle, in focal
 * lengths: four classical laws, or r = θ (1 + c₁θ² + c₂θ⁴ + …).
 *
 * @see Kannala and Brandt, "A generic camera model and calibration method for conventional,
 *   wide-angle, and fish-eye lenses", IEEE PAMI 28(8), 2006, eqs. (2)–(6)
 */
export type LensMapping =
  | { readonly law: 'equidistant' | 'equisolid' | 'stereographic' | 'orthographic' }
  | { readonly law: 'polynomial'; readonly coefficients: readonly number[] };

/**
 * Distance from the middle of the picture, focal lengths.
 *
 * @param angle - from the optical axis, rad, 0 to the lens's half field
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
