import type { FilterKernel } from './filters.js';

/** Places between two samples that the tables tell apart: 0.0005 samples off at most. */
export const PHASES = 1024;
/** Weights are whole numbers that add up to this. */
export const WEIGHT_ONE = 2 ** 14;

/** A filter's weights for every place between two samples. */
export interface TapTables {
  /** Samples across and down that a filter reads: 4 or 6. */
  readonly taps: 4 | 6;
  /** Numbers from one phase's weights to the next in `across`: 4, or 8 of which two are zero. */
  readonly spacing: 4 | 8;
  /** Weights of a row's samples. */
  readonly across: Int16Array;
  /** Weights of the rows, each repeated for the partial sums of its row: two of 4, four of 6 taps. */
  readonly down: Int16Array;
}

/** The tables of a filter that is not widened. */
export function tapTables({ radius, weight }: FilterKernel): TapTables {
  const taps = radius > 2 ? 6 : 4;
  const spacing = taps === 4 ? 4 : 8;
  const repeats = taps === 4 ? 2 : 4;
  const across = new Int16Array(PHASES * spacing);
  const down = new Int16Array(PHASES * taps * repeats);
  for (let phase = 0; phase < PHASES; phase++) {
    const weights = wholeWeights(taps, phase / PHASES, weight);
    weights.forEach((value, tap) => {
      across[spacing * phase + tap] = value;
      down.fill(value, (phase * taps + tap) * repeats, (phase * taps + tap + 1) * repeats);
    });
  }
  return { taps, spacing, across, down };
}

/** Weights of the samples around a place, rounded; the largest takes what is left over. */
function wholeWeights(taps: number, place: number, weight: (distance: number) => number): number[] {
  const exact = Array.from({ length: taps }, (_, tap) => weight(tap - (taps / 2 - 1) - place));
  const sum = exact.reduce((a, b) => a + b);
  const whole = exact.map((value) => Math.round((value / sum) * WEIGHT_ONE));
  const left = WEIGHT_ONE - whole.reduce((a, b) => a + b);
  const largest = whole.indexOf(Math.max(...whole));
  whole[largest]! += left;
  return whole;
}

/** Entries of {@link distanceTable} per sample. */
export const PER_SAMPLE = 1024;

/** A filter's weight by distance, whole numbers, for filters that are widened; the last is zero. */
export function distanceTable({ radius, weight }: FilterKernel): Int16Array {
  return Int16Array.from({ length: radius * PER_SAMPLE + 2 }, (_, k) =>
    Math.round(weight(k / PER_SAMPLE) * WEIGHT_ONE),
  );
}
