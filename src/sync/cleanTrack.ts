import { clamp } from '../math.js';
import {
  addOuterProduct,
  factorBanded,
  newBandedMatrix,
  solveFactored,
} from '../numeric/banded.js';
import { splineBasis, splineFitter } from '../numeric/splineBasis.js';
import {
  alignSigns,
  composeQuaternions,
  invertQuaternions,
  normalizeQuaternions,
  quaternionsFromRotationVectors,
  rotationVectorsFromQuaternions,
} from '../rotation/arrays.js';

/** A track without its wild frames. */
export interface CleanTrack {
  /** Smooth orientations through the good frames, length 4n. */
  readonly smooth: Float64Array;
  /** Trust in each frame, 0 (wild) to 1; length n. */
  readonly weights: Float64Array;
  /** Noise of a good frame on each axis, rad, on the safe side by a fifth. */
  readonly noise: number;
  /** Distance of each frame from the smooth path, rad; length n. */
  readonly misses: Float64Array;
}

/** Frames on each side of the median that makes the first reference. */
const MEDIAN_HALF = 15;
/** Knots of the reference, frames. */
const REFERENCE_KNOTS = 30;
/** Cut-off of the smooth track, as a share of the frame rate: what a hand can do within six frames. */
const CUTOFF_SHARE = 1 / 14;
/** Rounds with the least absolute sum first, then with weights that forget wild frames. */
const ROUNDS = { absolute: 6, all: 14 };
/**
 * About the 45 % quantile of the length of a normal vector in three dimensions, in units of its
 * deviation (exactly 1.452; 1.42 is that of 43 %, which errs to the safe side by 2 %): it still
 * measures the good frames when a third and more are wild.
 */
export const CHI3_QUANTILE_45 = 1.42;

/**
 * Finds the wild frames of a picture's track from the track alone: a smooth path fitted with weights
 * that forget what does not lie on it.
 *
 * @param quaternions - evenly sampled, sign-continuous, length 4n
 * @see Tukey's biweight in Beaton and Tukey, Technometrics 16(2), 1974
 */
export function cleanTrack(quaternions: Float64Array): CleanTrack {
  const n = quaternions.length / 4;
  const reference = smoothReference(runningMedian(quaternions, MEDIAN_HALF));
  const off = rotationVectorsFromQuaternions(
    composeQuaternions(invertQuaternions(reference), quaternions),
  );
  const axes = [0, 1, 2].map((axis) =>
    Float64Array.from({ length: n }, (_, k) => off[3 * k + axis]!),
  );
  let weights: Float64Array = new Float64Array(n).fill(1);
  let fitted: Float64Array[] = axes;
  let noise = 0;
  let misses: Float64Array = new Float64Array(n);
  for (let round = 0; round < ROUNDS.all; round++) {
    fitted = smoothAxes(axes, weights);
    misses = distances(axes, fitted);
    noise = (1.2 * sortedAt(misses, 0.45)) / CHI3_QUANTILE_45 + 1e-12;
    weights = misses.map((miss) =>
      round < ROUNDS.absolute ? noise / Math.max(miss, noise) : biweight(miss / (4.5 * noise)),
    );
  }
  const vectors = Float64Array.from(
    { length: 3 * n },
    (_, i) => fitted[i % 3]![Math.floor(i / 3)]!,
  );
  return {
    smooth: alignSigns(composeQuaternions(reference, quaternionsFromRotationVectors(vectors))),
    weights,
    noise,
    misses,
  };
}

/** How far apart two lists of points are that are given axis by axis. */
function distances(
  [ax, ay, az]: readonly Float64Array[],
  [bx, by, bz]: readonly Float64Array[],
): Float64Array {
  const out = new Float64Array(ax!.length);
  for (let k = 0; k < out.length; k++) {
    const x = ax![k]! - bx![k]!;
    const y = ay![k]! - by![k]!;
    const z = az![k]! - bz![k]!;
    out[k] = Math.sqrt(x * x + y * y + z * z);
  }
  return out;
}

/** 1 at zero, 0 from one on: (1 − u²)². */
export function biweight(u: number): number {
  return Math.abs(u) < 1 ? (1 - u * u) ** 2 : 0;
}

/** The value below which the given share of the values lies. */
export function sortedAt(values: Float64Array, share: number): number {
  const sorted = values.slice().sort();
  return sorted[Math.floor(share * (sorted.length - 1))]!;
}

/** Median of each component over a window, normalised: a rough path that wild frames do not move. */
export function runningMedian(quaternions: Float64Array, half: number): Float64Array {
  const n = quaternions.length / 4;
  const out = new Float64Array(quaternions.length);
  const signed = alignSigns(quaternions);
  const at = (k: number) => 4 * clamp(k, 0, n - 1);
  for (let component = 0; component < 4; component++) {
    const window = Float64Array.from(
      { length: 2 * half + 1 },
      (_, j) => signed[at(j - half) + component]!,
    ).sort();
    for (let k = 0; k < n; k++) {
      out[4 * k + component] = window[half]!;
      exchange(window, signed[at(k - half) + component]!, signed[at(k + 1 + half) + component]!);
    }
  }
  return normalizeQuaternions(out);
}

/** Takes a value out of a sorted window and puts another in, by moving only what lies between. */
function exchange(window: Float64Array, old: number, fresh: number): void {
  let low = 0;
  let high = window.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (window[middle]! < old) low = middle + 1;
    else high = middle;
  }
  for (; low > 0 && window[low - 1]! > fresh; low--) window[low] = window[low - 1]!;
  for (; low + 1 < window.length && window[low + 1]! < fresh; low++) window[low] = window[low + 1]!;
  window[low] = fresh;
}

/**
 * A spline through the median, which on a steady pan is the middle frame itself: frames would then lie
 * exactly on their reference, and the noise would come out as nothing.
 */
function smoothReference(median: Float64Array): Float64Array {
  const n = median.length / 4;
  const frames = Float64Array.from({ length: n }, (_, k) => k);
  const smooth = splineFitter(splineBasis(frames, REFERENCE_KNOTS), new Float64Array(n).fill(1));
  const axes = [0, 1, 2, 3].map((axis) => smooth(frames.map((k) => median[4 * k + axis]!)));
  return normalizeQuaternions(
    Float64Array.from({ length: 4 * n }, (_, i) => axes[i % 4]![Math.floor(i / 4)]!),
  );
}

/** Penalised splines through weighted values, one factorisation for the three axes. */
function smoothAxes(axes: readonly Float64Array[], weights: Float64Array): Float64Array[] {
  const n = weights.length;
  const penalty = 1 / (2 * Math.sin(Math.PI * CUTOFF_SHARE)) ** 6;
  const matrix = newBandedMatrix(n, 3);
  for (let k = 0; k < n; k++) addOuterProduct(matrix, k, [1], weights[k]! + 1e-9);
  for (let k = 0; k + 3 < n; k++) addOuterProduct(matrix, k, [-1, 3, -3, 1], penalty);
  factorBanded(matrix);
  return axes.map((axis) => {
    const out = axis.map((value, k) => value * (weights[k]! + 1e-9));
    solveFactored(matrix, out);
    return out;
  });
}
