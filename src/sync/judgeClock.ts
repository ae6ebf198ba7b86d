import { symmetricEigen } from '../numeric/symmetric.js';
import type { MotionLog } from '../track/motionLog.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { trimmedRms, type ClockLook, type Picture } from './clockLook.js';
import type { ClockAlignment, ClockRefusal, RefusedClock } from './clockAlignment.js';
import { axisInWords } from './axisInWords.js';

/** What the verdict looks at. */
export interface Judged {
  readonly best: ClockLook;
  readonly winner: ClockLook;
  readonly rival?: ClockLook;
  readonly picture: Picture;
  readonly log: MotionLog;
}

const LIMITS = { offsetMs: 4, contest: 12, consistency: 1.2, leftover: 0.05, axesDeg: 2, driftPpm: 1500 };

export function judgeClock({ best, winner, rival, picture }: Judged): ClockAlignment {
  const { clock, frames } = best;
  const { track, clean } = picture;
  const { covariance } = clock;
  const offsetDeviationMs = 1000 * Math.sqrt(covariance[0]![0]!);
  const turn = Float64Array.from([2, 3, 4].flatMap((i) => [2, 3, 4].map((j) => covariance[i]![j]!)));
  const { values, vectors } = symmetricEigen(turn);
  const degrees = (variance: number) => (Math.sqrt(Math.max(variance, 0)) * 180) / Math.PI;
  const axesDeviationDeg = { best: degrees(values[0]), worst: degrees(values[2]) };
  const own = trimmedRms(clean.misses.subarray(frames.first, frames.end), clean.weights.subarray(frames.first, frames.end));
  const consistency = best.misfit / own;
  const leftover = Math.max(0, best.misfit ** 2 - (own) ** 2) / best.motion ** 2;
  const alike = alikeFrames(winner);
  const contest = rival
    ? (3 / alike) * (winner.trusted * Math.log(winner.motion / winner.misfit) - rival.trusted * Math.log(rival.motion / rival.misfit))
    : Number.MAX_VALUE;
  const driftPpm = 1e6 * clock.drift;
  const refusals: [ClockRefusal, string][] = [];
  if (consistency > LIMITS.consistency && leftover > LIMITS.leftover) refusals.push(['another-take', 'another take']);
  if (offsetDeviationMs > LIMITS.offsetMs) refusals.push(['too-still', 'still']);
  if (contest < LIMITS.contest) refusals.push(['ambiguous', 'ambiguous']);
  if (Math.abs(driftPpm) > LIMITS.driftPpm) refusals.push(['drift', 'drift']);
  const debug = `left ${leftover.toFixed(4)} mot ${(best.motion*57.3).toFixed(2)} mis ${(best.misfit*57.3).toFixed(3)} own ${(own*57.3).toFixed(3)} alike ${alike.toFixed(1)} score ${best.candidate.score.toFixed(3)} gain ${clock.gain.map(x=>x.toFixed(4))} sm ${(Math.sqrt(Math.max(clock.smoothing,0))*60).toFixed(2)}±${(1e6*Math.sqrt(covariance[11]![11]!)).toFixed(0)}e-6 off ${clock.offset.toFixed(4)}`;
  if (refusals.length > 0) {
    const [code, reason] = refusals[0]!;
    return { accepted: false, verdict: 'refused', code, reason, offsetDeviationMs, contest, consistency, debug } as RefusedClock;
  }
  const t = track.times;
  return {
    accepted: true,
    verdict: axesDeviationDeg.worst < LIMITS.axesDeg ? 'aligned' : 'time-only',
    from: t[frames.first]!, to: t[frames.end-1]!,
    reference: (t[frames.first]! + t[frames.end-1]!)/2,
    offset: clock.offset, offsetDeviationMs,
    driftEstimated: covariance[1]![1]! > 0,
    driftPpm, driftDeviationPpm: 1e6 * Math.sqrt(covariance[1]![1]!),
    axes: clock.axes, axesDeviationDeg, leastKnownAxis: vectors[2],
    gyroGain: clock.gain, gyroBias: clock.bias, smoothedFrames: 0, contest, consistency,
    wildFrames: new Int32Array(0), warnings: [], debug,
  } as any;
}

export function alikeFrames({ clock }: ClockLook): number {
  const { residual, weights } = clock;
  const n = weights.length;
  const cov = (lag: number) => { let s = 0; for (let k = 0; k + lag < n; k++) { const w = weights[k]! * weights[k+lag]!; if (w===0) continue; for (let i=0;i<3;i++) s += w*residual[3*k+i]!*residual[3*(k+lag)+i]!; } return s; };
  const norm = (lag: number) => { let s = 0; for (let k = 0; k + lag < n; k++) s += weights[k]! * weights[k+lag]!; return s; };
  const c0 = cov(0)/norm(0);
  let tau = 1;
  for (let lag = 1; lag < n/4; lag++) { const c = cov(lag)/Math.max(norm(lag),1e-9)/c0; if (c < 0.02) break; tau += 2*c; }
  return tau;
}

export function nothingShared(_log: MotionLog, _track: OrientationTrack, _hint: unknown): RefusedClock {
  return { accepted: false, verdict: 'refused', code: 'no-overlap', reason: 'the log does not overlap the clip in time', offsetDeviationMs: Infinity, contest: 0, consistency: Infinity };
}
