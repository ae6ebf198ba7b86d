/**
 * The same operations as the single-rotation files, over whole tracks: one flat array of n
 * quaternions (length 4n, x, y, z, w) or n vectors (length 3n). The loops are written out over
 * the flat arrays because a call per element costs three to twenty times the arithmetic.
 */
import { TwinkeelError } from '../error.js';
import { ZERO_NORM } from '../tolerances.js';
import type { Quaternion, Vector3 } from './quaternion.js';
import { angleOverHalfSine, halfCosine, halfSineOverAngle } from './rotationVector.js';

/**
 * The k-th quaternion of a flat array.
 *
 * @param quaternions - x, y, z, w; length 4n
 * @param k - index from 0, below n
 * @example
 * quaternionAt(Float64Array.of(0, 0, 0, 1, 0, 0.6, 0, 0.8), 1); // [0, 0.6, 0, 0.8]
 */
export function quaternionAt(quaternions: Float64Array, k: number): Quaternion {
  const i = 4 * k;
  return [quaternions[i]!, quaternions[i + 1]!, quaternions[i + 2]!, quaternions[i + 3]!];
}

/**
 * The k-th vector of a flat array.
 *
 * @param vectors - x, y, z; length 3n
 * @param k - index from 0, below n
 * @example
 * vectorAt(Float64Array.of(1, 2, 3, 4, 5, 6), 1); // [4, 5, 6]
 */
export function vectorAt(vectors: Float64Array, k: number): Vector3 {
  const i = 3 * k;
  return [vectors[i]!, vectors[i + 1]!, vectors[i + 2]!];
}

/**
 * Products aₖ bₖ of two lists of rotations; a single quaternion stands for n equal ones.
 *
 * @param a - unit quaternions, length 4n, or 4
 * @param b - unit quaternions, length 4n, or 4
 * @param out - receives the products, length 4n; may be `a` or `b`. A list that is used again saves the
 *   system's time for fresh memory, a third of the whole
 * @returns unit quaternions, length 4n
 * @throws TwinkeelError `argument/shape` when the lengths do not fit
 * @example
 * const turn = quaternionFromAxisAngle([0, 1, 0], 0.2);
 * anglesOfQuaternions(composeQuaternions(turn, Float64Array.from(turn))); // [0.4] rad
 */
export function composeQuaternions(
  a: Float64Array | Quaternion,
  b: Float64Array | Quaternion,
  out: Float64Array = new Float64Array(Math.max(a.length, b.length)),
): Float64Array {
  const { length } = out;
  requireLength('left factors', a.length, length);
  requireLength('right factors', b.length, length);
  const n = wholeCount('products', length, 4);
  const stepA = a.length === length ? 4 : 0;
  const stepB = b.length === length ? 4 : 0;
  for (let k = 0; k < n; k++) {
    const i = 4 * k;
    const ia = stepA * k;
    const ib = stepB * k;
    const ax = a[ia]!;
    const ay = a[ia + 1]!;
    const az = a[ia + 2]!;
    const aw = a[ia + 3]!;
    const bx = b[ib]!;
    const by = b[ib + 1]!;
    const bz = b[ib + 2]!;
    const bw = b[ib + 3]!;
    out[i] = aw * bx + ax * bw + (ay * bz - az * by);
    out[i + 1] = aw * by + ay * bw + (az * bx - ax * bz);
    out[i + 2] = aw * bz + az * bw + (ax * by - ay * bx);
    out[i + 3] = aw * bw - ax * bx - (ay * by + az * bz);
  }
  return out;
}

/**
 * Opposite rotations of a list, length 4n.
 *
 * @param quaternions - unit quaternions x, y, z, w; length 4n
 * @example
 * invertQuaternions(Float64Array.of(0, 0.6, 0, 0.8)); // [0, -0.6, 0, 0.8]
 */
export function invertQuaternions(quaternions: Float64Array): Float64Array {
  const out = new Float64Array(4 * wholeCount('rotations', quaternions.length, 4));
  for (let i = 0; i < out.length; i += 4) {
    out[i] = -quaternions[i]!;
    out[i + 1] = -quaternions[i + 1]!;
    out[i + 2] = -quaternions[i + 2]!;
    out[i + 3] = quaternions[i + 3]!;
  }
  return out;
}

/**
 * Unit quaternions along the given ones.
 *
 * @param quaternions - x, y, z, w; length 4n
 * @returns unit quaternions, length 4n
 * @throws TwinkeelError `rotation/no-direction` naming the first index without a direction
 * @example
 * normalizeQuaternions(Float64Array.of(0, 3, 0, 4)); // [0, 0.6, 0, 0.8]
 */
export function normalizeQuaternions(quaternions: Float64Array): Float64Array {
  const out = new Float64Array(4 * wholeCount('rotations', quaternions.length, 4));
  for (let i = 0; i < out.length; i += 4) {
    const x = quaternions[i]!;
    const y = quaternions[i + 1]!;
    const z = quaternions[i + 2]!;
    const w = quaternions[i + 3]!;
    const norm = Math.sqrt(x * x + y * y + z * z + w * w);
    if (!(norm > ZERO_NORM && norm < Number.POSITIVE_INFINITY)) {
      throw new TwinkeelError('rotation/no-direction', {
        frame: i / 4,
        found: `the quaternion (${x}, ${y}, ${z}, ${w})`,
        expected: 'four finite numbers that are not all zero',
        remedy: 'leave the sample out',
      });
    }
    out[i] = x / norm;
    out[i + 1] = y / norm;
    out[i + 2] = z / norm;
    out[i + 3] = w / norm;
  }
  return out;
}

/**
 * The same rotations with signs chosen so that neighbours lie within 90° of each other in four
 * dimensions and the first has w ≥ 0: a sign-continuous track.
 *
 * @param quaternions - x, y, z, w; length 4n
 * @returns a copy, length 4n
 * @example
 * alignSigns(Float64Array.of(0, 0, 0, 1, 0, -0.6, 0, -0.8)); // [0, 0, 0, 1, 0, 0.6, 0, 0.8]
 */
export function alignSigns(quaternions: Float64Array): Float64Array {
  wholeCount('rotations', quaternions.length, 4);
  const out = quaternions.slice();
  alignSignsInPlace(out);
  return out;
}

/** {@link alignSigns} for a list that nobody else holds yet. */
export function alignSignsInPlace(out: Float64Array): void {
  let px = 0;
  let py = 0;
  let pz = 0;
  let pw = 1;
  for (let i = 0; i < out.length; i += 4) {
    const x = out[i]!;
    const y = out[i + 1]!;
    const z = out[i + 2]!;
    const w = out[i + 3]!;
    const sign = px * x + py * y + pz * z + pw * w < 0 ? -1 : 1;
    // Adding zero turns −0 into 0, so that text holds every bit of a track.
    px = sign * x + 0;
    py = sign * y + 0;
    pz = sign * z + 0;
    pw = sign * w + 0;
    out[i] = px;
    out[i + 1] = py;
    out[i + 2] = pz;
    out[i + 3] = pw;
  }
}

/**
 * Vectors turned by rotations, vₖ' = qₖ vₖ qₖ*; a single quaternion turns all of them.
 *
 * @param quaternions - unit quaternions, length 4n, or 4
 * @param vectors - length 3n
 * @param out - receives the turned vectors, length 3n; may be `vectors`
 * @returns turned vectors, length 3n
 * @throws TwinkeelError `argument/shape` when the lengths do not fit
 * @example
 * const toTheLeft = quaternionFromHeadingTiltRoll(Math.PI / 2, 0, 0);
 * rotateVectors(toTheLeft, Float64Array.of(0, 0, -1, 0, 1, 0)); // [-1, 0, 0, 0, 1, 0]
 */
export function rotateVectors(
  quaternions: Float64Array | Quaternion,
  vectors: Float64Array,
  out: Float64Array = new Float64Array(vectors.length),
): Float64Array {
  const n = wholeCount('vectors', vectors.length, 3);
  requireLength('rotations', quaternions.length, 4 * n);
  if (out.length !== vectors.length) {
    throw new TwinkeelError('argument/shape', {
      found: `room for ${out.length} numbers`,
      expected: `${vectors.length}, as many as there are in the vectors`,
      remedy: 'pass a list as long as the vectors, or leave it out',
    });
  }
  const step = quaternions.length === 4 * n ? 4 : 0;
  for (let k = 0; k < n; k++) {
    const i = 3 * k;
    const iq = step * k;
    const x = quaternions[iq]!;
    const y = quaternions[iq + 1]!;
    const z = quaternions[iq + 2]!;
    const w = quaternions[iq + 3]!;
    const vx = vectors[i]!;
    const vy = vectors[i + 1]!;
    const vz = vectors[i + 2]!;
    // v + 2w(u × v) + 2u × (u × v)
    const cx = 2 * (y * vz - z * vy);
    const cy = 2 * (z * vx - x * vz);
    const cz = 2 * (x * vy - y * vx);
    out[i] = vx + w * cx + (y * cz - z * cy);
    out[i + 1] = vy + w * cy + (z * cx - x * cz);
    out[i + 2] = vz + w * cz + (x * cy - y * cx);
  }
  return out;
}

/**
 * Rotation vectors (rad, length 3n) of a list of rotations, each of length 0 to π.
 *
 * @param quaternions - unit quaternions x, y, z, w; length 4n
 * @throws TwinkeelError `argument/shape` when the length is no multiple of four
 * @example
 * rotationVectorsFromQuaternions(Float64Array.of(0, 0.6, 0, 0.8)); // [0, 1.2870, 0] rad
 */
export function rotationVectorsFromQuaternions(quaternions: Float64Array): Float64Array {
  const n = wholeCount('rotations', quaternions.length, 4);
  const out = new Float64Array(3 * n);
  for (let i = 0, j = 0; j < out.length; i += 4, j += 3) {
    const sign = quaternions[i + 3]! < 0 ? -1 : 1;
    const x = sign * quaternions[i]!;
    const y = sign * quaternions[i + 1]!;
    const z = sign * quaternions[i + 2]!;
    const factor = angleOverHalfSine(Math.sqrt(x * x + y * y + z * z), sign * quaternions[i + 3]!);
    out[j] = x * factor;
    out[j + 1] = y * factor;
    out[j + 2] = z * factor;
  }
  return out;
}

/**
 * Unit quaternions (length 4n) of a list of rotation vectors (rad, length 3n).
 *
 * @param vectors - rotation vectors, rad; length 3n
 * @example
 * quaternionsFromRotationVectors(Float64Array.of(0, Math.PI / 2, 0)); // [0, 0.7071, 0, 0.7071]
 */
export function quaternionsFromRotationVectors(vectors: Float64Array): Float64Array {
  const n = wholeCount('rotation vectors', vectors.length, 3);
  const out = new Float64Array(4 * n);
  for (let i = 0, j = 0; i < out.length; i += 4, j += 3) {
    const x = vectors[j]!;
    const y = vectors[j + 1]!;
    const z = vectors[j + 2]!;
    const squared = x * x + y * y + z * z;
    const angle = Math.sqrt(squared);
    const s = halfSineOverAngle(angle, squared);
    out[i] = x * s;
    out[i + 1] = y * s;
    out[i + 2] = z * s;
    out[i + 3] = halfCosine(angle, squared);
  }
  return out;
}

/**
 * Heading, tilt and roll (rad, length n each) of a list, in the ranges of the single rotation.
 *
 * @param quaternions - unit quaternions x, y, z, w, camera→world; length 4n
 * @throws TwinkeelError `argument/shape` when the length is no multiple of four
 * @example
 * headingTiltRollFromQuaternions(Float64Array.of(0, 0.6, 0, 0.8)).heading; // [1.2870] rad
 */
export function headingTiltRollFromQuaternions(quaternions: Float64Array): {
  /** Rad in (−π, π]; positive turns left. */
  readonly heading: Float64Array;
  /** Rad in [−π/2, π/2]; positive looks up. */
  readonly tilt: Float64Array;
  /** Rad in (−π, π]; positive lowers the left side. */
  readonly roll: Float64Array;
} {
  const n = wholeCount('rotations', quaternions.length, 4);
  const heading = new Float64Array(n);
  const tilt = new Float64Array(n);
  const roll = new Float64Array(n);
  for (let k = 0, i = 0; k < n; k++, i += 4) {
    const x = quaternions[i]!;
    const y = quaternions[i + 1]!;
    const z = quaternions[i + 2]!;
    const w = quaternions[i + 3]!;
    const backX = 2 * (x * z + w * y);
    const backY = 2 * (y * z - w * x);
    const backZ = w * w - x * x - y * y + z * z;
    heading[k] = Math.atan2(backX, backZ);
    tilt[k] = Math.atan2(-backY, Math.sqrt(backX * backX + backZ * backZ));
    roll[k] = Math.atan2(2 * (x * y + w * z), w * w - x * x + y * y - z * z);
  }
  return { heading, tilt, roll };
}

/**
 * Unit quaternions (length 4n) of headings, tilts and rolls: the reverse of
 * {@link headingTiltRollFromQuaternions}.
 *
 * @param angles - rad, length n each, signs as there
 * @throws TwinkeelError `argument/shape` when the lengths differ
 * @example
 * const turn = Float64Array.of(Math.PI / 2);
 * const none = new Float64Array(1);
 * quaternionsFromHeadingTiltRoll({ heading: turn, tilt: none, roll: none }); // [0, 0.7071, 0, 0.7071]
 */
export function quaternionsFromHeadingTiltRoll({
  heading,
  tilt,
  roll,
}: {
  /** Rad; positive turns left. */
  readonly heading: Float64Array;
  /** Rad; positive looks up. */
  readonly tilt: Float64Array;
  /** Rad; positive lowers the left side. */
  readonly roll: Float64Array;
}): Float64Array {
  const n = heading.length;
  if (tilt.length !== n || roll.length !== n) {
    throw new TwinkeelError('argument/shape', {
      found: `${n} headings, ${tilt.length} tilts and ${roll.length} rolls`,
      expected: 'as many of each',
      remedy: 'pass lists of equal length',
    });
  }
  const out = new Float64Array(4 * n);
  for (let k = 0, i = 0; i < out.length; k++, i += 4) {
    const ch = Math.cos(heading[k]! / 2);
    const sh = Math.sin(heading[k]! / 2);
    const ct = Math.cos(tilt[k]! / 2);
    const st = Math.sin(tilt[k]! / 2);
    const cr = Math.cos(roll[k]! / 2);
    const sr = Math.sin(roll[k]! / 2);
    out[i] = ch * st * cr + sh * ct * sr;
    out[i + 1] = sh * ct * cr - ch * st * sr;
    out[i + 2] = ch * ct * sr - sh * st * cr;
    out[i + 3] = ch * ct * cr + sh * st * sr;
  }
  return out;
}

/**
 * Angles (rad, 0 to π, length n) of the rotations of a list.
 *
 * @param quaternions - unit quaternions x, y, z, w; length 4n
 * @example
 * anglesOfQuaternions(Float64Array.of(0, 0, 0, 1, 0, 0.6, 0, 0.8)); // [0, 1.2870] rad
 */
export function anglesOfQuaternions(quaternions: Float64Array): Float64Array {
  const out = new Float64Array(wholeCount('rotations', quaternions.length, 4));
  for (let k = 0, i = 0; k < out.length; k++, i += 4) {
    const x = quaternions[i]!;
    const y = quaternions[i + 1]!;
    const z = quaternions[i + 2]!;
    out[k] = 2 * Math.atan2(Math.sqrt(x * x + y * y + z * z), Math.abs(quaternions[i + 3]!));
  }
  return out;
}

/**
 * Angles (rad, length n) between the orientations of two lists.
 *
 * @param a - unit quaternions x, y, z, w; length 4n
 * @param b - unit quaternions x, y, z, w; length 4n
 * @returns rad, 0 to π, length n
 * @throws TwinkeelError `argument/shape` when the lengths do not fit
 * @example
 * angularDistances(Float64Array.of(0, 0, 0, 1), Float64Array.of(0, 0.6, 0, 0.8)); // [1.2870] rad
 */
export function angularDistances(a: Float64Array, b: Float64Array): Float64Array {
  return anglesOfQuaternions(composeQuaternions(invertQuaternions(a), b));
}

/** How many rotations or vectors a list holds; refuses a part of one. */
function wholeCount(what: string, length: number, width: 3 | 4): number {
  if (length % width === 0) return length / width;
  throw new TwinkeelError('argument/shape', {
    found: `${length} numbers as ${what}`,
    expected: `${width === 3 ? 'three' : 'four'} for each`,
    remedy: 'pass whole lists',
  });
}

function requireLength(what: string, length: number, longest: number): void {
  if (length % 4 !== 0 || (length !== longest && length !== 4)) {
    throw new TwinkeelError('argument/shape', {
      found: `${length} numbers as ${what}`,
      expected: `${longest} (four per rotation), or four for one rotation`,
      remedy: 'pass lists of equal length',
    });
  }
}
