/**
 * Factors of symmetric positive definite matrices of 3 × 3 blocks, three blocks to either side of the
 * diagonal, of which those off the diagonal are multiples of the identity: Newton's matrix of a smooth
 * path in three coordinates under limits.
 *
 * A = L D Lᵀ with blocks Dₖ on the diagonal and ones on that of L. With aᵢ I for the blocks of A that lie
 * i before the diagonal in row k, Lᵢ for those of L and Sᵢ = Lᵢ Dₖ₋ᵢ,
 *
 *   S₃ = a₃ I,   S₂ = a₂ I − a₃ L₁ᵀ of row k − 2,   S₁ = a₁ I − a₃ L₂ᵀ − S₂ L₁ᵀ of row k − 1,
 *   Lᵢ = Sᵢ Dₖ₋ᵢ⁻¹,   Dₖ = Aₖₖ − Σ Sᵢ Lᵢᵀ,
 *
 * which takes two thirds of the products of a general band. Written out over the blocks, whose nine sums
 * do not wait for each other as those of a band of single numbers do; D is never inverted, since bounds
 * that are nearly met make it steep.
 *
 * @see Golub and Van Loan, Matrix Computations, 4th ed., sections 4.1.7 (from memory) and 4.3.5
 */

/**
 * Numbers kept for each block row: L₁ and L₂ row by row, a₃, and D = G Δ Gᵀ as the elements of G below its
 * ones, row by row, and the inverses of Δ.
 */
const KEPT = 25;
/** Where L₂, a₃ and D begin. */
const SECOND = 9;
const THIRD = 18;
const TRIANGLE = 19;

/** Room for the factor of a matrix of n block rows. */
export function newBlockFactor(n: number): Float64Array {
  return new Float64Array(KEPT * n);
}

/**
 * Factors A = L D Lᵀ; cost O(n).
 *
 * @param multiples - what each block row holds of the identity at distance 0 to 3 before it, zero before
 *   the first row; length 4n
 * @param diagonal - what the blocks on the diagonal hold besides: xx, xy, yy, xz, yz, zz; length 6n
 * @param factor - receives L and D, from {@link newBlockFactor}
 * @returns whether the matrix was positive definite; otherwise `factor` is left half done
 */
export function factorBlocks(
  multiples: Float64Array,
  diagonal: Float64Array,
  factor: Float64Array,
): boolean {
  const n = multiples.length / 4;
  for (let k = 0; k < n; k++) {
    const o = KEPT * k;
    const g = 6 * k;
    const multiple = multiples[4 * k]!;
    let xx = multiple + diagonal[g]!;
    let xy = diagonal[g + 1]!;
    let yy = multiple + diagonal[g + 2]!;
    let xz = diagonal[g + 3]!;
    let yz = diagonal[g + 4]!;
    let zz = multiple + diagonal[g + 5]!;
    const a3 = k > 2 ? multiples[4 * k + 3]! : 0;
    factor[o + THIRD] = a3;
    if (k > 2) {
      // S₃ L₃ᵀ = a₃² D⁻¹, and D⁻¹ = (G⁻¹)ᵀ Δ⁻¹ G⁻¹.
      const m = o - 3 * KEPT + TRIANGLE;
      const l10 = factor[m]!;
      const l21 = factor[m + 2]!;
      const r20 = l10 * l21 - factor[m + 1]!;
      const square = a3 * a3;
      const iy = square * factor[m + 4]!;
      const iz = square * factor[m + 5]!;
      xx -= square * factor[m + 3]! + l10 * l10 * iy + r20 * r20 * iz;
      xy += l10 * iy + r20 * l21 * iz;
      yy -= iy + l21 * l21 * iz;
      xz -= r20 * iz;
      yz += l21 * iz;
      zz -= iz;
    }
    // S₁, from which S₂ L₁ᵀ is taken first.
    const a1 = k > 0 ? multiples[4 * k + 1]! : 0;
    let s0 = a1;
    let s1 = 0;
    let s2 = 0;
    let s3 = 0;
    let s4 = a1;
    let s5 = 0;
    let s6 = 0;
    let s7 = 0;
    let s8 = a1;
    if (k > 1) {
      // S₂, and L₂ with what it takes from D.
      const p = o - 2 * KEPT;
      const l = o + SECOND;
      const a2 = multiples[4 * k + 2]!;
      const t0 = a2 - a3 * factor[p]!;
      const t1 = -a3 * factor[p + 3]!;
      const t2 = -a3 * factor[p + 6]!;
      const t3 = -a3 * factor[p + 1]!;
      const t4 = a2 - a3 * factor[p + 4]!;
      const t5 = -a3 * factor[p + 7]!;
      const t6 = -a3 * factor[p + 2]!;
      const t7 = -a3 * factor[p + 5]!;
      const t8 = a2 - a3 * factor[p + 8]!;
      const g = p + TRIANGLE;
      const l10 = factor[g]!;
      const l20 = factor[g + 1]!;
      const l21 = factor[g + 2]!;
      const ix = factor[g + 3]!;
      const iy = factor[g + 4]!;
      const iz = factor[g + 5]!;
      const v0 = t1 - l10 * t0;
      const w0 = t2 - l20 * t0 - l21 * v0;
      let u = t0 * ix;
      let v = v0 * iy;
      let w = w0 * iz;
      xx -= t0 * u + v0 * v + w0 * w;
      v -= l21 * w;
      factor[l] = u - l10 * v - l20 * w;
      factor[l + 1] = v;
      factor[l + 2] = w;
      const v1 = t4 - l10 * t3;
      const w1 = t5 - l20 * t3 - l21 * v1;
      u = t3 * ix;
      v = v1 * iy;
      w = w1 * iz;
      xy -= t0 * u + v0 * v + w0 * w;
      yy -= t3 * u + v1 * v + w1 * w;
      v -= l21 * w;
      factor[l + 3] = u - l10 * v - l20 * w;
      factor[l + 4] = v;
      factor[l + 5] = w;
      const v2 = t7 - l10 * t6;
      const w2 = t8 - l20 * t6 - l21 * v2;
      u = t6 * ix;
      v = v2 * iy;
      w = w2 * iz;
      xz -= t0 * u + v0 * v + w0 * w;
      yz -= t3 * u + v1 * v + w1 * w;
      zz -= t6 * u + v2 * v + w2 * w;
      v -= l21 * w;
      factor[l + 6] = u - l10 * v - l20 * w;
      factor[l + 7] = v;
      factor[l + 8] = w;
      // What is left of S₁.
      const q = o - KEPT;
      let a = factor[q]!;
      let b = factor[q + 1]!;
      let c = factor[q + 2]!;
      s0 -= a3 * factor[q + SECOND]! + t0 * a + t1 * b + t2 * c;
      s3 -= a3 * factor[q + SECOND + 1]! + t3 * a + t4 * b + t5 * c;
      s6 -= a3 * factor[q + SECOND + 2]! + t6 * a + t7 * b + t8 * c;
      a = factor[q + 3]!;
      b = factor[q + 4]!;
      c = factor[q + 5]!;
      s1 -= a3 * factor[q + SECOND + 3]! + t0 * a + t1 * b + t2 * c;
      s4 -= a3 * factor[q + SECOND + 4]! + t3 * a + t4 * b + t5 * c;
      s7 -= a3 * factor[q + SECOND + 5]! + t6 * a + t7 * b + t8 * c;
      a = factor[q + 6]!;
      b = factor[q + 7]!;
      c = factor[q + 8]!;
      s2 -= a3 * factor[q + SECOND + 6]! + t0 * a + t1 * b + t2 * c;
      s5 -= a3 * factor[q + SECOND + 7]! + t3 * a + t4 * b + t5 * c;
      s8 -= a3 * factor[q + SECOND + 8]! + t6 * a + t7 * b + t8 * c;
    }
    if (k > 0) {
      const p = o - KEPT;
      const g = p + TRIANGLE;
      const l10 = factor[g]!;
      const l20 = factor[g + 1]!;
      const l21 = factor[g + 2]!;
      const ix = factor[g + 3]!;
      const iy = factor[g + 4]!;
      const iz = factor[g + 5]!;
      const v0 = s1 - l10 * s0;
      const w0 = s2 - l20 * s0 - l21 * v0;
      let u = s0 * ix;
      let v = v0 * iy;
      let w = w0 * iz;
      xx -= s0 * u + v0 * v + w0 * w;
      v -= l21 * w;
      factor[o] = u - l10 * v - l20 * w;
      factor[o + 1] = v;
      factor[o + 2] = w;
      const v1 = s4 - l10 * s3;
      const w1 = s5 - l20 * s3 - l21 * v1;
      u = s3 * ix;
      v = v1 * iy;
      w = w1 * iz;
      xy -= s0 * u + v0 * v + w0 * w;
      yy -= s3 * u + v1 * v + w1 * w;
      v -= l21 * w;
      factor[o + 3] = u - l10 * v - l20 * w;
      factor[o + 4] = v;
      factor[o + 5] = w;
      const v2 = s7 - l10 * s6;
      const w2 = s8 - l20 * s6 - l21 * v2;
      u = s6 * ix;
      v = v2 * iy;
      w = w2 * iz;
      xz -= s0 * u + v0 * v + w0 * w;
      yz -= s3 * u + v1 * v + w1 * w;
      zz -= s6 * u + v2 * v + w2 * w;
      v -= l21 * w;
      factor[o + 6] = u - l10 * v - l20 * w;
      factor[o + 7] = v;
      factor[o + 8] = w;
    }
    const ix = 1 / xx;
    const l10 = xy * ix;
    const l20 = xz * ix;
    const second = yy - l10 * xy;
    const iy = 1 / second;
    const below = yz - l20 * xy;
    const l21 = below * iy;
    const third = zz - l20 * xz - l21 * below;
    if (!(xx > 0 && second > 0 && third > 0)) return false;
    const d = o + TRIANGLE;
    factor[d] = l10;
    factor[d + 1] = l20;
    factor[d + 2] = l21;
    factor[d + 3] = ix;
    factor[d + 4] = iy;
    factor[d + 5] = 1 / third;
  }
  return true;
}

/** Solves A x = b in place for a factor of {@link factorBlocks}; b has length 3n. */
export function solveBlocks(factor: Float64Array, b: Float64Array): void {
  const n = b.length / 3;
  // L z = b, the last two of z at hand; what is left behind is D⁻¹ z.
  let x1 = 0;
  let y1 = 0;
  let z1 = 0;
  let x2 = 0;
  let y2 = 0;
  let z2 = 0;
  for (let k = 0; k < n; k++) {
    const o = KEPT * k;
    const i = 3 * k;
    let x = b[i]!;
    let y = b[i + 1]!;
    let z = b[i + 2]!;
    if (k > 2) {
      const a3 = factor[o + THIRD]!;
      x -= a3 * b[i - 9]!;
      y -= a3 * b[i - 8]!;
      z -= a3 * b[i - 7]!;
    }
    if (k > 1) {
      const p = o + SECOND;
      x -= factor[p]! * x2 + factor[p + 1]! * y2 + factor[p + 2]! * z2;
      y -= factor[p + 3]! * x2 + factor[p + 4]! * y2 + factor[p + 5]! * z2;
      z -= factor[p + 6]! * x2 + factor[p + 7]! * y2 + factor[p + 8]! * z2;
    }
    if (k > 0) {
      x -= factor[o]! * x1 + factor[o + 1]! * y1 + factor[o + 2]! * z1;
      y -= factor[o + 3]! * x1 + factor[o + 4]! * y1 + factor[o + 5]! * z1;
      z -= factor[o + 6]! * x1 + factor[o + 7]! * y1 + factor[o + 8]! * z1;
    }
    x2 = x1;
    y2 = y1;
    z2 = z1;
    x1 = x;
    y1 = y;
    z1 = z;
    const d = o + TRIANGLE;
    const l10 = factor[d]!;
    const l20 = factor[d + 1]!;
    const l21 = factor[d + 2]!;
    y -= l10 * x;
    z = (z - l20 * x - l21 * y) * factor[d + 5]!;
    y = y * factor[d + 4]! - l21 * z;
    b[i] = x * factor[d + 3]! - l10 * y - l20 * z;
    b[i + 1] = y;
    b[i + 2] = z;
  }
  // Lᵀ x = D⁻¹ z; L₃ = a₃ D⁻¹ is symmetric.
  for (let k = n - 2; k >= 0; k--) {
    const i = 3 * k;
    let x = b[i]!;
    let y = b[i + 1]!;
    let z = b[i + 2]!;
    let o = KEPT * (k + 1);
    let u = b[i + 3]!;
    let v = b[i + 4]!;
    let w = b[i + 5]!;
    x -= factor[o]! * u + factor[o + 3]! * v + factor[o + 6]! * w;
    y -= factor[o + 1]! * u + factor[o + 4]! * v + factor[o + 7]! * w;
    z -= factor[o + 2]! * u + factor[o + 5]! * v + factor[o + 8]! * w;
    if (k < n - 2) {
      o += KEPT + SECOND;
      u = b[i + 6]!;
      v = b[i + 7]!;
      w = b[i + 8]!;
      x -= factor[o]! * u + factor[o + 3]! * v + factor[o + 6]! * w;
      y -= factor[o + 1]! * u + factor[o + 4]! * v + factor[o + 7]! * w;
      z -= factor[o + 2]! * u + factor[o + 5]! * v + factor[o + 8]! * w;
    }
    if (k < n - 3) {
      const a3 = factor[KEPT * (k + 3) + THIRD]!;
      const d = KEPT * k + TRIANGLE;
      const l10 = factor[d]!;
      const l20 = factor[d + 1]!;
      const l21 = factor[d + 2]!;
      u = a3 * b[i + 9]!;
      v = a3 * b[i + 10]! - l10 * u;
      w = (a3 * b[i + 11]! - l20 * u - l21 * v) * factor[d + 5]!;
      v = v * factor[d + 4]! - l21 * w;
      x -= u * factor[d + 3]! - l10 * v - l20 * w;
      y -= v;
      z -= w;
    }
    b[i] = x;
    b[i + 1] = y;
    b[i + 2] = z;
  }
}
