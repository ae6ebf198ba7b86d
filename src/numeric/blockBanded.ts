/**
 * Cholesky factors of symmetric positive definite matrices of 3 × 3 blocks, three blocks to either
 * side of the diagonal, of which those off the diagonal are multiples of the identity: Newton's
 * matrix of a smooth path in three coordinates under limits. Written out over the blocks, whose nine
 * sums do not wait for each other as those of a band of single numbers do.
 *
 * @see Golub and Van Loan, Matrix Computations, 4th ed., sections 4.2.6 and 4.3.5
 */

/** Numbers kept for each block row: three blocks of nine, three below the diagonal, three inverses on it. */
const KEPT = 33;
/** Where the triangle on the diagonal begins. */
const TRIANGLE = 27;

/** Room for the factor of a matrix of n block rows. */
export function newBlockFactor(n: number): Float64Array {
  return new Float64Array(KEPT * n);
}

/**
 * Factors A = L Lᵀ; cost O(n).
 *
 * @param multiples - what each block row holds of the identity at distance 0 to 3 before it; length 4n
 * @param diagonal - what the blocks on the diagonal hold besides: xx, xy, yy, xz, yz, zz; length 6n
 * @param factor - receives L, from {@link newBlockFactor}
 * @returns whether the matrix was positive definite; otherwise `factor` is left half done
 */
export function factorBlocks(
  multiples: Float64Array,
  diagonal: Float64Array,
  factor: Float64Array,
): boolean {
  const n = multiples.length / 4;
  for (let k = 0; k < n; k++) {
    const row = KEPT * k;
    const reach = Math.min(3, k);
    for (let d = reach; d >= 0; d--) {
      const multiple = multiples[4 * k + d]!;
      let xx = multiple;
      let xy = 0;
      let xz = 0;
      let yx = 0;
      let yy = multiple;
      let yz = 0;
      let zx = 0;
      let zy = 0;
      let zz = multiple;
      // Less L(k, k − i) L(k − d, k − i)ᵀ of the blocks further out.
      for (let i = reach; i > d; i--) {
        const p = row + 9 * (3 - i);
        const q = KEPT * (k - d) + 9 * (3 - i + d);
        const a0 = factor[p]!;
        const a1 = factor[p + 1]!;
        const a2 = factor[p + 2]!;
        const b0 = factor[p + 3]!;
        const b1 = factor[p + 4]!;
        const b2 = factor[p + 5]!;
        const c0 = factor[p + 6]!;
        const c1 = factor[p + 7]!;
        const c2 = factor[p + 8]!;
        let u = factor[q]!;
        let v = factor[q + 1]!;
        let w = factor[q + 2]!;
        xx -= a0 * u + a1 * v + a2 * w;
        yx -= b0 * u + b1 * v + b2 * w;
        zx -= c0 * u + c1 * v + c2 * w;
        u = factor[q + 3]!;
        v = factor[q + 4]!;
        w = factor[q + 5]!;
        xy -= a0 * u + a1 * v + a2 * w;
        yy -= b0 * u + b1 * v + b2 * w;
        zy -= c0 * u + c1 * v + c2 * w;
        u = factor[q + 6]!;
        v = factor[q + 7]!;
        w = factor[q + 8]!;
        xz -= a0 * u + a1 * v + a2 * w;
        yz -= b0 * u + b1 * v + b2 * w;
        zz -= c0 * u + c1 * v + c2 * w;
      }
      if (d === 0) {
        const g = 6 * k;
        const first = xx + diagonal[g]!;
        const ix = 1 / Math.sqrt(first);
        const l10 = (yx + diagonal[g + 1]!) * ix;
        const second = yy + diagonal[g + 2]! - l10 * l10;
        const iy = 1 / Math.sqrt(second);
        const l20 = (zx + diagonal[g + 3]!) * ix;
        const l21 = (zy + diagonal[g + 4]! - l20 * l10) * iy;
        const third = zz + diagonal[g + 5]! - l20 * l20 - l21 * l21;
        if (!(first > 0 && second > 0 && third > 0)) return false;
        const o = row + TRIANGLE;
        factor[o] = l10;
        factor[o + 1] = l20;
        factor[o + 2] = l21;
        factor[o + 3] = ix;
        factor[o + 4] = iy;
        factor[o + 5] = 1 / Math.sqrt(third);
        continue;
      }
      // Each row over the triangle on the diagonal of block row k − d.
      const t = KEPT * (k - d) + TRIANGLE;
      const l10 = factor[t]!;
      const l20 = factor[t + 1]!;
      const l21 = factor[t + 2]!;
      const ix = factor[t + 3]!;
      const iy = factor[t + 4]!;
      const iz = factor[t + 5]!;
      const o = row + 9 * (3 - d);
      xx *= ix;
      xy = (xy - xx * l10) * iy;
      yx *= ix;
      yy = (yy - yx * l10) * iy;
      zx *= ix;
      zy = (zy - zx * l10) * iy;
      factor[o] = xx;
      factor[o + 1] = xy;
      factor[o + 2] = (xz - xx * l20 - xy * l21) * iz;
      factor[o + 3] = yx;
      factor[o + 4] = yy;
      factor[o + 5] = (yz - yx * l20 - yy * l21) * iz;
      factor[o + 6] = zx;
      factor[o + 7] = zy;
      factor[o + 8] = (zz - zx * l20 - zy * l21) * iz;
    }
  }
  return true;
}

/** Solves A x = b in place for a factor of {@link factorBlocks}; b has length 3n. */
export function solveBlocks(factor: Float64Array, b: Float64Array): void {
  const n = b.length / 3;
  for (let k = 0; k < n; k++) {
    let x = b[3 * k]!;
    let y = b[3 * k + 1]!;
    let z = b[3 * k + 2]!;
    for (let d = Math.min(3, k); d > 0; d--) {
      const p = KEPT * k + 9 * (3 - d);
      const u = b[3 * (k - d)]!;
      const v = b[3 * (k - d) + 1]!;
      const w = b[3 * (k - d) + 2]!;
      x -= factor[p]! * u + factor[p + 1]! * v + factor[p + 2]! * w;
      y -= factor[p + 3]! * u + factor[p + 4]! * v + factor[p + 5]! * w;
      z -= factor[p + 6]! * u + factor[p + 7]! * v + factor[p + 8]! * w;
    }
    const t = KEPT * k + TRIANGLE;
    x *= factor[t + 3]!;
    y = (y - factor[t]! * x) * factor[t + 4]!;
    b[3 * k] = x;
    b[3 * k + 1] = y;
    b[3 * k + 2] = (z - factor[t + 1]! * x - factor[t + 2]! * y) * factor[t + 5]!;
  }
  for (let k = n - 1; k >= 0; k--) {
    const t = KEPT * k + TRIANGLE;
    const z = b[3 * k + 2]! * factor[t + 5]!;
    const y = (b[3 * k + 1]! - factor[t + 2]! * z) * factor[t + 4]!;
    const x = (b[3 * k]! - factor[t]! * y - factor[t + 1]! * z) * factor[t + 3]!;
    b[3 * k] = x;
    b[3 * k + 1] = y;
    b[3 * k + 2] = z;
    for (let d = Math.min(3, k); d > 0; d--) {
      const p = KEPT * k + 9 * (3 - d);
      const o = 3 * (k - d);
      b[o]! -= factor[p]! * x + factor[p + 3]! * y + factor[p + 6]! * z;
      b[o + 1]! -= factor[p + 1]! * x + factor[p + 4]! * y + factor[p + 7]! * z;
      b[o + 2]! -= factor[p + 2]! * x + factor[p + 5]! * y + factor[p + 8]! * z;
    }
  }
}
