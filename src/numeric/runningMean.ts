/**
 * Mean over `reach` values to either side, fewer at the ends, by running sums: O(n). Never below zero
 * for values that are not.
 */
export function runningMean(values: Float64Array, reach: number): Float64Array {
  const n = values.length;
  const sums = new Float64Array(n + 1);
  for (let k = 0; k < n; k++) sums[k + 1] = sums[k]! + values[k]!;
  return values.map((_, k) => {
    const from = Math.max(0, k - reach);
    const to = Math.min(n, k + reach + 1);
    return (sums[to]! - sums[from]!) / (to - from);
  });
}
