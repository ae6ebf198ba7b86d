import { clamp, RADIANS_PER_DEGREE } from '../math.js';
import { normalisedKernel, planConvolution } from '../numeric/convolution.js';
import {
  alignSigns,
  composeQuaternions,
  headingTiltRollFromQuaternions,
  invertQuaternions,
  normalizeQuaternions,
  quaternionAt,
  quaternionsFromHeadingTiltRoll,
  quaternionsFromRotationVectors,
  rotationVectorsFromQuaternions,
} from '../rotation/arrays.js';
import { headingTiltRollFromQuaternion } from '../rotation/headingTiltRoll.js';

/**
 * Heading, tilt and roll as three signals, radians, length n each: unwrapped, so that a turn of
 * 400° reads 400°, and meaningful at any attitude.
 */
export interface Coordinates {
  /** Rad; positive turns left. */
  readonly heading: Float64Array;
  /** Rad; positive looks up. */
  readonly tilt: Float64Array;
  /** Rad; positive lowers the left side. */
  readonly roll: Float64Array;
}

/** A slow path near the measured one, along which coordinates are unrolled. */
export interface ReferencePath {
  readonly quaternions: Float64Array;
  /** The path's own coordinates: its rates, summed up. */
  readonly coordinates: Coordinates;
  /** Body rotation vector per unit of (tilt, heading, roll), 3 × 3 row by row, length 9n. */
  readonly jacobians: Float64Array;
}

/** From this tilt on, heading, tilt and roll give way to the camera's own axes (our judgement). */
const ANGLES_END = { from: 60 * RADIANS_PER_DEGREE, to: 75 * RADIANS_PER_DEGREE };

/**
 * A slow path near the measured one: the mean of the quaternions under a Gaussian window, which
 * is nearer to the true mean rotation than one tangent step and costs a tenth of it.
 *
 * @param quaternions - sign-continuous, evenly sampled
 * @param deviation - of the Gaussian, samples
 */
export function gaussianMeanPath(quaternions: Float64Array, deviation: number): Float64Array {
  const half = Math.ceil(4 * deviation);
  const kernel = normalisedKernel(
    Float64Array.from({ length: 2 * half + 1 }, (_, i) =>
      Math.exp(-0.5 * ((i - half) / deviation) ** 2),
    ),
  );
  const n = quaternions.length / 4;
  const out = new Float64Array(quaternions.length);
  const component = (c: number) => {
    const values = new Float64Array(n);
    for (let k = 0; k < n; k++) values[k] = quaternions[4 * k + c]!;
    return values;
  };
  const means = planConvolution(kernel, 'hold', n)(
    component(0),
    component(1),
    component(2),
    component(3),
  );
  means.forEach((mean, c) => {
    for (let k = 0; k < n; k++) out[4 * k + c] = mean[k]!;
  });
  return alignSigns(normalizeQuaternions(out));
}

/**
 * Unrolls a path: the body rotation from each sample to the next is written as rates of heading,
 * tilt and roll and summed up. Within 60° of the horizon that is what the angles do; beyond 75°
 * the rates are those about the camera's own axes, so nothing is singular at the zenith.
 *
 * @param quaternions - a slow path, sign-continuous, length 4n
 */
export function unrollPath(quaternions: Float64Array): ReferencePath {
  const n = quaternions.length / 4;
  const jacobians = new Float64Array(9 * n);
  // The chart may only change where the angles have no say, so that the rates stay continuous.
  // `beyond` the zenith the mirrored one holds; `side` says on which side of it the path came in.
  let beyond = false;
  let side = 1;
  for (let k = 0; k < n; k++) {
    const { tilt, roll } = headingTiltRollFromQuaternion(quaternionAt(quaternions, k));
    if (k === 0) beyond = Math.abs(roll) > Math.PI / 2;
    if (Math.abs(tilt) >= ANGLES_END.to) beyond = side * Math.cos(roll) < 0;
    if (Math.abs(tilt) <= ANGLES_END.from) side = Math.cos(roll) < 0 === beyond ? 1 : -1;
    jacobians.set(rateJacobian(tilt, roll, beyond, side), 9 * k);
  }
  const coordinates = newCoordinates(n);
  const steps = rotationVectorsFromQuaternions(
    composeQuaternions(
      invertQuaternions(quaternions.subarray(0, 4 * (n - 1))),
      quaternions.subarray(4),
    ),
  );
  const { heading, tilt, roll } = headingTiltRollFromQuaternion(quaternionAt(quaternions, 0));
  coordinates.heading[0] = heading;
  coordinates.tilt[0] = tilt;
  coordinates.roll[0] = roll;
  const mean = new Float64Array(9);
  for (let k = 1; k < n; k++) {
    for (let i = 0; i < 9; i++) {
      mean[i] = 0.5 * (jacobians[9 * (k - 1) + i]! + jacobians[9 * k + i]!);
    }
    const i = 3 * (k - 1);
    const [dTilt, dHeading, dRoll] = solve3(mean, 0, steps[i]!, steps[i + 1]!, steps[i + 2]!);
    coordinates.heading[k] = coordinates.heading[k - 1]! + dHeading;
    coordinates.tilt[k] = coordinates.tilt[k - 1]! + dTilt;
    coordinates.roll[k] = coordinates.roll[k - 1]! + dRoll;
  }
  return { quaternions, coordinates, jacobians };
}

/** Heading, tilt and roll themselves, unwrapped: for a camera that never looks steeply. */
export function anglesOf(quaternions: Float64Array): Coordinates {
  const angles = headingTiltRollFromQuaternions(quaternions);
  return { heading: unwrapped(angles.heading), tilt: angles.tilt, roll: unwrapped(angles.roll) };
}

/** The orientations with the given angles, the inverse of {@link anglesOf}. */
export function orientationsOfAngles(coordinates: Coordinates): Float64Array {
  return alignSigns(quaternionsFromHeadingTiltRoll(coordinates));
}

function unwrapped(angles: Float64Array): Float64Array {
  let turns = 0;
  return angles.map((angle, k) => {
    if (k > 0) turns -= Math.round((angle - angles[k - 1]!) / (2 * Math.PI));
    return angle + 2 * Math.PI * turns;
  });
}

/** Coordinates of a track near the path: the path's own plus the small rotation off it. */
export function coordinatesAlong(path: ReferencePath, quaternions: Float64Array): Coordinates {
  const n = quaternions.length / 4;
  const off = rotationVectorsFromQuaternions(
    composeQuaternions(invertQuaternions(path.quaternions), quaternions),
  );
  const out = newCoordinates(n);
  for (let k = 0; k < n; k++) {
    const i = 3 * k;
    const [tilt, heading, roll] = solve3(path.jacobians, 9 * k, off[i]!, off[i + 1]!, off[i + 2]!);
    out.heading[k] = path.coordinates.heading[k]! + heading;
    out.tilt[k] = path.coordinates.tilt[k]! + tilt;
    out.roll[k] = path.coordinates.roll[k]! + roll;
  }
  return out;
}

/** The orientations that have the given coordinates near the path. */
export function orientationsAt(path: ReferencePath, coordinates: Coordinates): Float64Array {
  const n = path.quaternions.length / 4;
  const off = new Float64Array(3 * n);
  const J = path.jacobians;
  for (let k = 0; k < n; k++) {
    const tilt = coordinates.tilt[k]! - path.coordinates.tilt[k]!;
    const heading = coordinates.heading[k]! - path.coordinates.heading[k]!;
    const roll = coordinates.roll[k]! - path.coordinates.roll[k]!;
    for (let row = 0; row < 3; row++) {
      const j = 9 * k + 3 * row;
      off[3 * k + row] = J[j]! * tilt + J[j + 1]! * heading + J[j + 2]! * roll;
    }
  }
  return alignSigns(composeQuaternions(path.quaternions, quaternionsFromRotationVectors(off)));
}

/** Applies a function to each of the three signals. */
export function mapCoordinates(
  coordinates: Coordinates,
  each: (signal: Float64Array, axis: keyof Coordinates) => Float64Array,
): Coordinates {
  return {
    heading: each(coordinates.heading, 'heading'),
    tilt: each(coordinates.tilt, 'tilt'),
    roll: each(coordinates.roll, 'roll'),
  };
}

function newCoordinates(n: number): { [Key in keyof Coordinates]: Float64Array } {
  return { heading: new Float64Array(n), tilt: new Float64Array(n), roll: new Float64Array(n) };
}

/**
 * Body rates per rate of (tilt, heading, roll): ω = Rz(roll)ᵀ (tilt' eₓ + heading' Rx(tilt)ᵀ e_y)
 * + roll' e_z, blended into the identity towards the zenith. Past the zenith the arcsine chart
 * shows a roll beyond 90°; the mirrored chart (roll − 180°, heading reversed) keeps the
 * determinant positive there.
 */
function rateJacobian(
  tilt: number,
  shown: number,
  beyond: boolean,
  side: number,
): readonly number[] {
  const roll = beyond ? shown + Math.PI : shown;
  const share = (Math.abs(tilt) - ANGLES_END.from) / (ANGLES_END.to - ANGLES_END.from);
  const u = clamp(share, 0, 1);
  const b = side * u * u * (3 - 2 * u);
  const a = 1 - Math.abs(b);
  const c = Math.cos(roll);
  const s = Math.sin(roll);
  const ct = Math.cos(tilt);
  const st = Math.sin(tilt) * (beyond ? -1 : 1);
  return [a * c + b, a * s * ct, 0, -a * s, a * c * ct + b, 0, 0, -a * st, 1];
}

/** Solves the 3 × 3 system whose matrix starts at `offset`, by Cramer's rule. */
function solve3(
  m: Float64Array,
  offset: number,
  x: number,
  y: number,
  z: number,
): [number, number, number] {
  const a = m[offset]!;
  const b = m[offset + 1]!;
  const c = m[offset + 2]!;
  const d = m[offset + 3]!;
  const e = m[offset + 4]!;
  const f = m[offset + 5]!;
  const g = m[offset + 6]!;
  const h = m[offset + 7]!;
  const i = m[offset + 8]!;
  const ei = e * i - f * h;
  const fg = f * g - d * i;
  const dh = d * h - e * g;
  const determinant = a * ei + b * fg + c * dh;
  return [
    (x * ei + y * (c * h - b * i) + z * (b * f - c * e)) / determinant,
    (x * fg + y * (a * i - c * g) + z * (c * d - a * f)) / determinant,
    (x * dh + y * (b * g - a * h) + z * (a * e - b * d)) / determinant,
  ];
}
