/**
 * How near any linear smoother could come that knows the truth, as a yardstick for the separation:
 * for every clip the Wiener smoother made from the clip's own true spectra, which cannot change over
 * time; and for roaming, whose covariances are known, the least mean square error of all linear
 * estimates. A method that adapts over time may fall below the first of them.
 */
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import {
  type Coordinates,
  coordinatesAlong,
  gaussianMeanPath,
  mapCoordinates,
  orientationsAt,
  unrollPath,
} from '../../src/motion/pathCoordinates.js';
import { separate } from '../../src/motion/separate.js';
import { decimate, decimationFactor, undecimate } from '../../src/motion/workingRate.js';
import { factorCholesky, solveCholesky } from '../../src/numeric/cholesky.js';
import { errorsOf, pooled, targetOf, trackOf, type WalkError } from './evaluate.js';
import { printTable } from './table.js';
import { makeWalk, roamingDensityAt, type SyntheticWalk, WALK_KINDS } from './walks.js';

/** A walk as three slow signals, and the way back. */
export interface UnrolledWalk {
  readonly sampleRate: number;
  readonly measured: Coordinates;
  /** What the operator meant, the roll drift left in. */
  readonly truth: Coordinates;
  /** Orientations at the frames of the clip for signals at the working rate. */
  readonly orientations: (coordinates: Coordinates) => Float64Array;
}

/** Unrolls a walk as the separation does: along a slow path, near 15 Hz; radians. */
export function unrollWalk(walk: SyntheticWalk): UnrolledWalk {
  const { frameRate, times } = walk;
  const factor = decimationFactor(frameRate);
  const path = unrollPath(gaussianMeanPath(walk.measured, 0.5 * frameRate));
  const slow = (quaternions: Float64Array) =>
    mapCoordinates(coordinatesAlong(path, quaternions), (signal) =>
      decimate(signal, frameRate, factor),
    );
  return {
    sampleRate: frameRate / factor,
    measured: slow(walk.measured),
    truth: slow(targetOf(walk).kept),
    orientations: (coordinates) =>
      orientationsAt(
        path,
        mapCoordinates(coordinates, (signal) => undecimate(signal, factor, times.length)),
      ),
  };
}

/** Spectra are averaged over this many bins of the cosine transform to either side. */
const REACH = 4;

/**
 * The Wiener smoother of one signal: each frequency keeps the share of its power that is meant.
 * Without averaging (`reach` 0) every bin has a gain of its own, which no smoother can know.
 */
function wienerSmoothed(measured: Float64Array, truth: Float64Array, reach: number): Float64Array {
  const power = (signal: Float64Array) =>
    averaged(
      cosineTransform(signal).map((x) => x * x),
      reach,
    );
  const wanted = power(truth);
  const unwanted = power(measured.map((y, k) => y - truth[k]!));
  const gained = cosineTransform(measured).map(
    (y, k) => (y * wanted[k]!) / (wanted[k]! + unwanted[k]! || 1),
  );
  return inverseCosineTransform(gained);
}

/** Means over neighbouring bins; the mean of the signal, bin 0, stays apart. */
function averaged(power: Float64Array, reach: number): Float64Array {
  return power.map((own, k) => {
    if (k === 0) return own;
    const part = power.subarray(Math.max(1, k - reach), k + reach + 1);
    return part.reduce((sum, x) => sum + x, 0) / part.length;
  });
}

/** cos πm/2n for all m below 4n. */
function cosines(n: number): Float64Array {
  return Float64Array.from({ length: 4 * n }, (_, m) => Math.cos((Math.PI * m) / (2 * n)));
}

/** Orthonormal discrete cosine transform (type II), as it is written: O(n²). */
function cosineTransform(signal: Float64Array): Float64Array {
  const n = signal.length;
  const table = cosines(n);
  return signal.map((_, k) => {
    let sum = 0;
    for (let j = 0; j < n; j++) sum += signal[j]! * table[((2 * j + 1) * k) % (4 * n)]!;
    return sum * Math.sqrt((k === 0 ? 1 : 2) / n);
  });
}

function inverseCosineTransform(spectrum: Float64Array): Float64Array {
  const n = spectrum.length;
  const table = cosines(n);
  return spectrum.map((_, j) => {
    let sum = spectrum[0]! / Math.sqrt(n);
    for (let k = 1; k < n; k++) {
      sum += spectrum[k]! * table[((2 * j + 1) * k) % (4 * n)]! * Math.sqrt(2 / n);
    }
    return sum;
  });
}

type Covariance = (t: number, s: number) => number;

/** Variance of what is not known at all, such as the mean of a heading, rad². */
const UNKNOWN = 100;

/**
 * The linear estimate of least mean square error, Kx (Kx + Kd)⁻¹ y, from the covariances of what
 * was meant and of the disturbance between two samples.
 */
function leastMeanSquare(y: Float64Array, meant: Covariance, disturbance: Covariance) {
  const n = y.length;
  const sum = new Float64Array(n * n);
  for (let t = 0; t < n; t++) {
    for (let s = 0; s <= t; s++) sum[n * t + s] = meant(t, s) + disturbance(t, s);
  }
  if (!factorCholesky(sum, n)) throw new Error('covariances are not positive definite');
  // Less the first value, so that the unknown mean is near zero.
  const weights = y.map((value) => value - y[0]!);
  solveCholesky(sum, n, weights, 1);
  return y.map((_, t) => weights.reduce((x, w, s) => x + w * meant(t, s), y[0]!));
}

/** Covariance at whole lags of a stationary process with a one-sided density, by the midpoint rule. */
function stationary(density: (f: number) => number, n: number, sampleRate: number): Covariance {
  const width = 1 / 400;
  const strips = Array.from({ length: 2000 }, (_, k) => (k + 0.5) * width);
  const powers = strips.map((f) => density(f) * width);
  const lags = Float64Array.from({ length: n }, (_, lag) =>
    powers.reduce(
      (sum, power, k) => sum + power * Math.cos((2 * Math.PI * strips[k]! * lag) / sampleRate),
      0,
    ),
  );
  return (t, s) => lags[Math.abs(t - s)]!;
}

/** The best linear estimate of a roaming walk from the covariances it was drawn from. */
function roamingEstimate(walk: SyntheticWalk, unrolled: UnrolledWalk): Coordinates {
  const { truth } = walk;
  const { measured, sampleRate } = unrolled;
  const n = measured.tilt.length;
  const every = Math.round(walk.frameRate / sampleRate);
  const apart = (t: number, s: number) => Math.abs(t - s) / sampleRate;
  const swayShape = (f: number) => 1 / ((1 + (f / 0.5) ** 4) * (1 + (0.1 / f) ** 4));
  const sway = stationary(swayShape, n, sampleRate);
  return mapCoordinates(measured, (y, axis) => {
    const density = axis === 'roll' ? undefined : truth.roaming![axis];
    const roams = density && stationary((f) => roamingDensityAt(density, f), n, sampleRate);
    const meant: Covariance = roams
      ? (t, s) => UNKNOWN + roams(t, s)
      : // A horizon that creeps: an unknown line, and a degree that changes over 15 s.
        (t, s) =>
          UNKNOWN * (1 + (t * s) / (n * n)) +
          RADIANS_PER_DEGREE ** 2 * Math.exp(-0.5 * (apart(t, s) / 15) ** 2);
    const swayScale = truth.swaySd[axis] ** 2 / sway(0, 0);
    const amplitude = truth.bobAmplitude[axis] ** 2 / 2;
    // Below 5 Hz there is a sixth of the tracker's noise, and a twentieth of the tremor.
    const white = truth.trackerNoiseSd ** 2 / 6 + truth.tremorSd[axis] ** 2 / 20;
    return leastMeanSquare(y, meant, (t, s) => {
      const turned = truth.stepPhase[t * every]! - truth.stepPhase[s * every]!;
      // The size of the steps is a lognormal whose logarithm has the variance 0.039, lasting 3 s.
      const sizes = amplitude * Math.exp(0.039 * (1 + Math.exp(-apart(t, s) / 3)));
      const bob = truth.harmonics[axis].reduce(
        (sum, { multiple, relativeAmplitude }) =>
          sum + relativeAmplitude ** 2 * Math.cos(multiple * turned),
        0,
      );
      return swayScale * sway(t, s) + sizes * bob + (t === s ? white : 0);
    });
  });
}

/** Prints the bounds beside the structural separation, on fresh seeds. */
export function printOracle(firstSeed = 100400, count = 12): void {
  const bounds: Record<string, (walk: SyntheticWalk) => Float64Array | undefined> = {
    structural: (walk) => separate(trackOf(walk)).intended.quaternions,
    'time-invariant bound': (walk) => wiener(walk, REACH),
    'each bin by itself': (walk) => wiener(walk, 0),
    'least mean square': (walk) => {
      if (walk.kind !== 'roaming') return undefined;
      const unrolled = unrollWalk(walk);
      return unrolled.orientations(roamingEstimate(walk, unrolled));
    },
  };
  const names = Object.keys(bounds);
  const columns = WALK_KINDS.map((kind) => {
    const walks = Array.from({ length: count }, (_, k) => makeWalk(kind, firstSeed + k));
    return names.map((name) =>
      walks.map((walk) => {
        const path = bounds[name]!(walk);
        return path && errorsOf(walk, path);
      }),
    );
  });
  for (const roll of ['levelled', 'kept'] as const) {
    const rms = (errors: readonly (WalkError | undefined)[]) =>
      errors[0] ? pooled(errors.map((error) => error![roll])) : undefined;
    const table = names.map((_, m) => columns.map((column) => rms(column[m]!)));
    const row = (values: readonly (number | undefined)[]) => values.map((value) => value ?? '–');
    printTable(
      `Bounds on seeds ${firstSeed}–${firstSeed + count - 1}: roll ${roll}, degrees`,
      ['', ...WALK_KINDS],
      [
        ...names.map((name, m) => [name, ...row(table[m]!)]),
        ...[1, 3].map((m) => [
          `structural / ${names[m]}`,
          ...row(table[m]!.map((bound, k) => bound && table[0]![k]! / bound)),
        ]),
      ],
    );
  }
}

function wiener(walk: SyntheticWalk, reach: number): Float64Array {
  const { measured, truth, orientations } = unrollWalk(walk);
  return orientations(
    mapCoordinates(measured, (signal, axis) => wienerSmoothed(signal, truth[axis], reach)),
  );
}
