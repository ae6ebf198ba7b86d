import type { Warning } from '../error.js';
import { type FrameRate, formatFrameRate, framesPerSecond } from '../track/frameRate.js';
import { medianInterval } from '../track/times.js';
import type { OpenedClip } from './correctFile.js';

/**
 * Whether a track’s own rate is another than the one that was said for the clip: by its mapping to the
 * last digit, by its stamps to half a frame over its whole length. A log has a rate of its own.
 */
export function rateConflict({ kind, track }: OpenedClip, said: FrameRate | undefined): Warning[] {
  if (!said || kind === 'log') return [];
  const { frameRate: own, times } = track;
  if (own && own.numerator * said.denominator !== said.numerator * own.denominator) {
    return [conflict(`counts ${formatFrameRate(own)} frames`, said)];
  }
  const { seconds, intervals } = wholeIntervals(times);
  if (Math.abs(seconds * framesPerSecond(said) - intervals) <= 0.5) return [];
  return [conflict(`has ${(intervals / seconds).toFixed(3)} rows`, said)];
}

/** The intervals of a track that are no holes: stamps may be rounded, so that one says little. */
function wholeIntervals(times: Float64Array): { seconds: number; intervals: number } {
  const usual = medianInterval(times);
  let seconds = 0;
  let intervals = 0;
  for (let k = 1; k < times.length; k++) {
    const interval = times[k]! - times[k - 1]!;
    if (interval > 1.5 * usual) continue;
    seconds += interval;
    intervals++;
  }
  return { seconds, intervals };
}

function conflict(found: string, said: FrameRate): Warning {
  const rate = formatFrameRate(said);
  return {
    code: 'track/other-rate',
    message: `the file ${found} per second and --rate says ${rate}: frames at ${rate} are made between its rows; correct whichever is wrong`,
  };
}
