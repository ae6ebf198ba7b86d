import type { CorrectionResult } from '../correct.js';
import { composeQuaternions } from '../rotation/arrays.js';
import type { Quaternion } from '../rotation/quaternion.js';
import { type Motion, orientationsOf } from './poses.js';
import { requireSoundResult } from './soundResult.js';

/**
 * From our camera axes to those of the format (x right, y down, z forward): half a turn about x,
 * which is its own opposite.
 */
const HALF_TURN_ABOUT_X: Quaternion = [1, 0, 0, 0];

/**
 * A trajectory of the TUM RGB-D benchmark: `t tx ty tz qx qy qz qw` per line, blanks between.
 * Camera→world with camera axes x right, y down, z forward; world y up as ours; positions are zero,
 * since a result knows none. t counts from the first frame, or from the epoch of the track's own
 * stamps where it had them.
 *
 * @param result - of {@link index!correct}
 * @param motion - `intended` (default) or `measured`; K is not a pose and is turned into the same
 *   axes on both sides
 * @returns text, one line per frame below a remark
 * @see Sturm et al., "A benchmark for the evaluation of RGB-D SLAM systems", IROS 2012, and its
 *   page on file formats (the camera's axes from memory)
 * @example
 * toTum(result).split('\n')[0]; // '# timestamp tx ty tz qx qy qz qw'
 */
export function toTum(result: CorrectionResult, motion: Motion = 'intended'): string {
  requireSoundResult(result);
  const ours = orientationsOf(result, motion);
  const right = composeQuaternions(ours, HALF_TURN_ABOUT_X);
  const turned = motion === 'correction' ? composeQuaternions(HALF_TURN_ABOUT_X, right) : right;
  const { times } = result.corrections;
  const start = result.intended.startNs ?? 0n;
  const rows = ['# timestamp tx ty tz qx qy qz qw'];
  for (let k = 0; k < times.length; k++) {
    const [x, y, z, w] = turned.subarray(4 * k, 4 * k + 4);
    rows.push(
      `${formatStamp(start, times[k]!)} 0 0 0 ${x!.toFixed(12)} ${y!.toFixed(12)} ${z!.toFixed(12)} ${w!.toFixed(12)}`,
    );
  }
  return `${rows.join('\n')}\n`;
}

/** Seconds with nine decimals; whole nanoseconds are added as integers, which keeps them all. */
function formatStamp(startNs: bigint, seconds: number): string {
  const total = startNs + BigInt(Math.round(seconds * 1e9));
  const size = total < 0n ? -total : total;
  const digits = String(size).padStart(10, '0');
  return `${total < 0n ? '-' : ''}${digits.slice(0, -9)}.${digits.slice(-9)}`;
}
