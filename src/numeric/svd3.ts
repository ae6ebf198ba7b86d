import { Matrix, SVD } from 'ml-matrix';

/** A 3 × 3 rotation, row by row. */
export type Rotation3 = readonly [
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
];

/**
 * Singular values of a 3 × 3 matrix in falling order, and its determinant, by Jacobi sweeps on AᵀA;
 * written out, since a search asks for hundreds of thousands.
 *
 * @param a - row by row
 */
export function singularValues3(a: Float64Array): {
  values: [number, number, number];
  determinant: number;
} {
  let m00 = a[0]! * a[0]! + a[3]! * a[3]! + a[6]! * a[6]!;
  let m11 = a[1]! * a[1]! + a[4]! * a[4]! + a[7]! * a[7]!;
  let m22 = a[2]! * a[2]! + a[5]! * a[5]! + a[8]! * a[8]!;
  let m01 = a[0]! * a[1]! + a[3]! * a[4]! + a[6]! * a[7]!;
  let m02 = a[0]! * a[2]! + a[3]! * a[5]! + a[6]! * a[8]!;
  let m12 = a[1]! * a[2]! + a[4]! * a[5]! + a[7]! * a[8]!;
  for (let sweep = 0; sweep < 5; sweep++) {
    if (m01 !== 0) {
      const { c, s, t } = jacobi(m00, m11, m01);
      m00 -= t * m01;
      m11 += t * m01;
      m01 = 0;
      [m02, m12] = [c * m02 - s * m12, s * m02 + c * m12];
    }
    if (m02 !== 0) {
      const { c, s, t } = jacobi(m00, m22, m02);
      m00 -= t * m02;
      m22 += t * m02;
      m02 = 0;
      [m01, m12] = [c * m01 - s * m12, s * m01 + c * m12];
    }
    if (m12 !== 0) {
      const { c, s, t } = jacobi(m11, m22, m12);
      m11 -= t * m12;
      m22 += t * m12;
      m12 = 0;
      [m01, m02] = [c * m01 - s * m02, s * m01 + c * m02];
    }
  }
  const values = [m00, m11, m22]
    .map((value) => Math.sqrt(Math.max(value, 0)))
    .sort((x, y) => y - x) as [number, number, number];
  const determinant =
    a[0]! * (a[4]! * a[8]! - a[5]! * a[7]!) -
    a[1]! * (a[3]! * a[8]! - a[5]! * a[6]!) +
    a[2]! * (a[3]! * a[7]! - a[4]! * a[6]!);
  return { values, determinant };
}

/** Cosine, sine and tangent of the rotation that zeroes the off-diagonal element between p and q. */
function jacobi(pp: number, qq: number, pq: number): { c: number; s: number; t: number } {
  const theta = (qq - pp) / (2 * pq);
  const t = (theta < 0 ? -1 : 1) / (Math.abs(theta) + Math.sqrt(theta * theta + 1));
  const c = 1 / Math.sqrt(t * t + 1);
  return { c, s: t * c, t };
}

/**
 * The rotation C that maximises trace(Cᵀ H): the answer to Wahba's problem for H = Σ v gᵀ, v ≈ C g.
 *
 * @see Markley, "Attitude determination using vector observations and the singular value
 *   decomposition", J. Astronaut. Sci. 36(3), 1988
 */
export function bestRotation3(h: Float64Array): Rotation3 {
  const svd = new SVD(new Matrix([0, 3, 6].map((i) => Array.from(h.subarray(i, i + 3)))));
  const u = svd.leftSingularVectors;
  const v = svd.rightSingularVectors;
  const sign = determinantOf(u) * determinantOf(v) < 0 ? -1 : 1;
  const c = u.mmul(Matrix.diag([1, 1, sign])).mmul(v.transpose());
  return c.to1DArray() as unknown as Rotation3;
}

function determinantOf(m: Matrix): number {
  const [a, b, c, d, e, f, g, h, i] = m.to1DArray() as unknown as Rotation3;
  return a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
}
