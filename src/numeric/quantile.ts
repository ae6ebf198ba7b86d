/** The middle value; of an even count the upper of the two in the middle. NaN for no values. */
export function median(values: ArrayLike<number>): number {
  const middle = values.length >> 1;
  return select(new Float64Array(values), middle)[middle] ?? Number.NaN;
}

/** The value below which the given share of the values lies, by linear interpolation. */
export function quantile(values: ArrayLike<number>, share: number): number {
  const position = share * (values.length - 1);
  const k = Math.floor(position);
  const order = select(new Float64Array(values), k);
  if (k + 1 >= order.length) return order[k] ?? Number.NaN;
  let next = Number.POSITIVE_INFINITY;
  for (let i = k + 1; i < order.length; i++) next = Math.min(next, order[i]!);
  return order[k]! + (position - k) * (next - order[k]!);
}

/**
 * Moves values about until the one at `k` is where sorting would put it, with none larger before it
 * and none smaller behind; O(n) in the mean.
 *
 * @see Hoare, "Algorithm 65: find", Communications of the ACM 4(7), 1961
 */
function select(values: Float64Array, k: number): Float64Array {
  let from = 0;
  let to = values.length - 1;
  while (from < to) {
    const pivot = values[(from + to) >> 1]!;
    let i = from;
    let j = to;
    while (i <= j) {
      while (values[i]! < pivot) i++;
      while (pivot < values[j]!) j--;
      if (i > j) break;
      const value = values[i]!;
      values[i++] = values[j]!;
      values[j--] = value;
    }
    if (k <= j) to = j;
    else if (k >= i) from = i;
    else break;
  }
  return values;
}
