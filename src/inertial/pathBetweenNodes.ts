import { quaternionAt } from '../rotation/arrays.js';
import { invertQuaternion, multiplyQuaternions, type Vector3 } from '../rotation/quaternion.js';
import {
  halfCosine,
  halfSineOverAngle,
  rotationVectorFromQuaternion,
} from '../rotation/rotationVector.js';
import { orientationAt } from './motionState.js';
import { newSegment } from './segment.js';
import { carryPath } from './strapdown.js';
import type { StrapdownSamples } from './strapdownSamples.js';

/**
 * Orientation at every sample: integrated from each smoothed node, the small gap at the next node
 * spread evenly over the samples between.
 *
 * @param states - the smoothed states, see `motionState.ts`
 * @returns unit quaternions, body→world, length 4n
 */
export function pathBetweenNodes(
  samples: StrapdownSamples,
  nodes: Int32Array,
  states: Float64Array,
): Float64Array {
  const path = new Float64Array(4 * samples.times.length);
  const segment = newSegment();
  for (let k = 0; k + 1 < nodes.length; k++) {
    const from = nodes[k]!;
    const to = nodes[k + 1]!;
    carryPath(samples, { from, to, states, k }, segment, path);
    const closing = rotationVectorFromQuaternion(
      multiplyQuaternions(
        orientationAt(states, k + 1),
        invertQuaternion(quaternionAt(segment.end, 0)),
      ),
    );
    spread(path, samples.times, from, to, closing);
  }
  return path;
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
  const angle = Math.sqrt(squared);
  for (let k = from + 1, i = 4 * k; k <= to; k++, i += 4) {
    const share = (times[k]! - times[from]!) * perSecond;
    const s = share * halfSineOverAngle(share * angle, share * share * squared);
    const c = halfCosine(share * angle, share * share * squared);
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
    // One Newton step towards norm 1, from which only rounding strays.
    const scale = 1.5 - 0.5 * (nx * nx + ny * ny + (nz * nz + nw * nw));
    path[i] = nx * scale;
    path[i + 1] = ny * scale;
    path[i + 2] = nz * scale;
    path[i + 3] = nw * scale;
  }
}
