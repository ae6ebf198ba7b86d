import { RADIANS_PER_DEGREE } from '../math.js';
import {
  logLikelihood,
  type Oscillator,
  type StructuralModel,
  smoothStructure,
} from '../numeric/structuralModel.js';
import { baseModel, DEGREE2 } from './bodyModel.js';
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

/** What one axis of the operator does: rests, moves now and then, travels, or looks about. */
export type AxisConduct = 'rest' | 'moves' | 'travel' | 'looking-about' | 'mixed';

/** What the operator says about stretches of the clip, at the working rate: 1 move, −1 hold, 0 nothing. */
export type Marks = Int8Array;

/** What may be assumed about the clip. */
export interface Assumptions {
  /** Standing, turning now and then: nothing is travel or looking about. */
  readonly standing: boolean;
  readonly marks?: Marks;
}

/** One axis without steps. */
export interface SlowAxis {
  readonly signal: Float64Array;
  readonly slow: Float64Array;
  readonly sampleRate: number;
  /** Shape of the sway; its variance and weight are chosen per model. */
  readonly swayOscillator: Oscillator;
}

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

/** Sway is not read higher than this, rad. */
const LARGEST_READING = 1.3 * RADIANS_PER_DEGREE;

/**
 * Decides what an axis does and with which model: rest, moves, one travel, or looking about where
 * `looking` says so. Every size comes from the axis itself, every decision from likelihoods.
 *
 * @param looking - 0 to 1 at each sample, see lookingAbout.ts
 * @param evidenceWithSteps - log likelihood of a model once the steps are in it
 */
export function chooseConduct(
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

function range(from: number, to: number, step: number): number[] {
  return Array.from({ length: Math.round((to - from) / step) + 1 }, (_, k) => from + k * step);
}
