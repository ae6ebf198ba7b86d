import { clamp } from '../math.js';
import { PART, STATE_NUMBERS } from './motionState.js';

/**
 * How far the horizontal velocity of a hand-held camera departs from zero. The first pass takes one
 * value for the whole log; the others scale what the pass before found, so that levelling is firm
 * while the camera rests and soft while it is carried about. m/s for a node a second, and a ratio.
 */
const VELOCITY = { first: 1.4, ratio: 1.3, least: 0.15, most: 20, window: 30 };

/**
 * Standard deviation of the zero velocity at each node, m/s: of one size, or as a pass found it.
 *
 * @param before - the states that the pass before found, see `motionState.ts`
 */
export function velocityDeviation(
  before: Float64Array | undefined,
  nodeTimes: Float64Array,
): Float64Array {
  const count = nodeTimes.length;
  const duration = nodeTimes[count - 1]!;
  const nodeRate = Math.sqrt((count - 1) / duration);
  if (!before) return new Float64Array(count).fill(VELOCITY.first * nodeRate);
  const squares = new Float64Array(count);
  for (let k = 0, i = PART.velocity; k < count; k++, i += STATE_NUMBERS) {
    squares[k] = (before[i]! ** 2 + before[i + 2]! ** 2) / 2;
  }
  const half = Math.max(
    1,
    Math.min(Math.round((VELOCITY.window * (count - 1)) / duration), count - 1),
  );
  return hannMean(squares, half).map(
    (mean) => clamp(VELOCITY.ratio * Math.sqrt(mean), VELOCITY.least, VELOCITY.most) * nodeRate,
  );
}

/**
 * Mean under a Hann window of 2 half + 1 values, the ends mirrored. The cosine of a window that moves
 * on is a turn of what has been summed: running sums, whatever the window's length.
 */
function hannMean(values: Float64Array, half: number): Float64Array {
  const n = values.length;
  const out = new Float64Array(n);
  const step = Math.PI / half;
  const at = (k: number) => {
    const index = Math.abs(k);
    return values[Math.max(index < n ? index : 2 * (n - 1) - index, 0)]!;
  };
  let sum = 0;
  let cosines = 0;
  let sines = 0;
  const add = (k: number, sign: number) => {
    const value = sign * at(k);
    sum += value;
    cosines += value * Math.cos(step * k);
    sines += value * Math.sin(step * k);
  };
  for (let k = -half; k < half; k++) add(k, 1);
  for (let k = 0; k < n; k++) {
    add(k + half, 1);
    const cosine = cosines * Math.cos(step * k) + sines * Math.sin(step * k);
    // 0.5 + 0.5 cos over 2 half + 1 values adds up to half; squares cannot be negative.
    out[k] = Math.max(0, (0.5 * sum + 0.5 * cosine) / half);
    add(k - half, -1);
  }
  return out;
}
