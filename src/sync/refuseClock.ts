import type { Vector3 } from '../rotation/quaternion.js';
import type { MotionLog } from '../track/motionLog.js';
import type { ClockRefusal, RefusedClock } from './clockAlignment.js';
import { LEAST_SHARED } from './clockCandidates.js';

/** What was found about the best clock. */
export interface ClockFindings {
  /** Misfit as a multiple of the picture's own noise. */
  readonly consistency: number;
  /** Squared misfit beyond that noise, as a share of the squared motion. */
  readonly leftover: number;
  /** How much the second-best offset is worse. */
  readonly contest: number;
  /** Seconds of the clip that were compared. */
  readonly seconds: number;
  /** Root mean square of what the log had to explain, degrees. */
  readonly motionDeg: number;
  /** Noise of a good frame, degrees. */
  readonly noiseDeg: number;
  readonly offsetDeviationMs: number;
  readonly driftPpm: number;
  readonly gain: Vector3;
  readonly gainDeviation: Vector3;
  readonly smoothedFrames: number;
  /** How well the rates agreed in the search, 0 to 1. */
  readonly score: number;
}

/**
 * Limits of the verdict: a quarter frame; another motion; another log. The picture's own noise is what a
 * smooth path leaves of it: 1.1 times that for pure noise, 1.23 and more for wrong offsets of a camera on
 * legs. A track that was smoothed hides its noise: there the log may leave a hundredth of the motion if no
 * other offset comes near (right logs of 120 development takes: 0.0001 and 490; wrong ones: 0.013 and up,
 * 183 and down).
 */
const LIMITS = {
  offsetMs: 4,
  contest: 60,
  consistency: 1.2,
  leftover: 0.01,
  smoothContest: 100,
  driftPpm: 1500,
  /** A gyro this far off was read with the wrong unit or range. */
  gain: 0.1,
};
/** Smoothing beyond this hides the steps, frames. */
const MUCH_SMOOTHED = 3;
/** Motion that would do for a clock if it were seen well, degrees. */
const AMPLE = 0.3;
/** Clips shorter than this may simply be too short, s. */
const SHORT = 8;

/** Why a clock cannot be trusted; undefined where it can. */
export function refusalOf(findings: ClockFindings): RefusedClock | undefined {
  const [code, reason] = whyRefused(findings) ?? [];
  if (code === undefined || reason === undefined) return undefined;
  const { offsetDeviationMs, contest, consistency } = findings;
  return {
    accepted: false,
    verdict: 'refused',
    code,
    reason,
    offsetDeviationMs,
    contest,
    consistency,
  };
}

function whyRefused(findings: ClockFindings): [ClockRefusal, string] | undefined {
  const { consistency, leftover, contest, offsetDeviationMs, driftPpm } = findings;
  const misses = consistency > LIMITS.consistency;
  if (misses && (leftover > LIMITS.leftover || contest < LIMITS.smoothContest)) {
    return misfitInWords(findings);
  }
  const off = findings.gain.findIndex(
    (value, axis) => Math.abs(value - 1) - 2 * findings.gainDeviation[axis]! > LIMITS.gain,
  );
  if (off >= 0) {
    const error = 1 / findings.gain[off]! - 1;
    return [
      'scale',
      `the gyro reads ${Math.abs(100 * error).toFixed(0)} % too ${error > 0 ? 'much' : 'little'} about its ${'xyz'[off]} axis: check the units of its rates and its range`,
    ];
  }
  if (offsetDeviationMs > LIMITS.offsetMs) return unsureInWords(findings);
  if (contest < LIMITS.contest) {
    return ['ambiguous', 'another offset fits almost as well: the steps look alike'];
  }
  if (Math.abs(driftPpm) > LIMITS.driftPpm) {
    return [
      'drift',
      `the clocks would drift apart by ${driftPpm.toFixed(0)} ppm, more than any logger does`,
    ];
  }
  return undefined;
}

/** The log misses: most often it is another take's, but a much smoothed track looks like that too. */
function misfitInWords({
  consistency,
  smoothedFrames,
  score,
  contest,
}: ClockFindings): [ClockRefusal, string] {
  const times = consistency.toFixed(1);
  if (smoothedFrames > MUCH_SMOOTHED && score > 0.7 && contest > LIMITS.contest) {
    return [
      'smoothed-track',
      `the log misses the picture by ${times} times the picture's own noise, and the track looks smoothed over ${smoothedFrames.toFixed(1)} frames: export it without smoothing`,
    ];
  }
  return [
    'another-take',
    `the log misses the picture by ${times} times the picture's own noise: it may belong to another take`,
  ];
}

/** The time is known too badly: for noise, for shortness, or because nothing moves. */
function unsureInWords({
  offsetDeviationMs,
  motionDeg,
  noiseDeg,
  seconds,
}: ClockFindings): [ClockRefusal, string] {
  const deviation = `± ${offsetDeviationMs.toFixed(1)} ms`;
  if (motionDeg > AMPLE && seconds < SHORT) {
    return [
      'too-short',
      `log and clip share ${seconds.toFixed(1)} s, too little to tell the time better than ${deviation}`,
    ];
  }
  if (motionDeg > AMPLE) {
    return [
      'noisy',
      `picture and log differ by ${noiseDeg.toFixed(2)}° from frame to frame, too much to tell the time better than ${deviation}`,
    ];
  }
  return ['too-still', `the motion is too small to tell the time better than ${deviation}`];
}

/** The refusal where not even a candidate was found. */
export function nothingShared(
  log: MotionLog,
  duration: number,
  hint?: { readonly value: number; readonly within: number },
): RefusedClock {
  const end = log.times[log.times.length - 1]!;
  const short = Math.min(duration, end) < LEAST_SHARED;
  const reason = short
    ? `log and clip share at most ${Math.min(duration, end).toFixed(1)} s, and ${LEAST_SHARED} s are needed`
    : hint
      ? `the log, ${end.toFixed(1)} s long, does not overlap the clip in time at an offset of ${hint.value} s ± ${hint.within} s`
      : 'the log does not overlap the clip in time: it has no stretch of rows that is long enough, or nothing moves in it';
  return {
    accepted: false,
    verdict: 'refused',
    code: short ? 'too-short' : 'no-overlap',
    reason,
    offsetDeviationMs: Number.MAX_VALUE,
    contest: 0,
    consistency: Number.MAX_VALUE,
  };
}

/** The camera axis that a direction comes closest to. */
export function axisInWords([x, y, z]: Vector3): string {
  const names = [
    ["the camera's x axis (looking up and down)", Math.abs(x)],
    ["the camera's y axis (panning)", Math.abs(y)],
    ["the camera's z axis (rolling)", Math.abs(z)],
  ] as const;
  return names.reduce((a, b) => (b[1] > a[1] ? b : a))[0];
}
