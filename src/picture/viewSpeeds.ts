import type { LensMapping } from '../rig/lens.js';
import {
  addJets,
  composeJets,
  cosOfRoot,
  inverseJet,
  type Jet,
  multiplyJets,
  reciprocalJet,
  sincOfRoot,
} from './jets.js';
import { lensLaw } from './lensLaw.js';
import { circleOf, type EyePicture } from './stereoFrame.js';

/**
 * Bounds of the first three derivatives of the direction that a point of the view shows, when the
 * point goes across (first three) and down (last three): rad, rad² and rad³ per pixel, so to speak.
 *
 * @param x - left edge of the cell, pixels
 * @param y - its upper edge
 */
export type ViewSpeeds = (
  x: number,
  y: number,
  width: number,
  height: number,
  out: Float64Array,
) => void;

/** The bounds for one eye's picture. */
export function viewSpeeds(target: EyePicture): ViewSpeeds {
  const { image } = target;
  return image.projection === 'fisheye'
    ? fisheyeSpeeds(target, image.mapping, image.fieldDeg)
    : equirectSpeeds(target);
}

/** Along a row the direction goes round a circle of radius cos(latitude), along a column round 1. */
function equirectSpeeds({ widthPx, heightPx }: EyePicture): ViewSpeeds {
  const [perColumn, perRow] = [Math.PI / widthPx, Math.PI / heightPx];
  return (_x, y, _width, height, out) => {
    const above = Math.PI / 2 - y * perRow;
    const below = above - height * perRow;
    const widest = above >= 0 && below <= 0 ? 1 : Math.max(Math.cos(above), Math.cos(below));
    for (let k = 0, [across, down] = [perColumn, perRow]; k < 3; k++) {
      out[k] = widest * across;
      out[3 + k] = down;
      across *= perColumn;
      down *= perRow;
    }
  };
}

/** Entries of the table over the radius of the circle. */
const TABLE = 1024;
/** Between two entries the bounds grow by less than this share; a test compares (our judgement). */
const BETWEEN = 1.02;

function fisheyeSpeeds(target: EyePicture, mapping: LensMapping, fieldDeg: number): ViewSpeeds {
  const law = lensLaw(mapping, fieldDeg);
  const { centrePx, diameterPx } = circleOf(target);
  const focal = diameterPx / 2 / law.edge;
  // Largest bound up to each radius, so that a cell asks for its furthest corner only.
  const table = new Float64Array(3 * (TABLE + 1));
  for (let k = 0; k <= TABLE; k++) {
    const radius = (law.edge * k) / TABLE;
    const speeds = speedsAt(radius, law.angle(radius), mapping);
    for (let d = 0; d < 3; d++) {
      const before = k > 0 ? table[3 * k + d - 3]! : 0;
      const here = BETWEEN * speeds[d]!;
      table[3 * k + d] = here >= before ? here : Number.isNaN(here) ? Infinity : before;
    }
  }
  return (x, y, width, height, out) => {
    const across = Math.max(Math.abs(x - centrePx[0]), Math.abs(x + width - centrePx[0]));
    const down = Math.max(Math.abs(y - centrePx[1]), Math.abs(y + height - centrePx[1]));
    const place = Math.ceil((Math.hypot(across, down) / focal / law.edge) * TABLE);
    for (let d = 0; d < 3; d++) {
      const bound = place > TABLE ? Infinity : table[3 * place + d]! / focal ** (d + 1);
      out[d] = bound;
      out[3 + d] = bound;
    }
  };
}

/**
 * Derivatives of a fisheye's direction along a straight line of the picture, focal lengths. With
 * m = r² the direction is (S(m)·point, −C(m)), S = sin θ / r and C = cos θ, which are smooth at the
 * middle too; along the line |m′| ≤ 2r and m″ = 2.
 */
function speedsAt(radius: number, angle: number, mapping: LensMapping): readonly number[] {
  const t = angle * angle;
  const ratio = radiusOverAngle(mapping, t);
  // m = t · ratio², so t by m is the inverse function.
  const square = multiplyJets(multiplyJets([t, 1, 0, 0], ratio), ratio);
  const tOfM = inverseJet(t, square);
  const s = composeJets(multiplyJets(sincOfRoot(t), reciprocalJet(ratio)), tOfM).map(Math.abs);
  const c = composeJets(cosOfRoot(t), tOfM).map(Math.abs);
  const r = radius;
  const [s0, s1, s2, s3] = s as unknown as Jet;
  const [, c1, c2, c3] = c as unknown as Jet;
  return [
    Math.hypot(2 * r * r * s1 + s0, 2 * r * c1),
    Math.hypot(4 * r ** 3 * s2 + 6 * r * s1, 4 * r * r * c2 + 2 * c1),
    Math.hypot(8 * r ** 4 * s3 + 24 * r * r * s2 + 6 * s1, 8 * r ** 3 * c3 + 12 * r * c2),
  ];
}

/** r/θ as a function of t = θ². */
function radiusOverAngle(mapping: LensMapping, t: number): Jet {
  switch (mapping.law) {
    case 'equidistant':
      return [1, 0, 0, 0];
    case 'orthographic':
      return sincOfRoot(t);
    case 'equisolid':
      return composeJets(sincOfRoot(t / 4), [t / 4, 1 / 4, 0, 0]);
    case 'stereographic': {
      const quarter: Jet = [t / 4, 1 / 4, 0, 0];
      const sinc = composeJets(sincOfRoot(t / 4), quarter);
      return multiplyJets(sinc, reciprocalJet(composeJets(cosOfRoot(t / 4), quarter)));
    }
    case 'polynomial':
      return addJets([
        [1, [1, 0, 0, 0]],
        ...mapping.coefficients.map((c, k) => [c, powerJet(t, k + 1)] as const),
      ]);
  }
}

function powerJet(t: number, n: number): Jet {
  const at = (k: number) => (k > n ? 0 : t ** (n - k));
  return [at(0), n * at(1), n * (n - 1) * at(2), n * (n - 1) * (n - 2) * at(3)];
}
