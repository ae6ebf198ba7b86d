import {
  multiplyQuaternions,
  normalizeQuaternion,
  type Quaternion,
} from '../rotation/quaternion.js';
import { orientationAt } from './motionState.js';
import { newSegment } from './segment.js';
import { carrySegment } from './strapdown.js';
import type { StrapdownSamples } from './strapdownSamples.js';

/** Seconds of force that level a start: two strides or so, over which a walk's bounce cancels. */
const LEVELLING = 2;

/**
 * The orientation of a state turned upright, the shortest way, by the mean force of the two seconds
 * that follow: its heading stays.
 *
 * @param from - the sample at which the state holds
 * @param state - the state, see `motionState.ts`
 */
export function levelled(samples: StrapdownSamples, from: number, state: Float64Array): Quaternion {
  const { times } = samples;
  const q = orientationAt(state, 0);
  const n = times.length;
  let to = from;
  while (to < n - 1 && times[to]! < times[from]! + LEVELLING) to++;
  if (to === from) return q;
  const segment = newSegment();
  carrySegment(samples, { from, to, states: state, k: 0 }, segment);
  const [x, y, z] = segment.impulse as unknown as [number, number, number];
  const norm = Math.hypot(x, y, z);
  if (!(norm > 0)) return q;
  const w = norm + y;
  // Straight down: any horizontal axis turns it over.
  if (w < 1e-6 * norm) return normalizeQuaternion(multiplyQuaternions([1, 0, 0, 0], q));
  return normalizeQuaternion(multiplyQuaternions(normalizeQuaternion([-z, 0, x, w]), q));
}
