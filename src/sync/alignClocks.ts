import { TwinkeelError } from '../error.js';
import { symmetricEigen } from '../numeric/symmetric.js';
import { quaternionFromMatrix } from '../rotation/matrix.js';
import type { Quaternion, Vector3 } from '../rotation/quaternion.js';
import { angularRate } from '../track/angularRate.js';
import { integrateRate } from '../track/integrate.js';
import type { MotionLog } from '../track/motionLog.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { isEvenlySpaced, timeGaps } from '../track/times.js';
import { cleanTrack } from './cleanTrack.js';
import { COARSE_RATE, findLags, type LagCandidate } from './coarseLag.js';
import { type ClockProblem, type RefinedClock, refineClock } from './refineClock.js';

/** What is known beforehand. */
export interface AlignClocksOptions {
  /** Log time less picture time, s, with how far it may be off; from time code or a clap. */
  readonly offset?: {
    /** Log time less picture time, s; positive where the log starts before the clip. */
    readonly value: number;
    /** How far it may be off either way, s. */
    readonly within: number;
  };
}

/** How a log's clock and axes lie to a picture's. */
export interface ClockAlignment {
  /** Both clock and axes; only the clock; or nothing that can be trusted. */
  readonly verdict: 'aligned' | 'time-only' | 'refused';
  /** Why, in one sentence, where not everything could be told. */
  readonly reason?: string;
  /** Log time less picture time in the middle of the clip, s. */
  readonly offset: number;
  /** Standard deviation of the offset, ms. */
  readonly offsetDeviationMs: number;
  /** How much faster the log's clock runs, parts per million; 0 where the clip is too short to tell. */
  readonly driftPpm: number;
  /** Standard deviation of the drift, parts per million. */
  readonly driftDeviationPpm: number;
  /** Sensor axes to camera axes. */
  readonly axes: Quaternion;
  /** Standard deviation of the axes about their best and worst known axis, degrees. */
  readonly axesDeviationDeg: {
    /** About the axis that is known best, degrees. */
    readonly best: number;
    /** About {@link ClockAlignment.leastKnownAxis}, degrees. */
    readonly worst: number;
  };
  /** Camera axis about which the turn of the sensor is known least. */
  readonly leastKnownAxis: Vector3;
  /** How much the second-best offset is worse: above 12 it is another motion. */
  readonly contest: number;
  /** Misfit of the log as a multiple of the picture's own noise: a right log stays near 1. */
  readonly consistency: number;
  /** Frames that follow neither log nor neighbours. */
  readonly wildFrames: Int32Array;
}

/** An alignment together with what fusing needs of it. */
export interface ClockSolution {
  readonly alignment: ClockAlignment;
  readonly refined?: RefinedClock;
}

/** Formal deviations are too small, since what is left is no white noise (measured on synthetic clips). */
const INFLATION = 3;
/**
 * Limits of the verdict: a quarter frame; another motion; another log (pure noise gives 1.1, since the
 * smooth path takes a sixth of its freedom; wrong offsets of a camera on legs 1.23 and more); axes good
 * enough to level.
 */
const LIMITS = { offsetMs: 4, contest: 12, consistency: 1.2, axesDeg: 2, driftPpm: 1500 };
/** Shorter clips cannot tell the drift, s. */
const DRIFT_FROM = 20;
const CANDIDATES = 6;
const ITERATIONS = 8;
/** Two optima closer than this are one, s. */
const SAME_OPTIMUM = 0.03;

/**
 * Lines a motion log up with a picture's track of the same take: time offset, drift and the fixed turn
 * from sensor to camera axes. The log may start long before the clip and run in any axes; a third of
 * the picture's frames may be wild.
 *
 * @param log - covering the clip, or most of it; seconds from its own first row
 * @param track - of the picture, evenly sampled; seconds from its first frame
 * @param options - what is known beforehand, such as an offset from time code or a clap
 * @returns the alignment, or a refusal that says what cannot be told
 * @throws TwinkeelError `argument/invalid` when the clip is longer than the log or unevenly sampled
 * @example
 * alignClocks(log, track).offset; // 2.00 s, the log starts before the clip
 */
export function alignClocks(
  log: MotionLog,
  track: OrientationTrack,
  options: AlignClocksOptions = {},
): ClockAlignment {
  return solveClocks(log, track, options).alignment;
}

/** The work behind {@link alignClocks}. */
export function solveClocks(
  log: MotionLog,
  track: OrientationTrack,
  options: AlignClocksOptions = {},
): ClockSolution {
  const duration = track.times[track.times.length - 1]!;
  const logDuration = log.times[log.times.length - 1]!;
  if (!isEvenlySpaced(track.times) || logDuration < duration) {
    throw new TwinkeelError('argument/invalid', {
      found: isEvenlySpaced(track.times)
        ? `a log of ${logDuration.toFixed(1)} s for a clip of ${duration.toFixed(1)} s`
        : 'a track with uneven times',
      expected: 'a log that covers the clip, and a track on its frames',
      remedy: 'cut the clip to what was logged; resample the track to frames first',
    });
  }
  const picture = cleanTrack(track.quaternions);
  const candidates = coarseCandidates(log, { ...track, quaternions: picture.smooth }, options);
  if (candidates.length === 0)
    return { alignment: refusal('the log does not overlap the clip in time, or pauses there') };
  const withDrift = duration >= DRIFT_FROM;
  // A look at the middle of the clip decides between the candidates; the winner is then refined on
  // the whole clip, without the gyro's bias, which the look shows.
  const look = middlePart(track, picture.weights);
  const solutions = candidates
    .map((candidate) => {
      const problem = problemAround(candidate.lag, log, track);
      const start = { offset: candidate.lag, drift: 0, axes: quaternionFromMatrix(candidate.axes) };
      const clock = refineClock(
        { ...problem, times: look.times, quaternions: look.quaternions },
        start,
        look.weights,
        withDrift,
        ITERATIONS,
      );
      return { clock, problem, misfit: trimmedRms(clock.misses, trusted(look.weights)) };
    })
    .sort((a, b) => a.misfit - b.misfit);
  const best = solutions[0]!;
  const rival = solutions.find(
    ({ clock }) => Math.abs(clock.offset - best.clock.offset) > SAME_OPTIMUM,
  );
  const contest = rival
    ? ((3 * trusted(look.weights).length) / 8) * Math.log(rival.misfit / best.misfit)
    : Number.MAX_VALUE;
  const refined = withoutBias(best.problem, best.clock, picture.weights, withDrift);
  const misfit = trimmedRms(refined.misses, trusted(picture.weights));
  return {
    alignment: judge(
      refined,
      misfit,
      contest,
      trimmedRms(picture.misses, trusted(picture.weights)),
      track,
    ),
    refined,
  };
}

/** Seconds of a clip that suffice to tell candidates apart. */
const LOOK = 60;

/** The middle of a clip, at most {@link LOOK} seconds, with its trust in each frame. */
function middlePart(
  { times, quaternions }: OrientationTrack,
  weights: Float64Array,
): { times: Float64Array; quaternions: Float64Array; weights: Float64Array } {
  const n = times.length;
  const count = Math.min(n, Math.ceil((LOOK * (n - 1)) / times[n - 1]!));
  const from = (n - count) >> 1;
  return {
    times: times.subarray(from, from + count),
    quaternions: quaternions.subarray(4 * from, 4 * (from + count)),
    weights: weights.subarray(from, from + count),
  };
}

/** The frames that are trusted at all. */
function trusted(weights: Float64Array): number[] {
  return Array.from(weights.keys()).filter((k) => weights[k]! > 0);
}

/** Seconds of the log that are kept around a candidate: room for its offset to move. */
const ROOM = 3;

/** The stretch of the log around a candidate against the picture. */
function problemAround(lag: number, log: MotionLog, track: OrientationTrack): ClockProblem {
  const duration = track.times[track.times.length - 1]!;
  const from = Math.max(
    0,
    log.times.findIndex((time) => time >= lag - ROOM),
  );
  const after = log.times.findIndex((time) => time > lag + duration + ROOM);
  const to = after < 0 ? log.times.length : after;
  const logTimes = log.times.subarray(from, to);
  const logRate = log.rate.subarray(3 * from, 3 * to);
  return {
    times: track.times,
    quaternions: track.quaternions,
    logTimes,
    logRate,
    logQuaternions: integrateRate(logTimes, logRate),
  };
}

function withoutBias(
  problem: ClockProblem,
  first: RefinedClock,
  weights: Float64Array,
  withDrift: boolean,
): RefinedClock {
  const logRate = problem.logRate.map((value, i) => value - first.gyroBias[i % 3]!);
  return refineClock(
    { ...problem, logRate, logQuaternions: integrateRate(problem.logTimes, logRate) },
    { offset: first.offset, drift: 0, axes: first.axes },
    weights,
    withDrift,
    ITERATIONS,
  );
}

function coarseCandidates(
  log: MotionLog,
  picture: OrientationTrack,
  { offset }: AlignClocksOptions,
): LagCandidate[] {
  const duration = picture.times[picture.times.length - 1]!;
  const logEnd = log.times[log.times.length - 1]!;
  const from = offset ? Math.max(0, offset.value - offset.within) : 0;
  const to = offset ? Math.min(logEnd, offset.value + offset.within + duration) : logEnd;
  // Nothing of the log may lie where a hint points.
  if (!(to - from >= duration)) return [];
  if ((to - from) * COARSE_RATE > MOST_STEPS) {
    throw new TwinkeelError('argument/invalid', {
      found: `a log of ${((to - from) / 3600).toFixed(1)} h by its clock`,
      expected: `at most ${MOST_STEPS / COARSE_RATE / 3600} h to look for the clip in`,
      remedy: 'cut the log where its clock jumps, or say about where the clip lies in it',
    });
  }
  const v = meanRates(picture.times, angularRate(picture, 'camera'), 0, duration);
  const g = meanRates(log.times, log.rate, from, to);
  const pauses = timeGaps(log.times).filter(({ length }) => length > LONGEST_PAUSE);
  return findLags(v, g, from, CANDIDATES).filter(({ lag }) =>
    pauses.every(
      ({ after }) => log.times[after]! >= lag + duration || log.times[after + 1]! <= lag,
    ),
  );
}

/** Where a log pauses for longer, s, or its clock jumps, a clip cannot lie: its motion is not there. */
const LONGEST_PAUSE = 2;
/** A day at the coarse rate: the search takes some 300 bytes for each step of its grid. */
const MOST_STEPS = 86400 * COARSE_RATE;

/** Mean rates over the steps of the coarse grid between two times, by differences of their integral. */
function meanRates(
  times: Float64Array,
  rates: Float64Array,
  from: number,
  to: number,
): Float64Array {
  const count = Math.floor((to - from) * COARSE_RATE);
  const out = new Float64Array(3 * Math.max(0, count));
  let k = 0;
  const sum = [0, 0, 0];
  // Rates are taken as constant from each row to the next.
  for (let cell = 0; cell < count; cell++) {
    const end = from + (cell + 1) / COARSE_RATE;
    let time = from + cell / COARSE_RATE;
    sum.fill(0);
    while (k + 1 < times.length && times[k + 1]! <= time) k++;
    while (time < end) {
      const next = k + 1 < times.length ? Math.min(times[k + 1]!, end) : end;
      for (let axis = 0; axis < 3; axis++) sum[axis]! += rates[3 * k + axis]! * (next - time);
      if (k + 1 < times.length && times[k + 1]! <= end) k++;
      time = next;
    }
    for (let axis = 0; axis < 3; axis++) out[3 * cell + axis] = sum[axis]! * COARSE_RATE;
  }
  return out;
}

function judge(
  clock: RefinedClock,
  misfit: number,
  contest: number,
  pictureNoise: number,
  track: OrientationTrack,
): ClockAlignment {
  const { covariance } = clock;
  const offsetDeviationMs = 1000 * INFLATION * Math.sqrt(covariance[0]![0]!);
  const turn = Float64Array.from(
    [2, 3, 4].flatMap((i) => [2, 3, 4].map((j) => covariance[i]![j]!)),
  );
  const { values, vectors } = symmetricEigen(turn);
  const degrees = (variance: number) =>
    (INFLATION * Math.sqrt(Math.max(variance, 0)) * 180) / Math.PI;
  const axesDeviationDeg = { best: degrees(values[0]), worst: degrees(values[2]) };
  const consistency = misfit / pictureNoise;
  const driftPpm = 1e6 * clock.drift;
  const leastKnownAxis = vectors[2];
  const refusals = [
    consistency > LIMITS.consistency &&
      `the log misses the picture by ${consistency.toFixed(1)} times the picture's own noise: it may belong to another take`,
    offsetDeviationMs > LIMITS.offsetMs &&
      `the motion is too small to tell the time better than ± ${offsetDeviationMs.toFixed(1)} ms`,
    contest < LIMITS.contest && 'another offset fits almost as well: the steps look alike',
    Math.abs(driftPpm) > LIMITS.driftPpm &&
      `the clocks would drift apart by ${driftPpm.toFixed(0)} ppm, more than any logger does`,
  ].filter((reason): reason is string => typeof reason === 'string');
  const known = axesDeviationDeg.worst < LIMITS.axesDeg;
  const reason =
    refusals[0] ??
    (known
      ? undefined
      : `the turn of the sensor about ${axisInWords(leastKnownAxis)} is unknown (± ${axesDeviationDeg.worst.toFixed(1)}°): the clip moves about little else`);
  return {
    verdict: refusals.length > 0 ? 'refused' : known ? 'aligned' : 'time-only',
    ...(reason !== undefined && { reason }),
    offset: clock.offset,
    offsetDeviationMs,
    driftPpm,
    driftDeviationPpm: 1e6 * INFLATION * Math.sqrt(covariance[1]![1]!),
    axes: clock.axes,
    axesDeviationDeg,
    leastKnownAxis,
    contest,
    consistency,
    wildFrames: Int32Array.from(
      Array.from(clock.weights.keys()).filter((k) => clock.weights[k] === 0),
      (k) => track.frames?.[k] ?? k,
    ),
  };
}

function axisInWords([x, y, z]: Vector3): string {
  const names = [
    ["the camera's x axis (nodding)", Math.abs(x)],
    ["the camera's y axis (panning)", Math.abs(y)],
    ["the camera's z axis (rolling)", Math.abs(z)],
  ] as const;
  return names.reduce((a, b) => (b[1] > a[1] ? b : a))[0];
}

/** Root mean square of the misses of good frames, the largest 5 % counted as the next below. */
function trimmedRms(misses: Float64Array, good: readonly number[]): number {
  const values = Float64Array.from(good, (k) => misses[k]!).sort();
  const cap = values[Math.floor(0.95 * (values.length - 1))] ?? 0;
  return Math.sqrt(values.reduce((sum, v) => sum + Math.min(v, cap) ** 2, 0) / values.length);
}

function refusal(reason: string): ClockAlignment {
  const unknown = Number.MAX_VALUE;
  return {
    verdict: 'refused',
    reason,
    offset: 0,
    offsetDeviationMs: unknown,
    driftPpm: 0,
    driftDeviationPpm: unknown,
    axes: [0, 0, 0, 1],
    axesDeviationDeg: { best: unknown, worst: unknown },
    leastKnownAxis: [1, 0, 0],
    contest: 0,
    consistency: unknown,
    wildFrames: new Int32Array(0),
  };
}
