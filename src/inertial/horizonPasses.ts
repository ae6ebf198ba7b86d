import { clamp, DEGREES_PER_RADIAN } from '../math.js';
import { IDENTITY } from '../rotation/quaternion.js';
import { velocityDeviation } from './carriedVelocity.js';
import { newFilteredNodes } from './forwardFilter.js';
import { levelled } from './levelling.js';
import type { LogQuality } from './logQuality.js';
import { lostStretches } from './lostHorizon.js';
import { meanOf, orientationAt, STATE_NUMBERS, stateOf } from './motionState.js';
import { impulsesBetweenNodes, nearlyImpulsesBetweenNodes } from './nodeImpulses.js';
import { knowledgeOfNodes, type NodeKnowledge, nodesDuring } from './nodeKnowledge.js';
import {
  type SmoothedWithVariances,
  smoothOrientation,
  smoothWithVariances,
} from './orientationSmoother.js';
import type { SmootherModel } from './smootherModel.js';
import { joinedSpans, type Span } from './spans.js';
import type { StrapdownSamples } from './strapdownSamples.js';

/**
 * The accelerometer's constant error, m/s². It hides behind the tilt of a camera that is held one
 * way, so what is believed of it before matters: sensors whose gyroscope is off by much are off in
 * both, so that it is taken in proportion, between the limits (our judgement; m/s² for one °/s).
 */
export const ACCELERATION_BIAS = { before: 0.05, perGyroBias: 0.02, least: 0.012, most: 0.15 };

/** How often a horizon that cannot be is opened and sought again. */
const ATTEMPTS = 3;
/** Random walk of an attitude that is sought again, rad/√s. */
const REOPENED = 0.3;

/** What the passes of the smoother found. */
export interface SoughtHorizon {
  readonly smoothed: SmoothedWithVariances;
  /** Stretches in which the horizon was lost and found again. */
  readonly lost: readonly Span[];
  /** Standard deviation of the accelerometer's error that the last pass was told, m/s². */
  readonly believed: number;
}

/**
 * Passes of the smoother until the horizon can be true: one with a velocity of one size, whose
 * result is searched for stretches that cannot be, and one with velocity, gravity and the
 * accelerometer's error as the result shows them.
 *
 * @param accelerationBiasDeviation - what is known of the accelerometer's error, m/s²
 */
export function seekHorizon(
  samples: StrapdownSamples,
  nodes: Int32Array,
  model: SmootherModel,
  quality: LogQuality,
  accelerationBiasDeviation: number | undefined,
): SoughtHorizon {
  const { times } = samples;
  const nodeTimes = Float64Array.from(nodes, (sample) => times[sample]!);
  const knowledge = knowledgeOfNodes(times, nodes, quality);
  const silent = [...quality.gaps, ...quality.filledForce];
  const filtered = newFilteredNodes(nodes.length);
  // Used again from pass to pass: each needs of the one before only what is taken from it at once.
  const states = new Float64Array(STATE_NUMBERS * nodes.length);
  const lost: Span[] = [];
  let attempt = 0;
  /** One pass, and more while there are stretches that cannot be: each time they are opened first. */
  const sought = <Nodes extends { readonly states: Float64Array }>(smooth: () => Nodes) => {
    for (;;) {
      const found = smooth();
      const impulses = nearlyImpulsesBetweenNodes(samples, nodes, filtered, found.states);
      const wrong = lostStretches(nodeTimes, impulses, silent);
      nodesDuring(times, nodes, wrong, (k, overlap) => {
        knowledge.lostAttitude[k]! += REOPENED ** 2 * overlap;
      });
      lost.push(...wrong);
      if (wrong.length === 0 || ++attempt >= ATTEMPTS) return found;
    }
  };
  const start = levelled(samples, 0, stateOf(IDENTITY, [0, 0, 0], model.gyroBias));
  const anyVelocity = withVelocities(knowledge, nodeTimes);
  const first = sought(() =>
    smoothOrientation(samples, nodes, start, anyVelocity, model, filtered, states),
  );
  const believed =
    accelerationBiasDeviation ?? likelyAccelerationBias(first.states, ACCELERATION_BIAS);
  // The scale of the accelerometer and the local gravity in one: what it shows on average.
  const impulses = impulsesBetweenNodes(samples, nodes, first.states);
  const gravity = meanVertical(nodeTimes, impulses, silent) ?? model.gravity;
  const better = { ...model, gravity, accelerationBiasDeviation: believed };
  const firstStart = orientationAt(first.states, 0);
  const likelyVelocity = withVelocities(knowledge, nodeTimes, first.states);
  const smoothed = sought(() =>
    smoothWithVariances(samples, nodes, firstStart, likelyVelocity, better, filtered, states),
  );
  return { smoothed, lost: joinedSpans(lost), believed };
}

/** What is known at the nodes with the velocities that are likely there. */
function withVelocities(
  knowledge: NodeKnowledge,
  nodeTimes: Float64Array,
  before?: Float64Array,
): NodeKnowledge {
  const velocities = velocityDeviation(before, nodeTimes);
  const { velocityDeviation: doubt } = knowledge;
  return {
    ...knowledge,
    velocityDeviation: velocities.map((deviation, k) => deviation * doubt[k]!),
  };
}

/**
 * How far the accelerometer of a gyroscope with this error is likely to be off, m/s².
 *
 * @param states - what a pass found, see `motionState.ts`
 */
export function likelyAccelerationBias(
  states: Float64Array,
  limits: { perGyroBias: number; least: number; most: number },
): number {
  const size = Math.hypot(...meanOf(states, 'gyroBias')) * DEGREES_PER_RADIAN;
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
