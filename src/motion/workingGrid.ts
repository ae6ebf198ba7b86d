import { TwinkeelError } from '../error.js';
import { RADIANS_PER_DEGREE } from '../math.js';
import { type OrientationTrack, withQuaternions } from '../track/orientationTrack.js';
import { interpolateTrack } from '../track/resample.js';
import { evenTimes, isEvenlySpaced, requireDense, usualInterval } from '../track/times.js';
import {
  anglesOf,
  type Coordinates,
  coordinatesAlong,
  gaussianMeanPath,
  mapCoordinates,
  orientationsAt,
  orientationsOfAngles,
  type ReferencePath,
  unrollPath,
} from './pathCoordinates.js';
import { decimate, decimationFactor, undecimate } from './workingRate.js';

/** Shorter clips are refused, s (common practice, no source). */
const SHORTEST_CLIP = 3;
/** Deviation of the Gaussian that makes the first reference path, s. */
const REFERENCE_DEVIATION = 0.5;
/** From this tilt on the path is unrolled a second time, along the first result. */
const STEEP = 55 * RADIANS_PER_DEGREE;

/** A track on an even grid, and how coarser the one is on which the model works. */
export interface Grid {
  /** Seconds. */
  readonly duration: number;
  /** Even, seconds; the track's own where these are. */
  readonly times: Float64Array;
  readonly quaternions: Float64Array;
  /** Hz. */
  readonly sampleRate: number;
  /** Samples that become one. */
  readonly factor: number;
  /** Hz. */
  readonly workingRate: number;
}

/** Refuses tracks that are too short or too sparse. */
export function gridOf(track: OrientationTrack): Grid {
  const duration = track.times[track.times.length - 1]!;
  if (duration < SHORTEST_CLIP) {
    throw new TwinkeelError('track/too-short', {
      found: `${duration.toFixed(2)} s`,
      expected: `at least ${SHORTEST_CLIP} s (12 s or more show what kind of shot it is)`,
      remedy: 'a clip this short shows too few steps to tell bob from travel; use a longer take',
    });
  }
  const even = evenlySampled(track);
  const { sampleRate } = even;
  requireDense(sampleRate);
  const factor = decimationFactor(sampleRate);
  return { duration, ...even, factor, workingRate: sampleRate / factor };
}

/** The path along which a steep view is unrolled; none where heading, tilt and roll do. */
export function firstReference({ quaternions, sampleRate }: Grid): ReferencePath | undefined {
  const path = unrollPath(gaussianMeanPath(quaternions, REFERENCE_DEVIATION * sampleRate));
  return isSteep(path) ? path : undefined;
}

/** Coordinates at the working rate, along a path where there is one. */
export function coordinatesOn(
  { quaternions, sampleRate, factor }: Grid,
  reference: ReferencePath | undefined,
): Coordinates {
  const fine = reference ? coordinatesAlong(reference, quaternions) : anglesOf(quaternions);
  return mapCoordinates(fine, (signal) => decimate(signal, sampleRate, factor));
}

/** Orientations of the grid from coordinates at the working rate: {@link coordinatesOn} backwards. */
export function orientationsOn(
  grid: Grid,
  reference: ReferencePath | undefined,
  coordinates: Coordinates,
): Float64Array {
  const fine = mapCoordinates(coordinates, (signal) => refine(grid, signal));
  return reference ? orientationsAt(reference, fine) : orientationsOfAngles(fine);
}

/** Coordinates of the working rate at the times of the grid. */
export function refine({ quaternions, factor }: Grid, signal: Float64Array): Float64Array {
  return undecimate(signal, factor, quaternions.length / 4);
}

function isSteep(path: ReferencePath): boolean {
  return path.coordinates.tilt.some((tilt) => Math.abs(tilt) > STEEP);
}

/**
 * Samples per second beyond which more tell nothing of a camera that is carried: tremor ends below
 * 20 Hz (our judgement). Filters as long as seconds would cost the square of the rate.
 */
const DENSEST_GRID = 1000;

/** The track on an even grid, as it is where it already lies on one that is not needlessly fine. */
function evenlySampled(
  track: OrientationTrack,
): Pick<Grid, 'times' | 'quaternions' | 'sampleRate'> {
  const { times, quaternions } = track;
  const last = times[times.length - 1]!;
  const sampleRate = (times.length - 1) / last;
  if (sampleRate <= DENSEST_GRID && isEvenlySpaced(times)) {
    return { times, quaternions, sampleRate };
  }
  const interval = Math.max(usualInterval(times), 1 / DENSEST_GRID);
  const even = evenTimes(last, interval);
  return {
    times: even,
    quaternions: interpolateTrack(track, even, 'squad'),
    sampleRate: 1 / interval,
  };
}

/** Orientations on the grid as a track on the times of the one that was given. */
export function atTimesOf(
  track: OrientationTrack,
  { times }: Grid,
  quaternions: Float64Array,
): OrientationTrack {
  if (times === track.times) return withQuaternions(track, quaternions);
  return withQuaternions(
    track,
    interpolateTrack({ ...track, times, quaternions }, track.times, 'squad'),
  );
}
