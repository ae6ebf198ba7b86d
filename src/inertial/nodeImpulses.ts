import type { FilteredNodes } from './forwardFilter.js';
import { errorBetween } from './motionState.js';
import { impulseFrom } from './nodeTransitions.js';
import { newSegment, type Segment } from './segment.js';
import { STATE, STATES } from './stateCovariance.js';
import { carrySegment } from './strapdown.js';
import type { StrapdownSamples } from './strapdownSamples.js';

/**
 * The specific force from node to node in the world as the smoothed states have it, less the
 * accelerometer's bias: what is left besides gravity is how the camera was carried, or a horizon
 * that is wrong.
 *
 * @param states - the smoothed states, see `motionState.ts`
 * @returns its integral from the node before, m/s, the first three zero; length 3(K + 1)
 */
export function impulsesBetweenNodes(
  samples: StrapdownSamples,
  nodes: Int32Array,
  states: Float64Array,
): Float64Array {
  const out = new Float64Array(3 * nodes.length);
  const segment = newSegment();
  for (let k = 0; k + 1 < nodes.length; k++) addImpulse(samples, nodes, states, k, segment, out);
  return out;
}

/**
 * A gyro bias that turns a segment by less than this further, rad, is taken linearly: half the square
 * of it, 5e-6 m/s² at most, is what that leaves out of the mean force.
 */
const LINEAR_TURN = 1e-3;

/**
 * The same to within 5e-6 m/s² times the segment, and many times faster: from what the filter has
 * integrated already with a bias that was nearly the same.
 *
 * @param filtered - what the filter knew on its way forward
 */
export function nearlyImpulsesBetweenNodes(
  samples: StrapdownSamples,
  nodes: Int32Array,
  { states: filtered, transitions }: FilteredNodes,
  states: Float64Array,
): Float64Array {
  const { times } = samples;
  const out = new Float64Array(3 * nodes.length);
  const segment = newSegment();
  const error = new Float64Array(STATES);
  for (let k = 0; k + 1 < nodes.length; k++) {
    errorBetween(filtered, states, k, error);
    const duration = times[nodes[k + 1]!]! - times[nodes[k]!]!;
    if (turnOf(error, duration) < LINEAR_TURN) impulseFrom(transitions, k + 1, error, out);
    else addImpulse(samples, nodes, states, k, segment, out);
  }
  return out;
}

/** Integrates the impulse from the k-th node to the next. */
function addImpulse(
  samples: StrapdownSamples,
  nodes: Int32Array,
  states: Float64Array,
  k: number,
  segment: Segment,
  out: Float64Array,
): void {
  carrySegment(samples, { from: nodes[k]!, to: nodes[k + 1]!, states, k }, segment);
  out.set(segment.impulse, 3 * k + 3);
}

/** How much further an error of the gyro's bias turns a camera, rad. */
function turnOf(error: Float64Array, duration: number): number {
  const x = error[STATE.gyroBias]!;
  const y = error[STATE.gyroBias + 1]!;
  const z = error[STATE.gyroBias + 2]!;
  return duration * Math.sqrt(x * x + y * y + z * z);
}
