import type { Warning } from '../error.js';
import { symmetricEigen } from '../numeric/symmetric.js';
import type { MotionLog } from '../track/motionLog.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import type { AcceptedClock, ClockAlignment } from './clockAlignment.js';
import { UNKNOWNS } from './clockColumns.js';
import { type ClockLook, type Picture, trimmedRms } from './clockLook.js';
import { DRIFT_PRIOR } from './clockState.js';
import { mirrorWarnings } from './mirroredTrack.js';
import { LEAST_NOISE, logTimes } from './refineClock.js';
import { axisInWords, type ClockFindings, refusalOf } from './refuseClock.js';

/** What the verdict looks at. */
export interface Judged {
  readonly log: MotionLog;
  readonly picture: Picture;
  /** The best clock, on all frames that the log covers. */
  readonly best: ClockLook;
  /** How much the second-best offset is worse. */
  readonly contest: number;
}

/**
 * What the sandwich leaves out, such as a model that fits its own errors; fitted on development seeds so
 * that two deviations hold 95 % of the offsets.
 */
const INFLATION = 1.5;
/** Beyond this a deviation of a turn means nothing but that any turn will do: half a turn over √3. */
const ANY_TURN = { from: 20, deg: 180 / Math.sqrt(3) };
/** Axes known this well level a picture, degrees. */
const AXES_DEG = 2;
/** Smoothing and gains are told to people from here on: frames, share; and three deviations. */
const WORTH_TELLING = { frames: 0.7, gain: 0.005, deviations: 3 };

/** Judges the best clock: what it says with its deviations, or why it cannot be trusted. */
export function judgeClock({ log, picture, best, contest }: Judged): ClockAlignment {
  const { clock, frames } = best;
  const { track } = picture;
  const deviation = (unknown: (typeof UNKNOWNS)[number]) => {
    const i = UNKNOWNS.indexOf(unknown);
    return INFLATION * Math.sqrt(Math.max(0, clock.covariance[i]![i]!));
  };
  const times = track.times.subarray(frames.first, frames.end);
  const [from, to] = [times[0]!, times[times.length - 1]!];
  const perSecond = (track.times.length - 1) / track.times[track.times.length - 1]!;
  const findings: ClockFindings = {
    ...misfitOf(best, picture),
    contest,
    seconds: to - from,
    motionDeg: degrees(best.motion),
    noiseDeg: degrees(clock.noise),
    offsetDeviationMs: 1000 * deviation('offset'),
    driftPpm: 1e6 * clock.drift,
    gain: clock.gain,
    gainDeviation: [deviation('gainX'), deviation('gainY'), deviation('gainZ')],
    smoothedFrames: smoothedFrames(clock.smoothing, deviation('smoothing'), perSecond),
    score: best.candidate.score,
  };
  const refusal = refusalOf(findings);
  if (refusal) return refusal;
  const { axes, worst, best: known, leastKnownAxis } = turnOf(clock.covariance, clock.axes);
  const unsure = worst >= AXES_DEG;
  const driftEstimated = deviation('drift') > 0;
  return {
    accepted: true,
    verdict: unsure ? 'time-only' : 'aligned',
    ...(unsure && {
      reason: `the turn of the sensor about ${axisInWords(leastKnownAxis)} is unknown (± ${worst.toFixed(1)}°): the clip moves about little else`,
    }),
    from,
    to,
    offset: clock.offset,
    offsetDeviationMs: findings.offsetDeviationMs,
    driftEstimated,
    driftPpm: findings.driftPpm,
    driftDeviationPpm: 1e6 * (driftEstimated ? deviation('drift') : DRIFT_PRIOR),
    axes,
    axesDeviationDeg: { best: known, worst },
    leastKnownAxis,
    gyroGain: clock.gain,
    gyroBias: clock.bias,
    smoothedFrames: findings.smoothedFrames,
    contest,
    consistency: findings.consistency,
    wildFrames: Int32Array.from(
      Array.from(clock.weights.keys()).filter((k) => clock.weights[k] === 0),
      (k) => track.frames?.[frames.first + k] ?? frames.first + k,
    ),
    warnings: [
      ...coverageWarnings(from, to, track.times),
      ...calibrationWarnings(findings),
      ...(unsure ? [] : mirrorWarningsOf(log, track, best, (from + to) / 2)),
    ],
  };
}

/** Whether the picture is a mirror image, by the force around a time of the clip. */
function mirrorWarningsOf(
  log: MotionLog,
  { times, quaternions, up }: OrientationTrack,
  { clock, frames: { first, end } }: ClockLook,
  middle: number,
): Warning[] {
  const covered = { quaternions: quaternions.subarray(4 * first, 4 * end), up };
  const at = logTimes(clock, times.subarray(first, end), middle);
  return mirrorWarnings(log, covered, clock.axes, clock.weights, at);
}

/** How far the log misses: as a multiple of the picture's noise, and beyond it as a share of the motion. */
function misfitOf(
  { misfit, motion, frames }: ClockLook,
  { clean }: Picture,
): { consistency: number; leftover: number } {
  const own = trimmedRms(
    clean.misses.subarray(frames.first, frames.end),
    clean.weights.subarray(frames.first, frames.end),
  );
  const noise = Math.max(own, LEAST_NOISE);
  const excess = Math.max(0, misfit ** 2 - noise ** 2);
  return {
    consistency: misfit / noise,
    leftover: excess / Math.max(motion ** 2, Number.MIN_VALUE),
  };
}

function turnOf(covariance: readonly (readonly number[])[], axes: AcceptedClock['axes']) {
  const turn = Float64Array.from([2, 3, 4].flatMap((i) => covariance[i]!.slice(2, 5)));
  const { values, vectors } = symmetricEigen(turn);
  const deviation = (variance: number) => {
    const found = INFLATION * degrees(Math.sqrt(Math.max(variance, 0)));
    return found > ANY_TURN.from ? ANY_TURN.deg : found;
  };
  return {
    axes,
    best: deviation(values[0]),
    worst: deviation(values[2]),
    leastKnownAxis: vectors[2],
  };
}

/** Deviation of the bell over the picture's track, frames; 0 where it may as well be none. */
function smoothedFrames(variance: number, deviation: number, perSecond: number): number {
  const frames = Math.sqrt(Math.max(variance, 0)) * perSecond;
  const sure = variance > WORTH_TELLING.deviations * deviation;
  return sure && frames >= WORTH_TELLING.frames ? frames : 0;
}

function coverageWarnings(from: number, to: number, times: Float64Array): Warning[] {
  const last = times[times.length - 1]!;
  const step = last / (times.length - 1);
  if (from < step / 2 && to > last - step / 2) return [];
  return [
    {
      code: 'sync/part',
      timeS: from > 0 ? from : to,
      message: `the log covers the clip from ${from.toFixed(2)} s to ${to.toFixed(2)} s of ${last.toFixed(2)} s; outside of that the track is the picture's own, wild frames included`,
    },
  ];
}

function calibrationWarnings({ smoothedFrames, gain, gainDeviation }: ClockFindings): Warning[] {
  const told: Warning[] = [];
  if (smoothedFrames > 0) {
    told.push({
      code: 'sync/smoothed-track',
      message: `the picture's track looks smoothed, as by a bell with a deviation of ${smoothedFrames.toFixed(1)} frames; the log was compared under the same smoothing`,
    });
  }
  const off = gain.flatMap((value, axis) => {
    const error = value - 1;
    const sure = Math.abs(error) > WORTH_TELLING.deviations * gainDeviation[axis]!;
    if (!sure || Math.abs(error) < WORTH_TELLING.gain) return [];
    const amount = (100 * Math.abs(1 / value - 1)).toFixed(1);
    return [`${amount} % too ${error > 0 ? 'little' : 'much'} about its ${'xyz'[axis]} axis`];
  });
  if (off.length > 0) {
    told.push({
      code: 'sync/gyro-scale',
      message: `the gyro reads ${off.join(', ')}; this was taken into account`,
    });
  }
  return told;
}

function degrees(angle: number): number {
  return (angle * 180) / Math.PI;
}
