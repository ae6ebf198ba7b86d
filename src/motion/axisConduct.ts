import { RADIANS_PER_DEGREE } from '../math.js';
import type { StructuralModel } from '../numeric/structuralModel.js';
import { logLikelihood } from '../numeric/structuralSmoother.js';
import { DEGREE2 } from './bodyModel.js';
import {
  bestModel,
  gatedTrend,
  REST_NOISE,
  restingModels,
  type SlowAxis,
  slowModel,
} from './gatedTrend.js';
import { findMoves, type Move, runsWhere, shareMoving, swayLevel } from './moves.js';

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

/** A conduct, the model for it, and the moves after which the axis rests. */
export interface Conduct {
  readonly model: StructuralModel;
  readonly conduct: AxisConduct;
  readonly moves: readonly Move[];
}

/** Sway cannot be told from continuous looking about; this is what bodies do, rad. */
const SWAY_WHILE_LOOKING = 0.25 * RADIANS_PER_DEGREE;
/** Seconds of rest from which sway can be read off them (our judgement). */
const REST_TO_READ = 5;
/** Share of a clip at rest from which looking about is mixed with rests (our judgement). */
const MIXED_REST = 0.02;
/** Log likelihood that moves must gain over a restful body; real ones gain hundreds. */
const NEEDED_GAIN = 30;
/** Moves over more than this share of a clip are one travel. */
const TRAVEL_SHARE = 0.6;

/** A body may sway more than was read off it, by these ratios, but is not read higher than this, rad. */
const SWAY_RATIOS = [1, 1.4, 2];
const LARGEST_READING = 1.3 * RADIANS_PER_DEGREE;

/** Powers of ten of the trend noise, square degrees per second cubed, between which it is sought. */
const OPEN_NOISE = { from: 0, to: 5, step: 0.5 };
const TRAVEL_NOISE = { from: -5, to: 4, step: 0.5 };

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
): Conduct {
  const n = axis.signal.length;
  const sway = swayAtRest(axis, looking);
  const moving = new Uint8Array(n);
  for (const { from, to } of findMoves(axis.slow, axis.sampleRate, sway)) moving.fill(1, from, to);
  marks?.forEach((mark, k) => {
    if (mark !== 0) moving[k] = mark > 0 ? 1 : 0;
  });
  if (looking.some(isLooking)) return whileLooking(axis, looking, moving, sway);
  const moves = runsWhere(n, (k) => moving[k] === 1);
  if (!standing && shareMoving(moves, n) > TRAVEL_SHARE) return onTravel(axis, sway);
  const atRest = restingBody(axis, sway, evidenceWithSteps);
  const resting: Conduct = { model: atRest.model, conduct: 'rest', moves: [] };
  if (moves.length === 0) return resting;
  const gated = gatedTrend(axis, moving, sway);
  const said = marks?.some((mark) => mark > 0);
  return said || evidenceWithSteps(gated.model) - atRest.evidence >= NEEDED_GAIN
    ? { model: gated.model, conduct: 'moves', moves }
    : resting;
}

function isLooking(weight: number): boolean {
  return weight > 0.5;
}

/** Standard deviation of the sway where the axis rests, rad. */
function swayAtRest({ slow, sampleRate }: SlowAxis, looking: Float64Array): number {
  if (!looking.some(isLooking)) return swayLevel(slow, sampleRate);
  const rests = (k: number) => looking[k]! < 0.5;
  return samplesAtRest(looking) > REST_TO_READ * sampleRate
    ? swayLevel(slow, sampleRate, rests)
    : SWAY_WHILE_LOOKING;
}

function samplesAtRest(looking: Float64Array): number {
  return looking.reduce((count, weight) => count + (weight < 0.5 ? 1 : 0), 0);
}

/** A trend that is open where the operator looks about, by as much as the axis supports. */
function whileLooking(
  axis: SlowAxis,
  looking: Float64Array,
  moving: Uint8Array,
  sway: number,
): Conduct {
  const { signal } = axis;
  const weight = looking.map((w) => 1 - w + (w * SWAY_WHILE_LOOKING) / sway);
  const mixed = samplesAtRest(looking) > MIXED_REST * signal.length;
  const atRest = moving.map((m, k) => (looking[k]! < 0.5 ? m : 0));
  const rest = mixed
    ? gatedTrend(axis, atRest, sway).model.trendNoise
    : new Float64Array(signal.length).fill(REST_NOISE[2]!);
  const logRest = rest.map(Math.log);
  const candidates = powersOfTen(OPEN_NOISE).map((power) => {
    const open = Math.log(power * DEGREE2);
    const noise = logRest.map((log, k) => Math.exp((1 - looking[k]!) * log + looking[k]! * open));
    return slowModel(axis, noise, sway, 2, weight);
  });
  const { model } = bestModel(candidates, (candidate) => logLikelihood(signal, candidate));
  return { model, conduct: mixed ? 'mixed' : 'looking-about', moves: [] };
}

/** One long move: a trend whose acceleration wanders by as much as the axis supports. */
function onTravel(axis: SlowAxis, sway: number): Conduct {
  const { signal } = axis;
  const candidates = powersOfTen(TRAVEL_NOISE).map((power) =>
    slowModel(axis, new Float64Array(signal.length).fill(power * DEGREE2), sway, 3),
  );
  const { model } = bestModel(candidates, (candidate) => logLikelihood(signal, candidate));
  return { model, conduct: 'travel', moves: [] };
}

/** A body that only sways, perhaps more than was read off it. */
function restingBody(
  axis: SlowAxis,
  sway: number,
  evidenceWithSteps: (model: StructuralModel) => number,
) {
  const ratios = SWAY_RATIOS.filter((ratio) => ratio === 1 || sway * ratio < LARGEST_READING);
  const { model } = bestModel(
    ratios.flatMap((ratio) => restingModels(axis, sway * ratio)),
    (candidate) => logLikelihood(axis.signal, candidate),
  );
  const found = Math.sqrt(model.oscillators[0]!.variance);
  return bestModel(
    restingModels(axis, found),
    (candidate) => evidenceWithSteps(candidate) - restlessness(candidate),
  );
}

/**
 * What a wandering trend must gain over a quiet one, log likelihood: 2 for every factor of ten.
 * Between trends that wander little the data hardly decide, and the quiet one is nearer the truth.
 */
function restlessness({ trendNoise }: StructuralModel): number {
  return 2 * Math.log10(trendNoise[0]! / REST_NOISE[0]!);
}

function powersOfTen({ from, to, step }: { from: number; to: number; step: number }): number[] {
  const count = Math.round((to - from) / step) + 1;
  return Array.from({ length: count }, (_, k) => 10 ** (from + k * step));
}
