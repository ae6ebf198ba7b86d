import { TwinkeelError } from '../error.js';
import { normalizeQuaternion, type Quaternion } from './quaternion.js';

/**
 * The weighted mean of rotations: the unit quaternion that maximises qᵀ(Σ wᵢ qᵢqᵢᵀ)q. Independent
 * of the sign of any input.
 *
 * @param quaternions - unit quaternions x, y, z, w; length 4n, n ≥ 1
 * @param weights - non-negative, length n; all 1 when left out
 * @returns unit quaternion x, y, z, w with w ≥ 0
 * @throws TwinkeelError `argument/shape` when the lengths do not fit, `argument/invalid` when no
 *   weight is positive
 * @see Markley, Cheng, Crassidis, Oshman, "Averaging quaternions", J. Guidance, Control, and
 *   Dynamics 30(4), 2007, eq. (12)
 * @example
 * meanQuaternion(Float64Array.of(0, 0, 0, 1, 0, 0.6, 0, 0.8)); // [0, 0.3162, 0, 0.9487]
 */
export function meanQuaternion(quaternions: Float64Array, weights?: Float64Array): Quaternion {
  const n = quaternions.length / 4;
  if (!Number.isInteger(n) || n === 0 || (weights !== undefined && weights.length !== n)) {
    throw new TwinkeelError('argument/shape', {
      found: `${quaternions.length} components${weights ? ` and ${weights.length} weights` : ''}`,
      expected: 'four components and one weight for each of at least one rotation',
      remedy: 'pass 4n components and n weights',
    });
  }
  const outer = new Float64Array(16);
  let total = 0;
  let least = 0;
  for (let k = 0; k < n; k++) {
    const weight = weights ? (weights[k] as number) : 1;
    total += weight;
    least = Math.min(least, weight);
    for (let i = 0; i < 4; i++) {
      const scaled = weight * (quaternions[4 * k + i] as number);
      for (let j = 0; j < 4; j++) {
        outer[4 * i + j]! += scaled * (quaternions[4 * k + j] as number);
      }
    }
  }
  if (!(total > 0 && least === 0)) {
    throw new TwinkeelError('argument/invalid', {
      found: least < 0 ? `a weight of ${least}` : `weights that add up to ${total}`,
      expected: 'at least one positive weight and none negative',
      remedy: 'check the weights',
    });
  }
  const q = normalizeQuaternion(largestEigenvector(outer));
  return q[3] < 0 ? [-q[0], -q[1], -q[2], -q[3]] : q;
}

/** Eigenvector of the largest eigenvalue of a symmetric 4 × 4 matrix, by cyclic Jacobi sweeps. */
function largestEigenvector(symmetric: Float64Array): Quaternion {
  const a = symmetric.slice();
  const v = new Float64Array(16);
  for (let i = 0; i < 4; i++) v[5 * i] = 1;
  // Cyclic Jacobi converges quadratically; a 4 × 4 needs at most five or six sweeps in double.
  for (let sweep = 0; sweep < 12; sweep++) {
    for (let p = 0; p < 3; p++) {
      for (let q = p + 1; q < 4; q++) rotateAway(a, v, p, q);
    }
  }
  let best = 0;
  for (let i = 1; i < 4; i++) if (a[5 * i]! > a[5 * best]!) best = i;
  return [v[best]!, v[4 + best]!, v[8 + best]!, v[12 + best]!];
}

/** One Jacobi rotation in the plane (p, q): zeroes a[p][q] and turns the eigenvectors along. */
function rotateAway(a: Float64Array, v: Float64Array, p: number, q: number): void {
  const off = a[4 * p + q]!;
  if (off === 0) return;
  const theta = (a[5 * q]! - a[5 * p]!) / (2 * off);
  const t = (theta < 0 ? -1 : 1) / (Math.abs(theta) + Math.sqrt(theta * theta + 1));
  const c = 1 / Math.sqrt(t * t + 1);
  const s = t * c;
  for (let k = 0; k < 4; k++) {
    const kp = a[4 * k + p]!;
    const kq = a[4 * k + q]!;
    a[4 * k + p] = c * kp - s * kq;
    a[4 * k + q] = s * kp + c * kq;
  }
  for (let k = 0; k < 4; k++) {
    const pk = a[4 * p + k]!;
    const qk = a[4 * q + k]!;
    a[4 * p + k] = c * pk - s * qk;
    a[4 * q + k] = s * pk + c * qk;
    const vp = v[4 * k + p]!;
    const vq = v[4 * k + q]!;
    v[4 * k + p] = c * vp - s * vq;
    v[4 * k + q] = s * vp + c * vq;
  }
}
