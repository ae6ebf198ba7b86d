/**
 * The natural cubic spline through points, twice continuously differentiable; outside the points
 * the end value is held.
 *
 * @param x - increasing, length n ≥ 1
 * @param y - length n
 * @returns the spline as a function
 * @see de Boor, A Practical Guide to Splines, 1978, chapter IV
 */
export function cubicSpline(x: ArrayLike<number>, y: ArrayLike<number>): (at: number) => number {
  const n = x.length;
  const second = naturalSecondDerivatives(x, y);
  let k = 0;
  return (at) => {
    if (n === 1 || at <= x[0]!) return y[0]!;
    if (at >= x[n - 1]!) return y[n - 1]!;
    // Calls usually come in order: search from the last interval.
    while (k > 0 && x[k]! > at) k--;
    while (k < n - 2 && x[k + 1]! <= at) k++;
    const h = x[k + 1]! - x[k]!;
    const b = (at - x[k]!) / h;
    const a = 1 - b;
    return (
      a * y[k]! +
      b * y[k + 1]! +
      (((a * a * a - a) * second[k]! + (b * b * b - b) * second[k + 1]!) * h * h) / 6
    );
  };
}

/**
 * The same spline through even points, at whole numbers of steps of which `factor` lie from each point
 * to the next: every interval has the same weights.
 *
 * @param y - values at 0, `factor`, 2 `factor` …; at least two
 * @param from - where the first wanted value lies, within the points
 * @param count - how many values are wanted; beyond the last point its value is held
 * @returns length `count`; cost O(n + count)
 */
export function evenCubicSpline(
  y: Float64Array,
  factor: number,
  from: number,
  count: number,
): Float64Array {
  const n = y.length;
  const second = naturalSecondDerivatives(
    y.map((_, k) => k),
    y,
  );
  const out = new Float64Array(count).fill(y[n - 1]!);
  for (let phase = 0; phase < factor; phase++) {
    const b = phase / factor;
    const a = 1 - b;
    const bendBefore = (a * a * a - a) / 6;
    const bendAfter = (b * b * b - b) / 6;
    // The first wanted value of this phase, and its interval.
    const first = (phase + factor - (from % factor)) % factor;
    for (
      let i = first, k = (from + first - phase) / factor;
      i < count && k < n - 1;
      i += factor, k++
    ) {
      out[i] = a * y[k]! + b * y[k + 1]! + bendBefore * second[k]! + bendAfter * second[k + 1]!;
    }
  }
  return out;
}

/** Second derivatives at the points, zero at both ends: a tridiagonal system. */
function naturalSecondDerivatives(x: ArrayLike<number>, y: ArrayLike<number>): Float64Array {
  const n = x.length;
  const second = new Float64Array(n);
  const upper = new Float64Array(n);
  for (let i = 1; i < n - 1; i++) {
    const h0 = x[i]! - x[i - 1]!;
    const h1 = x[i + 1]! - x[i]!;
    const right = (6 * ((y[i + 1]! - y[i]!) / h1 - (y[i]! - y[i - 1]!) / h0)) / (h0 + h1);
    const lower = h0 / (h0 + h1);
    const pivot = 2 + lower * upper[i - 1]!;
    upper[i] = -(1 - lower) / pivot;
    second[i] = (right - lower * second[i - 1]!) / pivot;
  }
  for (let i = n - 2; i > 0; i--) second[i]! += upper[i]! * second[i + 1]!;
  return second;
}
