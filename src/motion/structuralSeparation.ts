import type { Oscillator, StructuralModel } from '../numeric/structuralModel.js';
import { logLikelihood, smoothStructure } from '../numeric/structuralSmoother.js';
import { type Assumptions, type AxisConduct, chooseConduct, type Marks } from './axisConduct.js';
import { baseModel, beyondBody, DEGREE2, swayOscillator } from './bodyModel.js';
import type { Gait } from './gait.js';
import { chooseGait } from './gaitModel.js';
import { lookingAbout, lookingAboutTogether } from './lookingAbout.js';
import { type Move, runsWhere } from './moves.js';
import { type Coordinates, mapCoordinates } from './pathCoordinates.js';

/** Intended path and body of one axis, radians. */
interface AxisSeparation {
  readonly intended: Float64Array;
  readonly sway: Float64Array;
  readonly bob: Float64Array;
  readonly conduct: AxisConduct;
  readonly moves: readonly Move[];
  /** Share of the time that the axis never rests. */
  readonly restlessShare: number;
}

/** Intended path and body of all axes, radians at the working rate. */
export interface StructuralSeparation {
  readonly intended: Coordinates;
  readonly sway: Coordinates;
  readonly bob: Coordinates;
  readonly conduct: Readonly<Record<keyof Coordinates, AxisConduct>>;
  readonly walking: boolean;
  readonly moves: Readonly<Record<keyof Coordinates, readonly Move[]>>;
  /** Share of the time that heading or tilt never rests. */
  readonly restlessShare: number;
}

/**
 * Splits three coordinates into what the operator meant and what the body added, by a structural
 * time-series model whose parameters all come from the clip: a trend whose noise opens within
 * detected moves, a damped sway, and oscillators at multiples of the step frequency that are seen
 * only while someone walks.
 *
 * @param coordinates - heading, tilt, roll, radians, evenly sampled near 15 Hz
 * @param sampleRate - Hz
 * @see Harvey, Forecasting, Structural Time Series Models and the Kalman Filter, 1989
 */
export function separateStructurally(
  coordinates: Coordinates,
  sampleRate: number,
  gait: Gait,
  assumptions: Assumptions = { standing: false },
): StructuralSeparation {
  const n = coordinates.tilt.length;
  const sway = swayOscillator(n, sampleRate);
  const model = chooseGait(coordinates, sampleRate, gait, sway);
  const prepared = {
    heading: withoutSteps(coordinates.heading, sampleRate, model?.oscillators.heading ?? []),
    tilt: withoutSteps(coordinates.tilt, sampleRate, model?.oscillators.tilt ?? []),
    roll: withoutSteps(coordinates.roll, sampleRate, model?.oscillators.roll ?? []),
  };
  const nowhere = new Float64Array(n);
  const looking = assumptions.standing
    ? { heading: nowhere, tilt: nowhere, roll: nowhere }
    : {
        ...lookingAboutTogether(prepared.heading.slow, prepared.tilt.slow, sampleRate),
        roll: lookingAbout(prepared.roll.slow, sampleRate),
      };
  const separations = {
    heading: separateAxis(prepared.heading, looking.heading, sway, sampleRate, assumptions),
    tilt: separateAxis(prepared.tilt, looking.tilt, sway, sampleRate, assumptions),
    // Marks speak of where the camera looks; a move says nothing about its roll.
    roll: separateAxis(prepared.roll, looking.roll, sway, sampleRate, {
      ...assumptions,
      ...(assumptions.marks && { marks: assumptions.marks.map((mark) => Math.min(mark, 0)) }),
    }),
  };
  const part = (key: 'intended' | 'sway' | 'bob') =>
    mapCoordinates(coordinates, (_, axis) => separations[axis][key]);
  return {
    intended: part('intended'),
    sway: part('sway'),
    bob: part('bob'),
    conduct: {
      heading: separations.heading.conduct,
      tilt: separations.tilt.conduct,
      roll: separations.roll.conduct,
    },
    walking: model !== undefined,
    restlessShare: Math.max(separations.heading.restlessShare, separations.tilt.restlessShare),
    moves: {
      heading: separations.heading.moves,
      tilt: separations.tilt.moves,
      roll: separations.roll.moves,
    },
  };
}

/** One axis before its conduct is known. */
interface AxisSignal {
  readonly signal: Float64Array;
  /** The signal without steps: travel and sway. */
  readonly slow: Float64Array;
  /** The steps, as a permissive trend leaves them. */
  readonly steps: Float64Array;
  readonly bob: readonly Oscillator[];
}

/** Lets a permissive trend follow travel and sway, so that only the steps go to the oscillators. */
function withoutSteps(
  signal: Float64Array,
  sampleRate: number,
  bob: readonly Oscillator[],
): AxisSignal {
  const n = signal.length;
  const { trend, oscillations } = smoothStructure(signal, {
    ...baseModel(n, sampleRate, 30 * DEGREE2),
    oscillators: bob,
  });
  return { signal, slow: trend, steps: sumOf(oscillations, n), bob };
}

/** Times the model is opened up where what it removes is larger than a body. */
const OPENINGS = 2;

function separateAxis(
  axis: AxisSignal,
  lookingFirst: Float64Array,
  sway: Oscillator,
  sampleRate: number,
  assumptions: Assumptions,
): AxisSeparation {
  const { signal, slow, steps: firstSteps, bob } = axis;
  const withSteps = (model: StructuralModel): StructuralModel => ({
    ...model,
    oscillators: [...model.oscillators, ...bob],
  });
  const { marks } = assumptions;
  const unlessHeld = (weights: Float64Array) =>
    marks ? weights.map((weight, k) => (marks[k]! < 0 ? 0 : weight)) : weights;
  const nowhere = new Float64Array(signal.length);
  let looking = unlessHeld(lookingFirst);
  if (isWholeClip(looking) && movesExplain(axis, sway, sampleRate, assumptions)) {
    looking = nowhere;
  }
  let steps = firstSteps;
  // The choice among many models looks at the signal without steps, where they have four states
  // instead of eight. What the steps are is known better once a model has been chosen, so the
  // choice is made twice; and again where its result takes out more than a body does.
  for (let round = bob.length === 0 ? 1 : 0; ; round++) {
    const stepless = subtract(signal, steps);
    const chosen = chooseConduct(
      { signal: stepless, slow, sampleRate, swayOscillator: sway },
      looking,
      assumptions,
      (model) =>
        round === 0 ? logLikelihood(stepless, model) : logLikelihood(signal, withSteps(model)),
    );
    const parts = smoothStructure(signal, withSteps(chosen.model));
    steps = sumOf(parts.oscillations.slice(1), signal.length);
    if (round === 0) continue;
    const excess = beyondBody(subtract(slow, parts.trend), chosen.moves, sampleRate);
    if (excess === undefined || round > OPENINGS) {
      return {
        intended: marks ? restingWhereHeld(parts.trend, marks, sampleRate) : parts.trend,
        sway: parts.oscillations[0]!,
        bob: steps,
        conduct: chosen.conduct,
        moves: chosen.moves,
        restlessShare: looking.reduce((sum, weight) => sum + weight, 0) / looking.length,
      };
    }
    looking = unlessHeld(looking.map((weight, k) => Math.max(weight, excess[k]!)));
  }
}

/** Seconds in which a held view comes to rest, and moves on again. */
const SETTLING = 2;

/**
 * A trend that rests at its mean within each held stretch: what it does there is not meant, however
 * slow. On either side the view glides to the trend and from it.
 */
function restingWhereHeld(trend: Float64Array, marks: Marks, sampleRate: number): Float64Array {
  const n = trend.length;
  const out = trend.slice();
  const reach = Math.round(SETTLING * sampleRate);
  for (const { from, to } of runsWhere(n, (k) => marks[k]! < 0)) {
    let mean = 0;
    for (let k = from; k < to; k++) mean += trend[k]! / (to - from);
    for (let k = Math.max(0, from - reach); k < Math.min(n, to + reach); k++) {
      const outside = Math.max(from - k, k - (to - 1), 0) / reach;
      const weight = 1 - outside * outside * outside * (10 - 15 * outside + 6 * outside * outside);
      out[k]! += weight * (mean - out[k]!);
    }
  }
  return out;
}

/** Share of a clip that counts as all of it. */
const WHOLE = 0.9;

function isWholeClip(looking: Float64Array): boolean {
  return looking.reduce((sum, weight) => sum + weight, 0) > WHOLE * looking.length;
}

/**
 * Whether moves with rests between them explain all but a body's sway: frequent pans look restless
 * too.
 */
function movesExplain(
  { signal, slow, steps }: AxisSignal,
  sway: Oscillator,
  sampleRate: number,
  assumptions: Assumptions,
): boolean {
  const stepless = subtract(signal, steps);
  const { model, conduct } = chooseConduct(
    { signal: stepless, slow, sampleRate, swayOscillator: sway },
    new Float64Array(signal.length),
    assumptions,
    (candidate) => logLikelihood(stepless, candidate),
  );
  const { trend } = smoothStructure(stepless, model);
  return conduct === 'moves' && beyondBody(subtract(slow, trend), [], sampleRate) === undefined;
}

function sumOf(parts: readonly Float64Array[], n: number): Float64Array {
  const sum = new Float64Array(n);
  for (const part of parts) for (let k = 0; k < n; k++) sum[k]! += part[k]!;
  return sum;
}

function subtract(a: Float64Array, b: Float64Array): Float64Array {
  return a.map((value, k) => value - b[k]!);
}
