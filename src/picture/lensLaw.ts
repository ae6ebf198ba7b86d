import { angleOfRadius, imageRadius, type LensMapping } from '../rig/lens.js';

/** A lens's law as functions that the many points of a picture can afford. */
export interface LensLaw {
  /** Half of the field, rad. */
  readonly halfField: number;
  /** Distance from the middle at half the field, focal lengths. */
  readonly edge: number;
  /** Distance from the middle of the picture, focal lengths, of an angle from the axis, rad. */
  readonly radius: (angle: number) => number;
  /** The angle of a distance up to {@link edge}. */
  readonly angle: (radius: number) => number;
}

/**
 * A law over a field.
 *
 * @example
 * lensLaw({ law: 'equisolid' }, 180).edge; // 1.4142 focal lengths
 */
export function lensLaw(mapping: LensMapping, fieldDeg: number): LensLaw {
  const halfField = (fieldDeg * Math.PI) / 360;
  return {
    halfField,
    edge: imageRadius(mapping, halfField),
    radius: radiusOf(mapping),
    angle: angleOf(mapping, halfField),
  };
}

function radiusOf(mapping: LensMapping): (angle: number) => number {
  switch (mapping.law) {
    case 'equidistant':
      return (angle) => angle;
    case 'equisolid':
      return (angle) => 2 * Math.sin(angle / 2);
    case 'stereographic':
      return (angle) => 2 * Math.tan(angle / 2);
    case 'orthographic':
      return (angle) => Math.sin(angle);
    case 'polynomial': {
      const coefficients = [...mapping.coefficients].reverse();
      return (angle) => {
        const square = angle * angle;
        let series = 0;
        for (const c of coefficients) series = (series + c) * square;
        return angle * (1 + series);
      };
    }
  }
}

function angleOf(mapping: LensMapping, halfField: number): (radius: number) => number {
  switch (mapping.law) {
    case 'equidistant':
      return (radius) => radius;
    case 'equisolid':
      return (radius) => 2 * Math.asin(Math.min(1, radius / 2));
    case 'stereographic':
      return (radius) => 2 * Math.atan(radius / 2);
    case 'orthographic':
      return (radius) => Math.asin(Math.min(1, radius));
    case 'polynomial': {
      // Halving costs 53 evaluations; a table of them leaves two or three steps of Newton's.
      const radius = radiusOf(mapping);
      const edge = radius(halfField);
      const table = Float64Array.from({ length: TABLE + 1 }, (_, k) =>
        angleOfRadius(mapping, (edge * k) / TABLE, halfField),
      );
      return (wanted) => {
        const place = (wanted / edge) * TABLE;
        const k = Math.min(Math.max(Math.floor(place), 0), TABLE - 1);
        let angle = table[k]! + (place - k) * (table[k + 1]! - table[k]!);
        for (let step = 0; step < NEWTON_STEPS; step++) {
          const miss = radius(angle) - wanted;
          if (Math.abs(miss) < SETTLED) break;
          angle -= miss / slope(angle, mapping.coefficients);
        }
        return angle;
      };
    }
  }
}

/** Entries over the half field: straight lines between them miss by some 1e-6 rad. */
const TABLE = 512;
const NEWTON_STEPS = 8;
/** Focal lengths: a billionth of a pixel. */
const SETTLED = 1e-13;

/** dr/dθ = 1 + 3c₁θ² + 5c₂θ⁴ + … */
function slope(angle: number, coefficients: readonly number[]): number {
  const square = angle * angle;
  let sum = 0;
  for (let k = coefficients.length - 1; k >= 0; k--) {
    sum = (sum + (2 * k + 3) * coefficients[k]!) * square;
  }
  return 1 + sum;
}
