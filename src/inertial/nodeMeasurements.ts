import type { NodeKnowledge } from './nodeKnowledge.js';
import type { SmootherModel } from './smootherModel.js';
import {
  gainOf,
  type Noise,
  newUpdate,
  STATE,
  STATES,
  type Update,
  updateCovariance,
} from './stateCovariance.js';

/** How far the mean rate between two nodes at rest strays from the bias, rad²/s². */
export const REST_NOISE: Noise = [0.003 ** 2, 0.003 ** 2, 0.003 ** 2];

/** Squared deviations of the zero velocity at a node, m²/s². */
export function velocityNoise(
  { velocityDeviation }: NodeKnowledge,
  { verticalDoubt }: SmootherModel,
  node: number,
): Noise {
  const noise = velocityDeviation[node]! ** 2;
  return [noise, noise * verticalDoubt ** 2, noise];
}

/** Whether the mean rate up to a node is measured there. */
export function rests({ resting }: NodeKnowledge, node: number): boolean {
  return node > 0 && resting[node] === 1;
}

/** A node's measurements: the velocity, and where it rests the mean rate after it. */
export interface Measurements {
  readonly velocity: Update;
  readonly rest: Update;
  /** The covariance between the two. */
  readonly between: Float64Array;
}

/** Memory for the measurements of a node, used again from node to node. */
export function newMeasurements(): Measurements {
  return { velocity: newUpdate(), rest: newUpdate(), between: new Float64Array(STATES * STATES) };
}

/** The gains at a node whose covariance before all measurements is P. */
export function measurementsAt(
  node: number,
  P: Float64Array,
  knowledge: NodeKnowledge,
  model: SmootherModel,
  { velocity, rest, between }: Measurements,
): void {
  const noise = velocityNoise(knowledge, model, node);
  if (rests(knowledge, node)) {
    between.set(P);
    updateCovariance(between, STATE.velocity, noise, velocity);
    gainOf(between, STATE.gyroBias, REST_NOISE, rest);
  } else {
    gainOf(P, STATE.velocity, noise, velocity);
  }
}
