/** The middle value; of an even count the upper of the two in the middle. NaN for no values. */
export function median(values: ArrayLike<number>): number {
  const sorted = Float64Array.from(values).sort();
  return sorted[sorted.length >> 1] ?? Number.NaN;
}

/** The value below which the given share of the values lies, by linear interpolation. */
export function quantile(values: ArrayLike<number>, share: number): number {
  const sorted = Float64Array.from(values).sort();
  const position = share * (sorted.length - 1);
  const k = Math.floor(position);
  const next = sorted[Math.min(k + 1, sorted.length - 1)]!;
  return sorted[k]! + (position - k) * (next - sorted[k]!);
}
