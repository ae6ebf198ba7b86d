import { quaternionAt } from '../rotation/arrays.js';
import { invertQuaternion, multiplyQuaternions, type Vector3 } from '../rotation/quaternion.js';
import {
  halfCosine,
  halfSineOverAngle,
  rotationVectorFromQuaternion,
} from '../rotation/rotationVector.js';
import type { SmoothedNodes } from './orientationSmoother.js';
import { carryPath, carrySegment, newSegment, type StrapdownSamples } from './strapdown.js';

/**
 * The specific force from node to node in the world as the smoothed states have it, less the
 * accelerometer's bias: what is left besides gravity is how the camera was carried, or a horizon
 * that is wrong.
 *
 * @returns its integral from the node before, m/s, the first three zero; length 3(K + 1)
 */
export function impulsesBetweenNodes(
  samples: StrapdownSamples,
  nodes: Int32Array,
  { states }: SmoothedNodes,
): Float64Array {
  const out = new Float64Array(3 * nodes.length);
  const segment = newSegment();
  for (let k = 0; k + 1 < nodes.length; k++) {
    carrySegment(samples, { from: nodes[k]!, to: nodes[k + 1]!, states, k }, segment);
    out.set(segment.impulse, 3 * k + 3);
  }
  return out;
}

/**
 * Orientation at every sample: integrated from each smoothed node, the small gap at the next node
 * spread evenly over the samples between. The impulses of {@link impulsesBetweenNodes} come with it.
 *
 * @returns unit quaternions, body→world, length 4n; and impulses, m/s, length 3(K + 1)
 */
export function pathBetweenNodes(
  samples: StrapdownSamples,
  nodes: Int32Array,
  { states, quaternions }: SmoothedNodes,
): { path: Float64Array; impulses: Float64Array } {
  const path = new Float64Array(4 * samples.times.length);
  const impulses = new Float64Array(3 * nodes.length);
  const segment = newSegment();
  for (let k = 0; k + 1 < nodes.length; k++) {
    const from = nodes[k]!;
    const to = nodes[k + 1]!;
    carryPath(samples, { from, to, states, k }, segment, path);
    impulses.set(segment.impulse, 3 * k + 3);
    const closing = rotationVectorFromQuaternion(
      multiplyQuaternions(
        quaternionAt(quaternions, k + 1),
        invertQuaternion(quaternionAt(segment.end, 0)),
      ),
    );
    spread(path, samples.times, from, to, closing);
  }
  return { path, impulses };
}

/** Turns the samples behind a node by a growing share of a small rotation of the world. */
function spread(
  path: Float64Array,
  times: Float64Array,
  from: number,
  to: number,
  [vx, vy, vz]: Vector3,
): void {
  const perSecond = 1 / (times[to]! - times[from]!);
  const squared = vx * vx + vy * vy + vz * vz;
  for (let k = from + 1, i = 4 * k; k <= to; k++, i += 4) {
    const share = (times[k]! - times[from]!) * perSecond;
    const angle = share * Math.sqrt(squared);
    const s = share * halfSineOverAngle(angle, share * share * squared);
    const c = halfCosine(angle, share * share * squared);
    const dx = vx * s;
    const dy = vy * s;
    const dz = vz * s;
    const x = path[i]!;
    const y = path[i + 1]!;
    const z = path[i + 2]!;
    const w = path[i + 3]!;
    const nx = c * x + dx * w + dy * z - dz * y;
    const ny = c * y - dx * z + dy * w + dz * x;
    const nz = c * z + dx * y - dy * x + dz * w;
    const nw = c * w - dx * x - dy * y - dz * z;
    const norm = Math.sqrt(nx * nx + ny * ny + nz * nz + nw * nw);
    path[i] = nx / norm;
    path[i + 1] = ny / norm;
    path[i + 2] = nz / norm;
    path[i + 3] = nw / norm;
  }
}
