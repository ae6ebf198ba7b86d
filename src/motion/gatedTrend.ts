import type { Oscillator, StructuralModel } from '../numeric/structuralModel.js';
import { logLikelihood, smoothStructure } from '../numeric/structuralSmoother.js';
import { ACCELERATION_OF_SWAY, baseModel, DEGREE2 } from './bodyModel.js';
import { derivative, poolMean, runsWhere, slowPath } from './moves.js';

/** One axis without steps. */
export interface SlowAxis {
  readonly signal: Float64Array;
  readonly slow: Float64Array;
  readonly sampleRate: number;
  /** Shape of the sway; its variance and weight are chosen per model. */
  readonly swayOscillator: Oscillator;
}

/** A model and how well the axis supports it. */
export interface Supported {
  readonly model: StructuralModel;
  readonly evidence: number;
}

/** Trend noise while the axis rests, (rad/s)² per second: the candidates. */
export const REST_NOISE = [1e-6, 1e-5, 1e-4, 1e-3].map((q) => q * DEGREE2);
/** Trend noise within moves, as a share of their squared acceleration: the candidates. */
const MOVE_SHARE = [0.03, 0.1, 0.3, 1];
/** Seconds over which the trend opens for a move (our judgement). */
const OPENING = 0.5;
/** Times that the acceleration is read off the result; more change nothing that matters (measured). */
const PASSES = 4;
/** Share of the squared acceleration of sway that is taken off at the first look (our judgement). */
const SWAY_SEEN = 0.5;

/** A trend with the given noise and a sway of a standard deviation, rad, and perhaps a weight. */
export function slowModel(
  { signal, sampleRate, swayOscillator }: SlowAxis,
  trendNoise: Float64Array,
  deviation: number,
  order: 2 | 3 = 2,
  swayWeight?: Float64Array,
): StructuralModel {
  const sway = {
    ...swayOscillator,
    variance: deviation * deviation,
    ...(swayWeight && { weight: swayWeight }),
  };
  return {
    ...baseModel(signal.length, sampleRate, 0),
    order,
    trendNoise,
    oscillators: [sway],
  };
}

/** Whichever of some models the axis supports best. */
export function bestModel(
  candidates: readonly StructuralModel[],
  evidenceOf: (model: StructuralModel) => number,
): Supported {
  let best = { model: candidates[0]!, evidence: Number.NEGATIVE_INFINITY };
  for (const model of candidates) {
    const evidence = evidenceOf(model);
    if (evidence > best.evidence) best = { model, evidence };
  }
  return best;
}

/**
 * A trend that is nearly straight at rest and open within moves, as far as their acceleration
 * says; the acceleration is read off the result and the fit repeated.
 *
 * @param moving - 1 within moves
 * @param sway - its standard deviation, rad
 */
export function gatedTrend(axis: SlowAxis, moving: Uint8Array, sway: number): Supported {
  const { signal, slow, sampleRate } = axis;
  const evidenceOf = (model: StructuralModel) => logLikelihood(signal, model);
  if (!moving.includes(1)) return bestModel(restingModels(axis, sway), evidenceOf);
  const squaredAcceleration = (path: Float64Array) =>
    poolMean(
      derivative(derivative(path, sampleRate), sampleRate).map((a) => a * a),
      sampleRate,
    );
  // The first look is at a path that still sways.
  const swaying = SWAY_SEEN * (ACCELERATION_OF_SWAY * sway) ** 2;
  let energy: Float64Array = squaredAcceleration(slowPath(slow, sampleRate)).map((e) =>
    Math.max(e - swaying, 0),
  );
  let found: Supported | undefined;
  for (let pass = 0; pass < PASSES; pass++) {
    if (found) energy = squaredAcceleration(smoothStructure(signal, found.model).trend);
    const logEnergy = energy.map(Math.log);
    found = bestModel(
      REST_NOISE.flatMap((rest) =>
        MOVE_SHARE.map((share) =>
          slowModel(axis, openedNoise(rest, share, logEnergy, moving, sampleRate), sway),
        ),
      ),
      evidenceOf,
    );
  }
  return found!;
}

/** Trends that rest throughout, from the quietest to the most restless. */
export function restingModels(axis: SlowAxis, sway: number): StructuralModel[] {
  return REST_NOISE.map((rest) =>
    slowModel(axis, new Float64Array(axis.signal.length).fill(rest), sway),
  );
}

/** Noise that lies at rest and opens within moves; its logarithm changes smoothly. */
function openedNoise(
  rest: number,
  share: number,
  logEnergy: Float64Array,
  moving: Uint8Array,
  sampleRate: number,
): Float64Array {
  const n = moving.length;
  const out = new Float64Array(n).fill(rest);
  const least = Math.log(rest);
  const more = Math.log(share);
  const reach = Math.ceil(OPENING * sampleRate);
  // Only what lies within reach of a move differs from rest.
  for (const { from, to } of runsWhere(n, (k) => moving[k] === 1)) {
    const first = Math.max(0, from - 2 * reach);
    const end = Math.min(n, to + 2 * reach);
    const logNoise = logEnergy
      .slice(first, end)
      .map((e, i) => (moving[first + i] ? Math.max(least, e + more) : least));
    const pooled = poolMean(logNoise, OPENING * sampleRate);
    for (let k = Math.max(0, from - reach); k < Math.min(n, to + reach); k++) {
      out[k] = Math.exp(pooled[k - first]!);
    }
  }
  return out;
}
