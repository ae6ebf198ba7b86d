import { RADIANS_PER_DEGREE } from '../math.js';
import type { Span } from './spans.js';

/** A camera on something still: largest spread of quarter-second means within a rest (our judgement). */
const REST = {
  rate: 0.12 * RADIANS_PER_DEGREE,
  acceleration: 0.04,
  shortest: 1.5,
  bias: 10 * RADIANS_PER_DEGREE,
  biasDrift: 0.5 * RADIANS_PER_DEGREE,
};

/** Seconds over which noise averages out. */
const AVERAGED = 0.25;

/**
 * Stretches in which quarter-second means of rate and force all stay within a narrow spread; where
 * a sensor is silent, nothing is known to rest.
 *
 * @param silent - stretches in which a sensor says nothing
 * @param interval - the usual one between samples, s
 */
export function findRests(
  times: Float64Array,
  rate: Float64Array,
  acceleration: Float64Array,
  silent: readonly Span[],
  interval: number,
): Span[] {
  const width = Math.max(1, Math.round(AVERAGED / interval));
  const count = Math.floor(times.length / width);
  const rests: Span[] = [];
  const spread = newSpread();
  let from = 0;
  const close = (to: number) => {
    if (to > from) {
      const start = times[from * width]!;
      const end = times[Math.min(to * width, times.length) - 1]!;
      if (end - start >= REST.shortest) rests.push({ from: start, to: end });
    }
    spread.low.fill(Number.POSITIVE_INFINITY);
    spread.high.fill(Number.NEGATIVE_INFINITY);
  };
  for (let block = 0; block < count; block++) {
    const first = times[block * width]!;
    const last = times[Math.min((block + 1) * width, times.length - 1)]!;
    if (silent.some((span) => span.from < last && span.to > first)) {
      close(block);
      from = block + 1;
      continue;
    }
    meansOf(rate, block * width, width, spread.means, 0);
    meansOf(acceleration, block * width, width, spread.means, 3);
    if (!staysStill(spread)) {
      close(block);
      from = block;
    }
    takeIn(spread);
  }
  close(count);
  return ofOneBias(rests, times, rate);
}

/** Means of a quarter of a second, three of the rate and three of the force, and the range since a rest began. */
interface Spread {
  readonly means: Float64Array;
  readonly low: Float64Array;
  readonly high: Float64Array;
}

function newSpread(): Spread {
  return {
    means: new Float64Array(6),
    low: new Float64Array(6).fill(Number.POSITIVE_INFINITY),
    high: new Float64Array(6).fill(Number.NEGATIVE_INFINITY),
  };
}

/** Whether the range stays narrow with the means at hand. */
function staysStill({ means, low, high }: Spread): boolean {
  for (let c = 0; c < 6; c++) {
    const mean = means[c]!;
    const spread = Math.max(high[c]!, mean) - Math.min(low[c]!, mean);
    if (spread > (c < 3 ? REST.rate : REST.acceleration)) return false;
    if (c < 3 && Math.abs(mean) >= REST.bias) return false;
  }
  return true;
}

function takeIn({ means, low, high }: Spread): void {
  for (let c = 0; c < 6; c++) {
    low[c] = Math.min(low[c]!, means[c]!);
    high[c] = Math.max(high[c]!, means[c]!);
  }
}

/** Writes the mean of a few vectors. */
function meansOf(
  vectors: Float64Array,
  first: number,
  count: number,
  out: Float64Array,
  at: number,
): void {
  let x = 0;
  let y = 0;
  let z = 0;
  for (let i = 3 * first; i < 3 * (first + count); i += 3) {
    x += vectors[i]!;
    y += vectors[i + 1]!;
    z += vectors[i + 2]!;
  }
  out[at] = x / count;
  out[at + 1] = y / count;
  out[at + 2] = z / count;
}

/** The rests whose mean rate is that of the longest: a steady pan between two stands is none. */
function ofOneBias(rests: Span[], times: Float64Array, rate: Float64Array): Span[] {
  let k = 0;
  const means = rests.map(({ from, to }) => {
    while (k < times.length && times[k]! < from) k++;
    const first = k;
    while (k < times.length && times[k]! <= to) k++;
    const mean = new Float64Array(3);
    meansOf(rate, first, k - first, mean, 0);
    return mean;
  });
  const length = (r: number) => rests[r]!.to - rests[r]!.from;
  const longest = means.reduce((best, _, r) => (length(r) > length(best) ? r : best), 0);
  return rests.filter((_, r) =>
    means[r]!.every((mean, axis) => Math.abs(mean - means[longest]![axis]!) < REST.biasDrift),
  );
}
