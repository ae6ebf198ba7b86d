import { angularDistances } from '../../rotation/arrays.js';
import type { Clip } from './motion.js';

/** Packing turns each of two rotations by up to 0.0043°: measured paths of one take differ by less than this, rad. */
const SAME_PATH = (4 * 0.0043 * Math.PI) / 180;
/** How many moments of two paths are compared. */
const LOOKS = 64;

/**
 * Whether two results are of one take: their names agree up to the first dot, or the frames, the rate
 * and the measured path do.
 */
export function sameTake(a: Clip, b: Clip): boolean {
  if (stem(a.name) === stem(b.name)) return true;
  const [p, q] = [a.frameRate, b.frameRate];
  if (a.frames !== b.frames || p.numerator * q.denominator !== q.numerator * p.denominator) {
    return false;
  }
  const between = angularDistances(looks(a.measured), looks(b.measured));
  return between.every((angle) => angle < SAME_PATH);
}

function stem(name: string): string {
  return name.split('.')[0]!;
}

function looks(quaternions: Float64Array): Float64Array {
  const n = quaternions.length / 4;
  const count = Math.min(n, LOOKS);
  const out = new Float64Array(4 * count);
  for (let k = 0; k < count; k++) {
    const at = Math.floor((k * n) / count);
    out.set(quaternions.subarray(4 * at, 4 * at + 4), 4 * k);
  }
  return out;
}
