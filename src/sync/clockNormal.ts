import type { SplineNormal } from '../numeric/splineBasis.js';

/** JᵀWJ and JᵀWr over frames and axes, less what the spline takes of them. */
export function reducedNormal(
  columns: readonly Float64Array[],
  residual: Float64Array,
  weights: Float64Array,
  spline: SplineNormal,
): { normal: number[][]; right: number[]; taken: Float64Array[][] } {
  const axes = [0, 1, 2] as const;
  const moments = columns.map((column) => axes.map((axis) => spline.moments(column, 3, axis)));
  const taken = moments.map((own) => own.map((moment) => spline.solve(moment.slice())));
  const own = axes.map((axis) => spline.moments(residual, 3, axis));
  const slowPart = (a: number, b: readonly Float64Array[]) =>
    axes.reduce<number>((sum, axis) => sum + dot(taken[a]![axis]!, b[axis]!), 0);
  const normal = columns.map(() => new Array<number>(columns.length).fill(0));
  for (let a = 0; a < columns.length; a++) {
    for (let b = 0; b <= a; b++) {
      const value = weightedDot(columns[a]!, columns[b]!, weights) - slowPart(a, moments[b]!);
      normal[a]![b] = value;
      normal[b]![a] = value;
    }
  }
  const right = columns.map(
    (_, a) => weightedDot(columns[a]!, residual, weights) - slowPart(a, own),
  );
  return { normal, right, taken };
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}

/** Σ w a·b over frames. */
function weightedDot(a: Float64Array, b: Float64Array, weights: Float64Array): number {
  let sum = 0;
  for (let k = 0, i = 0; k < weights.length; k++, i += 3) {
    sum += weights[k]! * (a[i]! * b[i]! + a[i + 1]! * b[i + 1]! + a[i + 2]! * b[i + 2]!);
  }
  return sum;
}

/** A column less the spline through it. */
export function withoutSlow(
  column: Float64Array,
  coefficients: readonly Float64Array[],
  spline: SplineNormal,
): Float64Array {
  const slow = new Float64Array(column.length);
  for (const axis of [0, 1, 2] as const) spline.evaluate(coefficients[axis]!, slow, 3, axis);
  return column.map((value, i) => value - slow[i]!);
}
