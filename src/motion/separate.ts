import { TwinkeelError, type Warning } from '../error.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { withQuaternions } from '../track/orientationTrack.js';
import { interpolateTrack } from '../track/resample.js';
import { evenTimes, isEvenlySpaced, medianInterval } from '../track/times.js';
import { CLASSIC_FILTERS, type ClassicFilterName, splineFilter } from './classicFilters.js';
import { type Gait, trackStepFrequency } from './gait.js';
import {
  type Coordinates,
  coordinatesAlong,
  gaussianMeanPath,
  mapCoordinates,
  orientationsAt,
  unrollPath,
} from './pathCoordinates.js';
import { isWalking, recogniseShot, type ShotGuess, type ShotKind } from './shot.js';
import { separateStructurally } from './structuralSeparation.js';
import { decimate, decimationFactor, undecimate } from './workingRate.js';

/** The ways to find the intended path. */
export type FilterName = 'structural' | ClassicFilterName;

/** How to separate. */
export interface SeparateOptions {
  /** Kind of shot; recognised when left out or `auto`. */
  readonly shot?: 'auto' | ShotKind;
  readonly filter?: FilterName;
}

/** What the operator meant and what the body added. */
export interface Separation {
  /** The intended orientations at the times of the track, roll kept. */
  readonly intended: OrientationTrack;
  readonly shot: ShotKind;
  /** How clearly the clip is this kind of shot, 0 to 1; 1 when it was given. */
  readonly confidence: number;
  readonly gait: {
    readonly walking: boolean;
    /** Mean step frequency, Hz; steps per second. */
    readonly stepFrequency: number;
    readonly score: number;
  };
  readonly warnings: readonly Warning[];
}

/** Shorter clips are refused, s (common practice, no source). */
const SHORTEST_CLIP = 3;
/** Shorter clips are separated with a warning, s (common practice: 10 s). */
const SHORT_CLIP = 8;
/** Deviation of the Gaussian that makes the first reference path, s. */
const REFERENCE_DEVIATION = 0.5;
/** Times the path is unrolled along the result; the second pass settles it near the zenith. */
const PASSES = 2;

/** Cut-off per axis as a share of the step frequency: below the sway from foot to foot at ½. */
const CUTOFF_SHARE = { heading: 0.25, tilt: 0.2, roll: 0.15 };
/** Steps per second where nobody walks, Hz. */
const TYPICAL_STEP = 2;

/**
 * Splits the motion of a camera into the path its operator meant and the bob, sway, roll and
 * tremor of the body that carries it.
 *
 * @param track - camera→world, level world, at least 3 s
 * @returns the intended path at the same times, and what was recognised; cost O(n)
 * @throws TwinkeelError `track/too-short` below 3 s
 * @example
 * const { intended, shot } = separate(track);
 */
export function separate(track: OrientationTrack, options: SeparateOptions = {}): Separation {
  const duration = track.times[track.times.length - 1]!;
  if (duration < SHORTEST_CLIP) {
    throw new TwinkeelError('track/too-short', {
      found: `${duration.toFixed(2)} s`,
      expected: `at least ${SHORTEST_CLIP} s (10 s or more is common practice)`,
      remedy: 'a clip this short shows too few steps to tell bob from travel; use a longer take',
    });
  }
  const { quaternions, sampleRate } = evenlySampled(track);
  const factor = decimationFactor(sampleRate);
  const workingRate = sampleRate / factor;
  const n = quaternions.length / 4;

  let reference = gaussianMeanPath(quaternions, REFERENCE_DEVIATION * sampleRate);
  let guess: ShotGuess | undefined;
  let gait: Gait | undefined;
  for (let pass = 0; pass < PASSES; pass++) {
    const path = unrollPath(reference);
    const coordinates = mapCoordinates(coordinatesAlong(path, quaternions), (signal) =>
      decimate(signal, sampleRate, factor),
    );
    gait ??= trackStepFrequency(coordinates, workingRate);
    guess ??= decideShot(coordinates, workingRate, gait, options.shot);
    const smooth = smoothCoordinates(coordinates, workingRate, guess.shot, gait, options.filter);
    reference = orientationsAt(
      path,
      mapCoordinates(smooth, (signal) => undecimate(signal, factor, n)),
    );
  }
  const { shot, confidence } = guess!;
  return {
    intended: atTimesOf(track, reference, sampleRate),
    shot,
    confidence,
    gait: {
      walking: isWalking(gait!),
      stepFrequency: gait!.frequency.reduce((sum, f) => sum + f, 0) / gait!.frequency.length,
      score: gait!.score,
    },
    warnings: shotWarnings(duration, guess!),
  };
}

/** The track on an even grid, as it is where it already lies on one. */
function evenlySampled(track: OrientationTrack): { quaternions: Float64Array; sampleRate: number } {
  const last = track.times[track.times.length - 1]!;
  if (isEvenlySpaced(track.times)) {
    return { quaternions: track.quaternions, sampleRate: (track.times.length - 1) / last };
  }
  const interval = medianInterval(track.times);
  return {
    quaternions: interpolateTrack(track, evenTimes(last, interval), 'squad'),
    sampleRate: 1 / interval,
  };
}

function atTimesOf(
  track: OrientationTrack,
  quaternions: Float64Array,
  sampleRate: number,
): OrientationTrack {
  if (isEvenlySpaced(track.times)) return withQuaternions(track, quaternions);
  const times = Float64Array.from({ length: quaternions.length / 4 }, (_, k) => k / sampleRate);
  return withQuaternions(
    track,
    interpolateTrack({ ...track, times, quaternions }, track.times, 'squad'),
  );
}

function decideShot(
  coordinates: Coordinates,
  sampleRate: number,
  gait: Gait,
  wanted: 'auto' | ShotKind = 'auto',
): ShotGuess {
  if (wanted !== 'auto') return { shot: wanted, confidence: 1 };
  const slow = mapCoordinates(coordinates, (signal) =>
    splineFilter(signal, sampleRate, CUTOFF_SHARE.heading * TYPICAL_STEP),
  );
  return recogniseShot(slow, sampleRate, gait);
}

function smoothCoordinates(
  coordinates: Coordinates,
  sampleRate: number,
  shot: ShotKind,
  gait: Gait,
  name: FilterName = 'structural',
): Coordinates {
  if (name === 'structural') return separateStructurally(coordinates, sampleRate, gait).intended;
  if (shot === 'locked-off') {
    return mapCoordinates(coordinates, (signal) =>
      new Float64Array(signal.length).fill(signal.reduce((sum, x) => sum + x, 0) / signal.length),
    );
  }
  const step = isWalking(gait)
    ? gait.frequency.reduce((least, f) => Math.min(least, f), Number.POSITIVE_INFINITY)
    : TYPICAL_STEP;
  const filter = CLASSIC_FILTERS[name];
  return mapCoordinates(coordinates, (signal, axis) =>
    filter(signal, sampleRate, CUTOFF_SHARE[axis] * step),
  );
}

function shotWarnings(duration: number, guess: ShotGuess): Warning[] {
  const warnings: Warning[] = [];
  if (duration < SHORT_CLIP) {
    warnings.push({
      code: 'motion/short',
      message: `the clip lasts ${duration.toFixed(1)} s; below ${SHORT_CLIP} s steps and travel are hard to tell apart, so judge the result with care`,
    });
  }
  if (guess.confidence < 0.6) {
    warnings.push({
      code: 'motion/shot-unclear',
      message: `taken for a ${guess.shot} shot with a confidence of only ${Math.round(100 * guess.confidence)} %; if that is wrong, say which it is (travelling, pan or locked-off)`,
    });
  }
  return warnings;
}
