import { addOuterProduct, factorBanded, newBandedMatrix, solveFactored } from './banded.js';

/** A cubic B-spline on even knots, evaluated at fixed places: four neighbours at each. */
export interface SplineBasis {
  /** Number of basis functions. */
  readonly size: number;
  /** First of the four functions at each place; length n. */
  readonly first: Int32Array;
  /** Their values, length 4n. */
  readonly values: Float64Array;
}

/**
 * @param places - increasing
 * @param spacing - of the knots, about; at least one interval is used
 * @see de Boor, A Practical Guide to Splines, 1978, chapter IX
 */
export function splineBasis(places: Float64Array, spacing: number): SplineBasis {
  const n = places.length;
  const start = places[0]!;
  const span = places[n - 1]! - start;
  const intervals = Math.max(1, Math.round(span / spacing));
  const first = new Int32Array(n);
  const values = new Float64Array(4 * n);
  for (let k = 0; k < n; k++) {
    const position = span === 0 ? 0 : ((places[k]! - start) / span) * intervals;
    const interval = Math.min(Math.floor(position), intervals - 1);
    const u = position - interval;
    const v = 1 - u;
    first[k] = interval;
    values[4 * k] = (v * v * v) / 6;
    values[4 * k + 1] = (3 * u * u * u - 6 * u * u + 4) / 6;
    values[4 * k + 2] = (3 * v * v * v - 6 * v * v + 4) / 6;
    values[4 * k + 3] = (u * u * u) / 6;
  }
  return { size: intervals + 3, first, values };
}

/** The weighted normal equations of a spline, factored, for one axis of interleaved signals. */
export interface SplineNormal {
  /** BᵀW s for every `stride`-th value of s from `axis` on; one per basis function. */
  moments(signal: Float64Array, stride: number, axis: number): Float64Array;
  /** (BᵀWB)⁻¹ of moments, in place: the coefficients of the fit. */
  solve(moments: Float64Array): Float64Array;
  /** Writes the spline with these coefficients to every `stride`-th value of `out`. */
  evaluate(coefficients: Float64Array, out: Float64Array, stride: number, axis: number): void;
}

/**
 * Prepares the weighted fit of one basis to many signals; each costs O(n).
 *
 * @param weights - not negative, length n
 */
export function splineNormal(basis: SplineBasis, weights: Float64Array): SplineNormal {
  const { size, first, values } = basis;
  const normal = newBandedMatrix(size, 3);
  const { band } = normal;
  let total = 0;
  for (let k = 0; k < first.length; k++) {
    const weight = weights[k]!;
    total += weight;
    for (let i = 0; i < 4; i++) {
      const scaled = weight * values[4 * k + i]!;
      const row = 4 * (first[k]! + i);
      for (let j = 0; j <= i; j++) band[row + i - j]! += scaled * values[4 * k + j]!;
    }
  }
  // A trace of a ridge keeps intervals without any weight solvable.
  const ridge = 1e-9 * (total / size + 1e-300);
  for (let i = 0; i < size; i++) addOuterProduct(normal, i, [1], ridge);
  for (let i = 0; i + 2 < size; i++) addOuterProduct(normal, i, [1, -2, 1], 1e3 * ridge);
  factorBanded(normal);
  return {
    moments(signal, stride, axis) {
      const right = new Float64Array(size);
      for (let k = 0; k < first.length; k++) {
        const weighted = weights[k]! * signal[stride * k + axis]!;
        if (weighted === 0) continue;
        for (let j = 0; j < 4; j++) right[first[k]! + j]! += values[4 * k + j]! * weighted;
      }
      return right;
    },
    solve(moments) {
      solveFactored(normal, moments);
      return moments;
    },
    evaluate(coefficients, out, stride, axis) {
      for (let k = 0; k < first.length; k++) {
        let sum = 0;
        for (let j = 0; j < 4; j++) sum += values[4 * k + j]! * coefficients[first[k]! + j]!;
        out[stride * k + axis] = sum;
      }
    },
  };
}

/** The weighted least-squares fit of a spline: what {@link splineFitter} prepares. */
export type SplineFit = (signal: Float64Array) => Float64Array;

/**
 * Prepares fits of one basis with one set of weights to many signals; each costs O(n).
 *
 * @param weights - not negative, length n
 * @returns a function from a signal to its fitted values at the same places
 */
export function splineFitter(basis: SplineBasis, weights: Float64Array): SplineFit {
  const { moments, solve, evaluate } = splineNormal(basis, weights);
  return (signal) => {
    const out = new Float64Array(signal.length);
    evaluate(solve(moments(signal, 1, 0)), out, 1, 0);
    return out;
  };
}
