import { RADIANS_PER_DEGREE } from '../math.js';
import {
  logLikelihood,
  newOscillator,
  type Oscillator,
  type StructuralModel,
  smoothStructure,
} from '../numeric/structuralModel.js';
import type { Gait } from './gait.js';
import { alwaysWalking, buildGaitModel, type GaitModel } from './gaitModel.js';
import { lookingAbout, lookingAboutTogether } from './lookingAbout.js';
import {
  derivative,
  findMoves,
  type Move,
  poolMean,
  runsWhere,
  shareMoving,
  slowPath,
  swayLevel,
} from './moves.js';
import { type Coordinates, mapCoordinates } from './pathCoordinates.js';

/** What one axis of the operator does: rests, moves now and then, travels, or looks about. */
export type AxisConduct = 'rest' | 'moves' | 'travel' | 'looking-about' | 'mixed';

/** Intended path and body of one axis, radians. */
interface AxisSeparation {
  readonly intended: Float64Array;
  readonly sway: Float64Array;
  readonly bob: Float64Array;
  readonly conduct: AxisConduct;
}

/** Intended path and body of all axes, radians at the working rate. */
export interface StructuralSeparation {
  readonly intended: Coordinates;
  readonly sway: Coordinates;
  readonly bob: Coordinates;
  readonly conduct: Readonly<Record<keyof Coordinates, AxisConduct>>;
  readonly walking: boolean;
}

/** What the operator says about stretches of the clip, at the working rate: 1 move, −1 hold, 0 nothing. */
export type Marks = Int8Array;

/** What may be assumed about the clip. */
export interface Assumptions {
  /** Standing, turning now and then: nothing is travel or looking about. */
  readonly standing: boolean;
  readonly marks?: Marks;
}

const DEGREE2 = RADIANS_PER_DEGREE ** 2;
/** Variance of what remains after all parts: noise of the tracker and tremor below 5 Hz. */
const NOISE = 2.5e-3 * DEGREE2;
/** Sway of a standing body: a damped oscillation around 0.27 Hz that forgets itself in 0.8 s. */
const SWAY = { frequency: 0.27, lifetime: 0.8 };
/** Trend noise while the axis rests, (rad/s)² per second: the candidates. */
const REST_NOISE = [1e-6, 1e-5, 1e-4, 1e-3].map((q) => q * DEGREE2);
/** Trend noise within moves, as a share of their squared acceleration: the candidates. */
const MOVE_SHARE = [0.03, 0.1, 0.3, 1];
/** Sway cannot be told from continuous looking about; this is what bodies do, rad. */
const SWAY_WHILE_LOOKING = 0.25 * RADIANS_PER_DEGREE;
/** Log likelihood that moves must gain over a restful body; real ones gain hundreds. */
const NEEDED_GAIN = 30;
/** Moves over more than this share of a clip are one travel. */
const TRAVEL_SHARE = 0.6;

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
  };
}

/** A score below this is no walk, whatever the likelihood says. */
const LEAST_GAIT_SCORE = 2.8;
/** Log likelihood that a walk must gain; and what telling when it pauses costs. */
const GAIT_GAIN = 8;
const PAUSES_COST = 4;

/** Sway of a person while the steps are looked for, rad. */
const TYPICAL_SWAY = 0.4 * RADIANS_PER_DEGREE;

/** No walk, a walk with pauses, or a walk throughout: whichever the clip supports best. */
function chooseGait(
  coordinates: Coordinates,
  sampleRate: number,
  gait: Gait,
  sway: Oscillator,
): GaitModel | undefined {
  if (gait.score < LEAST_GAIT_SCORE) return undefined;
  const paused = buildGaitModel(coordinates, sampleRate, gait);
  const always = alwaysWalking(paused);
  const evidence = (model: GaitModel | undefined) => {
    let sum = 0;
    mapCoordinates(coordinates, (signal, axis) => {
      const oscillators = model?.oscillators[axis] ?? [];
      sum += Math.max(
        ...[-3, -1, 1].map((exponent) =>
          logLikelihood(signal, {
            ...baseModel(signal.length, sampleRate, 10 ** exponent * DEGREE2),
            oscillators: [{ ...sway, variance: TYPICAL_SWAY ** 2 }, ...oscillators],
          }),
        ),
      );
      return signal;
    });
    return sum;
  };
  const none = evidence(undefined);
  const withPauses = evidence(paused) - PAUSES_COST;
  const throughout = evidence(always);
  if (Math.max(withPauses, throughout) - none < GAIT_GAIN) return undefined;
  return withPauses > throughout ? paused : always;
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
  // instead of twelve. What the steps are is known better once a model has been chosen, so the
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

/**
 * The largest sway of a standing or walking body over three seconds, root mean square, rad (our
 * judgement, above the largest of published standing sway and of our synthetic bodies). What is
 * larger is something the operator means.
 */
const LARGEST_SWAY = 3 * RADIANS_PER_DEGREE;

/**
 * Where the removed slow motion is larger than any body's, widened to the seconds around it: 0 to
 * 1 at each sample, or undefined where it nowhere is.
 */
function beyondBody(
  removed: Float64Array,
  moves: readonly Move[],
  sampleRate: number,
): Float64Array | undefined {
  // Where a turn starts and ends the trend may lag for a moment; that is no body either.
  const outside = removed.map((value) => value * value);
  const margin = Math.round(1.5 * sampleRate);
  for (const { from, to } of moves) outside.fill(0, Math.max(0, from - margin), to + margin);
  const size = poolMean(outside, 3 * sampleRate).map(Math.sqrt);
  if (!size.some((value) => value > LARGEST_SWAY)) return undefined;
  const near = size.map((value) => (value > LARGEST_SWAY / 2 ? 1 : 0));
  return poolMean(
    near.map((_, k) =>
      near
        .subarray(Math.max(0, k - Math.round(2 * sampleRate)), k + Math.round(2 * sampleRate))
        .includes(1)
        ? 1
        : 0,
    ),
    1.5 * sampleRate,
  );
}

function sumOf(parts: readonly Float64Array[], n: number): Float64Array {
  const sum = new Float64Array(n);
  for (const part of parts) for (let k = 0; k < n; k++) sum[k]! += part[k]!;
  return sum;
}

function subtract(a: Float64Array, b: Float64Array): Float64Array {
  return a.map((value, k) => value - b[k]!);
}

/** One axis without steps. */
interface SlowAxis {
  readonly signal: Float64Array;
  readonly slow: Float64Array;
  readonly sampleRate: number;
  /** Shape of the sway; its variance and weight are chosen per model. */
  readonly swayOscillator: Oscillator;
}

function chooseConduct(
  axis: SlowAxis,
  looking: Float64Array,
  { standing, marks }: Assumptions,
  evidenceWithSteps: (model: StructuralModel) => number,
): { model: StructuralModel; conduct: AxisConduct; moves: readonly Move[] } {
  const { signal, slow, sampleRate, swayOscillator } = axis;
  const n = signal.length;
  const anyLooking = looking.some((weight) => weight > 0.5);
  const resting = (k: number) => looking[k]! < 0.5;
  const restSamples = looking.reduce((count, weight) => count + (weight < 0.5 ? 1 : 0), 0);
  const sway = !anyLooking
    ? swayLevel(slow, sampleRate)
    : restSamples > 5 * sampleRate
      ? swayLevel(slow, sampleRate, resting)
      : SWAY_WHILE_LOOKING;
  const moving = new Uint8Array(n);
  for (const { from, to } of findMoves(slow, sampleRate, sway)) moving.fill(1, from, to);
  marks?.forEach((mark, k) => {
    if (mark !== 0) moving[k] = mark > 0 ? 1 : 0;
  });
  const moves = runsWhere(n, (k) => moving[k] === 1);
  const model = (
    trendNoise: Float64Array,
    deviation: number,
    order: 2 | 3 = 2,
    swayWeight?: Float64Array,
  ): StructuralModel => ({
    ...baseModel(n, sampleRate, 0),
    order,
    trendNoise,
    oscillators: [
      {
        ...swayOscillator,
        variance: deviation * deviation,
        ...(swayWeight && { weight: swayWeight }),
      },
    ],
  });
  const best = (candidates: readonly StructuralModel[]) =>
    bestModel(candidates, (candidate) => logLikelihood(signal, candidate));

  if (anyLooking) {
    const weight = looking.map((w) => 1 - w + (w * SWAY_WHILE_LOOKING) / sway);
    const mixed = restSamples > 0.02 * n;
    const rest = mixed
      ? gatedTrend(
          axis,
          moving.map((m, k) => (resting(k) ? m : 0)),
          sway,
          model,
        ).model.trendNoise
      : new Float64Array(n).fill(REST_NOISE[2]!);
    const candidates = range(0, 5, 0.5).map((exponent) => {
      const open = Math.log(10 ** exponent * DEGREE2);
      return model(
        rest.map((q, k) => Math.exp((1 - looking[k]!) * Math.log(q) + looking[k]! * open)),
        sway,
        2,
        weight,
      );
    });
    return { model: best(candidates).model, conduct: mixed ? 'mixed' : 'looking-about', moves: [] };
  }
  if (!standing && shareMoving(moves, n) > TRAVEL_SHARE) {
    const candidates = range(-5, 4, 0.5).map((exponent) =>
      model(new Float64Array(n).fill(10 ** exponent * DEGREE2), sway, 3),
    );
    return { model: best(candidates).model, conduct: 'travel', moves: [] };
  }
  // A body that only sways, perhaps more than was read off it.
  const still = (deviation: number) =>
    REST_NOISE.map((q) => model(new Float64Array(n).fill(q), deviation));
  const swayVariance = best(
    [1, 1.4, 2]
      .filter((ratio) => ratio === 1 || sway * ratio < LARGEST_READING)
      .flatMap((ratio) => still(sway * ratio)),
  ).model.oscillators[0]!.variance;
  const atRest = bestModel(
    still(Math.sqrt(swayVariance)),
    (candidate) => evidenceWithSteps(candidate) - restlessness(candidate),
  );
  if (moves.length === 0) return { model: atRest.model, conduct: 'rest', moves };
  const gated = gatedTrend(axis, moving, sway, model);
  if (marks?.some((mark) => mark > 0)) return { model: gated.model, conduct: 'moves', moves };
  return evidenceWithSteps(gated.model) - atRest.evidence < NEEDED_GAIN
    ? { model: atRest.model, conduct: 'rest', moves: [] }
    : { model: gated.model, conduct: 'moves', moves };
}

/** Sway is not read higher than this, rad. */
const LARGEST_READING = 1.3 * RADIANS_PER_DEGREE;

/**
 * What a wandering trend must gain over a quiet one, log likelihood: 2 for every factor of ten.
 * Between trends that wander little the data hardly decide, and the quiet one is nearer the truth.
 */
function restlessness({ trendNoise }: StructuralModel): number {
  return 2 * Math.log10(trendNoise[0]! / REST_NOISE[0]!);
}

type ModelOf = (trendNoise: Float64Array, deviation: number) => StructuralModel;

/**
 * A trend that is nearly straight at rest and open within moves, as far as their acceleration
 * says; the acceleration is read off the result and the fit repeated.
 */
function gatedTrend(
  { signal, slow, sampleRate }: SlowAxis,
  moving: Uint8Array,
  sway: number,
  model: ModelOf,
): { model: StructuralModel; evidence: number } {
  const anyMove = moving.includes(1);
  const squaredAcceleration = (path: Float64Array) =>
    poolMean(
      derivative(derivative(path, sampleRate), sampleRate).map((a) => a * a),
      sampleRate,
    );
  // The first look is at a path that still sways: half of what sway contributes is taken off.
  let energy: Float64Array = squaredAcceleration(slowPath(slow, sampleRate)).map((e) =>
    Math.max(e - 0.5 * (3.55 * sway) ** 2, 0),
  );
  let found: { model: StructuralModel; evidence: number } | undefined;
  for (let pass = 0; pass < (anyMove ? 4 : 1); pass++) {
    const candidates = REST_NOISE.flatMap((rest) =>
      (anyMove ? MOVE_SHARE : [0]).map((share) => {
        const logNoise = energy.map((e, k) =>
          Math.log(moving[k] ? Math.max(rest, e * share) : rest),
        );
        return model(poolMean(logNoise, 0.5 * sampleRate).map(Math.exp), sway);
      }),
    );
    found = bestModel(candidates, (candidate) => logLikelihood(signal, candidate));
    if (anyMove) energy = squaredAcceleration(smoothStructure(signal, found.model).trend);
  }
  return found!;
}

function bestModel(
  candidates: readonly StructuralModel[],
  evidenceOf: (model: StructuralModel) => number,
): { model: StructuralModel; evidence: number } {
  let best = { model: candidates[0]!, evidence: Number.NEGATIVE_INFINITY };
  for (const model of candidates) {
    const evidence = evidenceOf(model);
    if (evidence > best.evidence) best = { model, evidence };
  }
  return best;
}

function baseModel(n: number, sampleRate: number, trendNoise: number): StructuralModel {
  return {
    sampleRate,
    order: 2,
    trendNoise: new Float64Array(n).fill(trendNoise),
    oscillators: [],
    noise: NOISE,
  };
}

function swayOscillator(n: number, sampleRate: number): Oscillator {
  const step = new Float64Array(n).fill((2 * Math.PI * SWAY.frequency) / sampleRate);
  return newOscillator(1, step, SWAY.lifetime, sampleRate);
}

function range(from: number, to: number, step: number): number[] {
  return Array.from({ length: Math.round((to - from) / step) + 1 }, (_, k) => from + k * step);
}
