import { clamp, DEGREES_PER_RADIAN } from '../math.js';
import { quaternionAt } from '../rotation/arrays.js';
import { IDENTITY, type Vector3 } from '../rotation/quaternion.js';
import { velocityDeviation } from './carriedVelocity.js';
import type { SmootherModel } from './forwardFilter.js';
import { levelled } from './levelling.js';
import { joinedSpans, type LogQuality, type Span } from './logQuality.js';
import { lostStretches } from './lostHorizon.js';
import { stateOf } from './motionState.js';
import { knowledgeOfNodes, nodesDuring } from './nodeKnowledge.js';
import {
  type SmoothedNodes,
  type SmoothedWithVariances,
  smoothOrientation,
  smoothWithVariances,
} from './orientationSmoother.js';
import { impulsesBetweenNodes, pathBetweenNodes } from './pathBetweenNodes.js';
import type { StrapdownSamples } from './strapdown.js';

/**
 * The accelerometer's constant error, m/s². It hides behind the tilt of a camera that is held one
 * way, so what is believed of it before matters: sensors whose gyroscope is off by much are off in
 * both, so that it is taken in proportion, between the limits (our judgement; m/s² for one °/s).
 */
export const FORCE_BIAS = { before: 0.05, perGyroBias: 0.02, least: 0.012, most: 0.15 };

/** How often a horizon that cannot be is opened and sought again. */
const ATTEMPTS = 3;
/** Random walk of an attitude that is sought again, rad/√s. */
const REOPENED = 0.3;

/** What the passes of the smoother found. */
export interface SoughtHorizon {
  readonly smoothed: SmoothedWithVariances;
  /** Orientation at every sample, body→world; length 4n. */
  readonly path: Float64Array;
  /** Stretches in which the horizon was lost and found again. */
  readonly lost: readonly Span[];
  /** Standard deviation of the accelerometer's error that the last pass was told, m/s². */
  readonly believed: number;
}

/**
 * Passes of the smoother until the horizon can be true: one with a velocity of one size, whose
 * result is searched for stretches that cannot be, and one with velocity, gravity and the
 * accelerometer's error as the result shows them.
 */
export function seekHorizon(
  samples: StrapdownSamples,
  nodes: Int32Array,
  model: SmootherModel,
  quality: LogQuality,
  accelBiasDeviation: number | undefined,
): SoughtHorizon {
  const { times } = samples;
  const duration = times[times.length - 1]!;
  const nodeRate = Math.sqrt((nodes.length - 1) / duration);
  const nodeTimes = Float64Array.from(nodes, (sample) => times[sample]!);
  const knowledge = knowledgeOfNodes(times, nodes, quality);
  const silent = [...quality.gaps, ...quality.filledForce];
  const start = levelled(samples, 0, stateOf(IDENTITY, [0, 0, 0], model.gyroBias));
  const lost: Span[] = [];
  const pass = <Nodes>(
    smooth: (...given: Parameters<typeof smoothOrientation>) => Nodes,
    before: SmoothedNodes | undefined,
    changes: Partial<SmootherModel>,
  ): Nodes =>
    smooth(
      samples,
      nodes,
      before ? quaternionAt(before.quaternions, 0) : start,
      {
        ...knowledge,
        velocityDeviation: velocityDeviation(before, nodes.length, duration, nodeRate).map(
          (deviation, k) => deviation * knowledge.velocityDeviation[k]!,
        ),
      },
      { ...model, ...changes },
    );
  /** The stretches that cannot be are opened; whether there are any. */
  const opened = (impulses: Float64Array): boolean => {
    const wrong = lostStretches(nodeTimes, impulses, silent);
    nodesDuring(times, nodes, wrong, (k, overlap) => {
      knowledge.lostAttitude[k]! += REOPENED ** 2 * overlap;
    });
    lost.push(...wrong);
    return wrong.length > 0;
  };
  let impulses: Float64Array;
  let first: SmoothedNodes;
  let attempt = 0;
  do {
    first = pass(smoothOrientation, undefined, {});
    impulses = impulsesBetweenNodes(samples, nodes, first);
  } while (opened(impulses) && ++attempt < ATTEMPTS);
  const believed = accelBiasDeviation ?? likelyForceBias(first, FORCE_BIAS);
  // The scale of the accelerometer and the local gravity in one: what it shows on average.
  const gravity = meanVertical(nodeTimes, impulses, silent) ?? model.gravity;
  let smoothed: SmoothedWithVariances;
  let path: Float64Array;
  do {
    smoothed = pass(smoothWithVariances, first, { gravity, forceBiasDeviation: believed });
    ({ path, impulses } = pathBetweenNodes(samples, nodes, smoothed));
  } while (opened(impulses) && ++attempt < ATTEMPTS);
  return { smoothed, path, lost: joinedSpans(lost), believed };
}

/** How far the accelerometer of a gyroscope with this error is likely to be off, m/s². */
export function likelyForceBias(
  { gyroBias }: SmoothedNodes,
  limits: { perGyroBias: number; least: number; most: number },
): number {
  const size = Math.hypot(...meanVector(gyroBias)) * DEGREES_PER_RADIAN;
  return clamp(limits.perGyroBias * size, limits.least, limits.most);
}

/** Mean vertical force where the accelerometer is heard, m/s². */
function meanVertical(
  nodeTimes: Float64Array,
  impulses: Float64Array,
  silent: readonly Span[],
): number | undefined {
  let sum = 0;
  let duration = 0;
  for (let k = 1; k < nodeTimes.length; k++) {
    const from = nodeTimes[k - 1]!;
    const to = nodeTimes[k]!;
    if (silent.some((span) => span.from < to && span.to > from)) continue;
    sum += impulses[3 * k + 1]!;
    duration += to - from;
  }
  return duration > 0 ? sum / duration : undefined;
}

/** Mean of all vectors of a list. */
export function meanVector(vectors: Float64Array): Vector3 {
  const sum = [0, 0, 0];
  for (let i = 0; i < vectors.length; i++) sum[i % 3]! += vectors[i]!;
  const n = vectors.length / 3;
  return [sum[0]! / n, sum[1]! / n, sum[2]! / n];
}
