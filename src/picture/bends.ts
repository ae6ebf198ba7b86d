import type { LensMapping } from '../rig/lens.js';
import { addJets, type Jet, multiplyJets } from './jets.js';
import { lensLaw } from './lensLaw.js';
import { circleOf, type EyePicture } from './stereoFrame.js';

/** How a source's place bends while the direction moves along a curve. */
export interface Bends {
  /**
   * Bounds of the third derivatives of the place: how far the map can stray from a parabola.
   *
   * @param seen - middle of the cell's directions, unit
   * @param angle - how far the cell's directions lie from it at most, rad
   * @param first - bound of the direction's first derivative; `second` and `third` likewise
   * @param out - takes the bounds across and down, pixels
   */
  readonly third: (
    seen: Float64Array,
    angle: number,
    first: number,
    second: number,
    third: number,
    out: Float64Array,
  ) => void;
  /** Bound of the place's first derivative for a direction that moves at speed 1, pixels per rad. */
  readonly speed: (seen: Float64Array, angle: number) => number;
}

/** The bounds for one lens's picture. */
export function bendsOf(source: EyePicture): Bends {
  const { image } = source;
  if (image.projection !== 'fisheye') return equirectBends(source);
  const focal = circleOf(source).diameterPx / 2 / lensLaw(image.mapping, image.fieldDeg).edge;
  const derivatives = fisheyeDerivatives(image.mapping);
  const bounds = new Float64Array(3);
  return {
    third: (seen, angle, first, second, third, out) => {
      derivatives(seen, angle, first, second, third, bounds);
      out[0] = focal * bounds[2]!;
      out[1] = focal * bounds[2]!;
    },
    speed: (seen, angle) => {
      derivatives(seen, angle, 1, 0, 0, bounds);
      return focal * bounds[0]!;
    },
  };
}

/**
 * Longitude is the imaginary part of log ζ with ζ the direction seen from above, |ζ| = ρ:
 * (log ζ)‴ = ζ‴/ζ − 3ζ″ζ′/ζ² + 2(ζ′/ζ)³. Latitude is arcsin y, whose derivatives are 1/ρ, y/ρ³ and
 * (1 + 2y²)/ρ⁵, and |y′| ≤ ρ|s′| since s′ is square to s.
 */
function equirectBends({ widthPx, heightPx }: EyePicture): Bends {
  const [perTurn, perTilt] = [widthPx / Math.PI, heightPx / Math.PI];
  // The distance from the axis is the cosine of the latitude: it changes by less than the angle.
  const nearest = (seen: Float64Array, angle: number) =>
    Math.max(0, Math.sqrt(seen[0]! * seen[0]! + seen[2]! * seen[2]!) - angle);
  return {
    third: (seen, angle, first, second, third, out) => {
      const rho = nearest(seen, angle);
      const r2 = rho * rho;
      const y = Math.sqrt(1 - r2);
      const cubed = first * first * first;
      out[0] = perTurn * ((2 * cubed) / (r2 * rho) + (3 * first * second) / r2 + third / rho);
      out[1] = perTilt * (((1 + 2 * y * y) * cubed + 3 * y * first * second) / r2 + third / rho);
    },
    speed: (seen, angle) => Math.max(perTurn / nearest(seen, angle), perTilt),
  };
}

/**
 * Sharper bounds where both pictures are half-equirects and their verticals lie a small angle apart, as
 * they do after a steadying turn: without it both maps would be straight.
 *
 * Along a column the direction goes round a great circle with a constant moment n about the source's
 * vertical: longitude′ = n/ρ² and latitude″ = −y n²/ρ³, from which
 * |longitude‴| ≤ n (6y² + 2ρ²)/ρ⁴ and |latitude‴| ≤ n² (1/ρ² + 3y²/ρ⁴). Along a row it turns about the
 * view's vertical, which differs from the source's by a vector of length δ:
 * longitude′ = 1 + N/ρ² with N = δ_y − y (s·δ), and y and its derivatives change by no more than δ.
 *
 * @param level - cosine of the angle between the two verticals
 * @returns a function of the least distance ρ from the vertical; it writes bounds of the third derivatives
 *   along a row, longitude and latitude, then along a column
 */
export function levelBends(level: number): (rho: number, out: Float64Array) => void {
  const d = Math.sqrt(Math.max(0, 2 - 2 * level));
  const n = Math.sqrt(Math.max(0, 1 - level * level));
  return (rho, out) => {
    const r2 = rho * rho;
    const r4 = r2 * r2;
    const y = Math.sqrt(Math.max(0, 1 - r2));
    const n0 = (d * d) / 2 + y * d;
    const n1 = d * d + y * d;
    const n2 = 3 * d * d + y * d;
    const d1 = (2 * y * d) / r4;
    const d2 = (2 * d * d + 2 * y * d) / r4 + (8 * y * y * d * d) / (r4 * r2);
    out[0] = n2 / r2 + 2 * n1 * d1 + n0 * d2;
    out[1] = ((1 + 2 * y * y) * d ** 3) / (r4 * rho) + (3 * y * d * d) / (r2 * rho) + d / rho;
    out[2] = (n * (6 * y * y + 2 * r2)) / r4;
    out[3] = n * n * (1 / r2 + (3 * y * y) / r4);
  };
}

/** Entries of the table over the angle from the axis, 0 to π. */
const TABLE = 1024;

/**
 * The place is G(w)·(x, y) with w = cos θ and G = r/sin θ. For every law G is a power series in
 * 1 − w without negative terms (of a polynomial each term is), so its derivatives are largest at the
 * cell's largest angle; the rest is the rule of products, with |w′| ≤ sin θ |s′|.
 *
 * @returns a function that writes bounds of the place's first three derivatives, focal lengths
 */
export function fisheyeDerivatives(mapping: LensMapping) {
  const table = new Float64Array(4 * (TABLE + 1));
  for (let k = 0; k <= TABLE; k++) table.set(radiusOverSine(mapping, (Math.PI * k) / TABLE), 4 * k);
  return (
    seen: Float64Array,
    angle: number,
    first: number,
    second: number,
    third: number,
    out: Float64Array,
  ): void => {
    const across = Math.sqrt(seen[0]! * seen[0]! + seen[1]! * seen[1]!);
    const middle = Math.atan2(across, -seen[2]!);
    const [least, most] = [middle - angle, middle + angle];
    const place = Math.ceil((most / Math.PI) * TABLE);
    if (!(place < TABLE)) {
      out.fill(Number.POSITIVE_INFINITY);
      return;
    }
    const sine =
      least <= Math.PI / 2 && most >= Math.PI / 2
        ? 1
        : Math.max(Math.sin(Math.max(0, least)), Math.sin(most));
    const i = 4 * place;
    const g = table[i]!;
    const w1 = first * sine;
    const a1 = table[i + 1]! * w1;
    const a2 = table[i + 2]! * w1 * w1 + table[i + 1]! * second;
    const a3 =
      table[i + 3]! * w1 * w1 * w1 + 3 * table[i + 2]! * w1 * second + table[i + 1]! * third;
    out[0] = a1 * sine + g * first;
    out[1] = a2 * sine + 2 * a1 * first + g * second;
    out[2] = a3 * sine + 3 * a2 * first + 3 * a1 * second + g * third;
  };
}

/** Below this angle, rad, the closed forms lose digits; the derivatives only grow with the angle. */
const SMALL = 0.3;

/** Bounds of |dᵏG/dwᵏ| for k from 0 to 3 at an angle from the axis and nearer to it. */
function radiusOverSine(mapping: LensMapping, angle: number): Jet {
  const theta = Math.max(angle, SMALL);
  // The distance of cos θ from −1, halved: cos²(θ/2).
  const half = Math.cos(theta / 2) ** 2;
  switch (mapping.law) {
    case 'orthographic':
      return [1, 0, 0, 0];
    case 'equisolid':
      return [half ** -0.5, half ** -1.5 / 4, (3 / 16) * half ** -2.5, (15 / 64) * half ** -3.5];
    case 'stereographic':
      return [1 / half, 0.5 * half ** -2, 0.5 * half ** -3, 0.75 * half ** -4];
    case 'equidistant':
      return angleOverSine(theta);
    case 'polynomial': {
      const e = angleOverSine(theta);
      // d(θ²)/d(1 − w) = 2θ/sin θ.
      const square: Jet = [theta * theta, 2 * e[0], 2 * e[1], 2 * e[2]];
      const terms: (readonly [number, Jet])[] = [[1, e]];
      let power = e;
      for (const c of mapping.coefficients) {
        power = multiplyJets(power, square);
        terms.push([Math.abs(c), power]);
      }
      return addJets(terms);
    }
  }
}

/** E = θ/sin θ by 1 − w: from (1 − w²)E′ = wE − 1 and its derivatives. */
function angleOverSine(theta: number): Jet {
  const w = Math.cos(theta);
  const rest = Math.sin(theta) ** 2;
  const e = theta / Math.sin(theta);
  const e1 = (w * e - 1) / rest;
  const e2 = (3 * w * e1 + e) / rest;
  const e3 = (5 * w * e2 + 4 * e1) / rest;
  return [e, -e1, e2, -e3];
}
