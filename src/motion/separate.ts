import { TwinkeelError, type Warning } from '../error.js';
import { requireFiniteRotations } from '../track/finite.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { calmPath } from './calmPath.js';
import { CLASSIC_FILTERS, type ClassicFilterName } from './classicFilters.js';
import {
  type FeltSteps,
  type Gait,
  gaitFromSteps,
  steadySteps,
  trackStepFrequency,
} from './gait.js';
import { type Marker, markSamples } from './markers.js';
import { type Coordinates, mapCoordinates, unrollPath } from './pathCoordinates.js';
import { nameShot, type ShotGuess, type ShotKind } from './shot.js';
import { cutoffsOf } from './stayingMoves.js';
import { type StructuralSeparation, separateStructurally } from './structuralSeparation.js';
import {
  atTimesOf,
  coordinatesOn,
  firstReference,
  gridOf,
  orientationsOn,
  refine,
} from './workingGrid.js';

/** The ways to find the intended path: our structural model, or a filter from the textbooks. */
export type FilterName = 'structural' | ClassicFilterName;

/** How to separate. */
export interface SeparateOptions {
  /** Kind of shot; recognised when left out or `auto`. */
  readonly shot?: 'auto' | ShotKind;
  /** How the intended path is found; `structural` when left out. */
  readonly filter?: FilterName;
  /**
   * How long the shortest move takes that the operator means, seconds from 0.5 to 60; what is faster
   * is the body's and goes, except where a move stays. Longer is calmer. 2 when left out
   * (structural filter only).
   */
  readonly shortestMove?: number;
  /** Steps that an accelerometer felt, on the track's time; they are looked for in the track otherwise. */
  readonly steps?: FeltSteps;
  /** What the operator says about stretches of the clip (structural filter only). */
  readonly markers?: readonly Marker[];
  /** Called with the share of the work that is done, 0 to 1. */
  readonly onProgress?: (share: number) => void;
  /** Stops the work when `aborted` becomes true; an AbortSignal will do. */
  readonly signal?: {
    /** Looked at between the steps of the work. */
    readonly aborted: boolean;
  };
}

/** What the body added to the intended path, radians, one array per coordinate. */
export interface BodyMotion {
  /** When, seconds: the track's own times where these are even, else an even grid of its median interval. */
  readonly times: Float64Array;
  /** Slow sway of the whole body. */
  readonly sway: Coordinates;
  /** What comes with the steps. */
  readonly bob: Coordinates;
}

/** What the operator meant and what the body added. */
export interface Separation {
  /** The intended orientations at the times of the track, roll kept. */
  readonly intended: OrientationTrack;
  /** Kind of shot, as given or recognised. */
  readonly shot: ShotKind;
  /** How clearly the clip is this kind of shot, 0 to 1; 1 when it was given. */
  readonly confidence: number;
  /** What speaks for it, in words. */
  readonly because: string;
  /** How the operator walks. */
  readonly gait: {
    /** Whether the clip is modelled with steps. */
    readonly walking: boolean;
    /** Mean step frequency, Hz; steps per second. */
    readonly stepFrequency: number;
    /** How far the steps stand out of the spectrum; without walking below 2.8 as a rule. */
    readonly score: number;
  };
  /** Sway and bob by the structural model, whatever the filter; what remains is tremor. */
  readonly components: BodyMotion;
  /** What is to know, such as a kind of shot that is not clear. */
  readonly warnings: readonly Warning[];
}

/** Seconds of the shortest move where nothing is said: nobody pans faster (common practice, no source). */
export const SHORTEST_MOVE = 2;
/** Shorter clips are separated with a warning, s (our judgement). */
const SHORT_CLIP = 8;
/** Cut-off per axis as a share of the step frequency: below the sway from foot to foot at ½. */
const CUTOFF_SHARE = { heading: 0.25, tilt: 0.2, roll: 0.15 };
/** Steps per second where nobody walks, Hz. */
const TYPICAL_STEP = 2;

/**
 * Splits the motion of a camera into the path its operator meant and the bob, sway, roll and
 * tremor of the body that carries it.
 *
 * @param track - camera→world, level world, at least 3 s
 * @param options - how to separate; everything may be left out
 * @returns the intended path at the same times, and what was recognised; cost O(n)
 * @throws TwinkeelError `track/too-short` below 3 s, `track/too-sparse` below 10 samples a second,
 *   `argument/invalid` for markers outside the
 *   clip, `motion/aborted`
 * @example
 * const { intended, shot, gait } = separate(track);
 * shot; // 'travelling'
 * gait.stepFrequency; // 1.9 Hz
 */
export function separate(track: OrientationTrack, options: SeparateOptions = {}): Separation {
  const progress = (share: number) => {
    if (options.signal?.aborted) throw aborted();
    options.onProgress?.(share);
  };
  const grid = gridOf(track);
  progress(0);

  let reference = firstReference(grid);
  let coordinates = coordinatesOn(grid, reference);
  const gait = options.steps
    ? gaitFromSteps(options.steps, coordinates.tilt.length, grid.workingRate)
    : trackStepFrequency(coordinates, grid.workingRate);
  const steps = decideSteps(gait, coordinates, grid.workingRate, options.steps !== undefined);
  progress(0.2);
  let solution = split(coordinates, grid.workingRate, gait, options);
  let intended = orientationsOn(grid, reference, solution.intended);
  if (reference) {
    progress(0.6);
    reference = unrollPath(intended);
    coordinates = coordinatesOn(grid, reference);
    solution = split(coordinates, grid.workingRate, gait, options);
    intended = orientationsOn(grid, reference, solution.intended);
  }
  progress(1);

  requireFiniteRotations(intended, 'intended');
  const guess = guessShot(solution.structure, steps, grid.duration, options);
  const refined = (part: Coordinates) => mapCoordinates(part, (signal) => refine(grid, signal));
  return {
    intended: atTimesOf(track, grid, intended),
    ...guess,
    gait: { walking: steps.walking, stepFrequency: steps.stepFrequency, score: gait.score },
    components: {
      times: grid.times,
      sway: refined(solution.structure.sway),
      bob: refined(solution.structure.bob),
    },
    warnings: [...shotWarnings(grid.duration, guess), ...markerWarnings(options)],
  };
}

/** The kind of shot, as it was given or by what was found. */
function guessShot(
  { conduct, restlessShare, moves }: StructuralSeparation,
  steps: Steps,
  duration: number,
  { shot = 'auto' }: SeparateOptions,
): ShotGuess {
  if (shot !== 'auto') return { shot, confidence: 1, because: 'as it was given' };
  const count = moves.heading.length + moves.tilt.length;
  return nameShot({ conduct, restlessShare, moves: count, ...steps, duration });
}

/** Whether somebody walks, how fast, and how clearly. */
interface Steps {
  readonly walking: boolean;
  /** Hz. */
  readonly stepFrequency: number;
  readonly stepClarity: number;
}

/** Scores at which a walk is neither seen nor excluded, and how far from there it is clear. */
const UNDECIDED = { windows: 4.2, whole: 2.9 };
const CLEAR = { windows: 1.5, whole: 1 };

/**
 * Whether somebody walks: seen in the clearest windows, over the clip as a whole, or felt by an
 * accelerometer. The model of steps may be taken for less, since it does no harm.
 */
function decideSteps(
  gait: Gait,
  coordinates: Coordinates,
  sampleRate: number,
  felt: boolean,
): Steps {
  const mean = gait.frequency.reduce((sum, f) => sum + f, 0) / gait.frequency.length;
  const windows = (gait.score - UNDECIDED.windows) / CLEAR.windows;
  if (felt) return { walking: windows > 0, stepFrequency: mean, stepClarity: windows };
  const steady = steadySteps(coordinates, sampleRate);
  const whole = (steady.score - UNDECIDED.whole) / CLEAR.whole;
  return {
    walking: Math.max(windows, whole) > 0,
    stepFrequency: windows > 0 || whole <= 0 ? mean : steady.frequency,
    stepClarity: Math.max(windows, whole),
  };
}

interface Solution {
  readonly intended: Coordinates;
  readonly structure: StructuralSeparation;
}

/** Intended coordinates by the wanted filter; the structural model names the shot in any case. */
function split(
  coordinates: Coordinates,
  sampleRate: number,
  gait: Gait,
  { shot, filter = 'structural', markers = [], shortestMove = SHORTEST_MOVE }: SeparateOptions,
): Solution {
  const marks =
    markers.length > 0 ? markSamples(markers, coordinates.tilt.length, sampleRate) : undefined;
  const structure = separateStructurally(coordinates, sampleRate, gait, {
    standing: shot === 'pan',
    ...(marks && { marks }),
  });
  if (shot === 'locked-off') {
    return { intended: mapCoordinates(structure.intended, heldStill), structure };
  }
  if (filter === 'structural') {
    const intended = calmPath({
      measured: coordinates,
      modelled: structure.intended,
      cutoffs: mapCoordinates(coordinates, (signal, axis) =>
        cutoffsOf(
          signal,
          structure.moves[axis],
          sampleRate,
          shortestMove,
          // A move says nothing about the roll.
          axis === 'roll' ? marks?.map((mark) => Math.min(mark, 0)) : marks,
        ),
      ),
      sampleRate,
      shortestMove,
      ...(marks && { held: Float64Array.from(marks, (mark) => (mark < 0 ? 1 : 0)) }),
    });
    return { intended, structure };
  }
  const step = structure.walking
    ? gait.frequency.reduce((least, f) => Math.min(least, f), Number.POSITIVE_INFINITY)
    : TYPICAL_STEP;
  return {
    intended: mapCoordinates(coordinates, (signal, axis) =>
      CLASSIC_FILTERS[filter](signal, sampleRate, CUTOFF_SHARE[axis] * step),
    ),
    structure,
  };
}

function heldStill(signal: Float64Array): Float64Array {
  const mean = signal.reduce((sum, x) => sum + x, 0) / signal.length;
  return new Float64Array(signal.length).fill(mean);
}

function aborted(): TwinkeelError {
  return new TwinkeelError('motion/aborted', {
    found: 'a signal to stop',
    expected: 'to go on',
    remedy: 'start again when wanted',
  });
}

function markerWarnings({ markers = [], filter = 'structural', shot }: SeparateOptions): Warning[] {
  const still = shot === 'locked-off';
  if (markers.length === 0 || (filter === 'structural' && !still)) return [];
  return [
    {
      code: 'motion/markers-unused',
      message: still
        ? 'a locked-off shot stands still throughout, so the markers were not used'
        : `markers only guide the structural filter; the ${filter} filter does not know them`,
    },
  ];
}

function shotWarnings(duration: number, guess: ShotGuess): Warning[] {
  const warnings: Warning[] = [];
  if (duration < SHORT_CLIP) {
    warnings.push({
      code: 'motion/short',
      message: `the clip lasts ${duration.toFixed(1)} s; below ${SHORT_CLIP} s steps and travel are hard to tell apart, so confidence is low: judge the result with care`,
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
