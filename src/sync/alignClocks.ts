import { TwinkeelError } from '../error.js';
import type { MotionLog } from '../track/motionLog.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { isEvenlySpaced } from '../track/times.js';
import { cleanTrack } from './cleanTrack.js';
import type { ClockAlignment } from './clockAlignment.js';
import { type ClockCandidate, clockCandidates, LEAST_SHARED } from './clockCandidates.js';
import { UNKNOWNS, type Unknown } from './clockColumns.js';
import {
  type ClockLook,
  coveredFrames,
  type FrameRange,
  lookAt,
  middleOf,
  movesOf,
  type Picture,
} from './clockLook.js';
import type { ClockState } from './clockState.js';
import { contestBetween, explained } from './contest.js';
import { judgeClock } from './judgeClock.js';
import { AS_LOGGED } from './loggedMotion.js';
import { nothingShared } from './refuseClock.js';

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

/** An alignment together with what fusing needs of it. */
export interface ClockSolution {
  readonly alignment: ClockAlignment;
  /** The best look, also where it was refused. */
  readonly best?: ClockLook;
}

/** Shorter parts of a clip cannot tell the drift, s. */
export const DRIFT_FROM = 20;
/**
 * How closely candidates are looked at, round by round: seconds of the clip's middle, iterations, and
 * how many go on to the next round. The last solves for everything.
 */
const GLANCES = [
  { seconds: 8, iterations: 2, keep: 8 },
  { seconds: 20, iterations: 3, keep: 3 },
] as const;
const LOOK = { seconds: 60, iterations: 5 };
/** Twelve unknowns need more frames than these. */
const LEAST_FRAMES = 20;
/** A track with fewer samples per second does not show the steps. */
const SLOWEST_SAMPLE_RATE = 10;
/** Two optima closer than this are one, s. */
const SAME_OPTIMUM = 0.03;
const TIME_AND_TURN: readonly Unknown[] = ['offset', 'turnX', 'turnY', 'turnZ'];

/**
 * Lines a motion log up with a picture's track of the same take: time offset, drift and the fixed turn
 * from sensor to camera axes. The log may start long before the clip, start late or end early, and run
 * in any axes; a third of the picture's frames may be wild, the track may be smoothed, and the gyro may
 * read a few percent too much or too little.
 *
 * @param log - covering the clip, or a part of it; seconds from its own first row
 * @param track - of the picture, evenly sampled; seconds from its first frame
 * @param options - what is known beforehand, such as an offset from time code or a clap
 * @returns the alignment and the part of the clip it holds for, or a refusal that says why
 * @throws TwinkeelError `argument/invalid` when the track is unevenly sampled, for a hint that is no
 *   number, or for days of log without a hint; `track/too-sparse` below 10 samples per second
 * @example
 * const clock = alignClocks(log, track);
 * if (!clock.accepted) throw new Error(clock.reason);
 * clock.offset; // 2.00 s, the log starts before the clip
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
  { offset }: AlignClocksOptions = {},
): ClockSolution {
  checkArguments(track, offset);
  const duration = track.times[track.times.length - 1]!;
  if (duration < LEAST_SHARED) return { alignment: nothingShared(log, duration, offset) };
  const clean = cleanTrack(track.quaternions);
  const picture = { track, clean, moves: movesOf(track, clean.weights) };
  const candidates = clockCandidates(log, { ...track, quaternions: clean.smooth }, offset);
  let kept: ClockLook[] = [];
  const seen: ClockLook[] = [];
  for (const [round, glance] of GLANCES.entries()) {
    const looks =
      round === 0
        ? candidates.flatMap((one) => look(one, log, picture, glance))
        : kept.flatMap(({ candidate, clock }) => look(candidate, log, picture, glance, clock));
    kept = distinct(byWorth(looks)).slice(0, glance.keep);
    seen.unshift(...byWorth(looks));
  }
  const finalists = byWorth(
    kept.flatMap(({ candidate, clock }) => look(candidate, log, picture, LOOK, clock, true)),
  );
  const [winner] = finalists;
  if (!winner) return { alignment: nothingShared(log, duration, offset) };
  const rival = distinct(finalists)[1] ?? distinct([winner, ...seen])[1];
  const best = whole(winner, log, picture);
  const contest = contestBetween(winner, rival);
  return { alignment: judgeClock({ log, picture, best, contest }), best };
}

/** Looks, the one that explains most first. */
function byWorth(looks: readonly ClockLook[]): ClockLook[] {
  return [...looks].sort((a, b) => explained(b) - explained(a));
}

/** Looks at different offsets; of those that ended at the same the first is kept. */
function distinct(looks: readonly ClockLook[]): ClockLook[] {
  const kept: ClockLook[] = [];
  for (const one of looks) {
    if (kept.every((other) => Math.abs(other.clock.offset - one.clock.offset) > SAME_OPTIMUM))
      kept.push(one);
  }
  return kept;
}

function checkArguments({ times }: OrientationTrack, hint: AlignClocksOptions['offset']): void {
  if (!isEvenlySpaced(times)) {
    throw new TwinkeelError('argument/invalid', {
      found: 'a track with uneven times',
      expected: 'a log that covers the clip, and a track on its frames',
      remedy: 'resample the track to frames first',
    });
  }
  const perSecond = (times.length - 1) / times[times.length - 1]!;
  if (perSecond < SLOWEST_SAMPLE_RATE) {
    throw new TwinkeelError('track/too-sparse', {
      found: `${perSecond.toFixed(1)} samples per second`,
      expected: `at least ${SLOWEST_SAMPLE_RATE}, to see the steps`,
      remedy: 'export every frame of the take, or check the unit of time',
    });
  }
  if (hint && !(Number.isFinite(hint.value) && hint.within >= 0)) {
    throw new TwinkeelError('argument/invalid', {
      found: `an offset of ${hint.value} s ± ${hint.within} s`,
      expected: 'a number of seconds, and how far it may be off either way',
      remedy: 'leave the offset out where it is not known',
    });
  }
}

/**
 * A candidate on the middle of what it covers: a glance for time and turn, a look for everything.
 * Nothing where the candidate has wandered out of its stretch of the log.
 */
function look(
  candidate: ClockCandidate,
  log: MotionLog,
  picture: Picture,
  { seconds, iterations }: { readonly seconds: number; readonly iterations: number },
  known?: ClockState,
  everything = false,
): ClockLook[] {
  const { times } = picture.track;
  const offset = known?.offset ?? candidate.lag;
  const { from, to } = candidate.stretch;
  // A tenth of a second of room at the end, for the offset to move.
  const all = coveredFrames(times, (t) => t + offset, { from, to: to - 0.1 });
  const most = Math.ceil((seconds * (times.length - 1)) / times[times.length - 1]!);
  const frames = middleOf(all, most);
  if (frames.end - frames.first < LEAST_FRAMES) return [];
  const start = known ?? { ...AS_LOGGED, offset, drift: 0, axes: candidate.axes };
  return [
    lookAt(candidate, log, picture, frames, start, {
      unknowns: everything ? unknownsOver(frames, times) : TIME_AND_TURN,
      iterations,
      settling: 1,
    }),
  ];
}

/** Everything but the drift where the frames are too few for it. */
function unknownsOver({ first, end }: FrameRange, times: Float64Array): readonly Unknown[] {
  const long = times[end - 1]! - times[first]! >= DRIFT_FROM;
  return UNKNOWNS.filter((unknown) => long || unknown !== 'drift');
}

/** The winner on all frames that the log covers. */
function whole(
  { candidate, clock, frames }: ClockLook,
  log: MotionLog,
  picture: Picture,
): ClockLook {
  const { times } = picture.track;
  const middle = (times[frames.first]! + times[frames.end - 1]!) / 2;
  const logTime = (t: number) => t + clock.offset + clock.drift * (t - middle);
  const covered = coveredFrames(times, logTime, candidate.stretch);
  const all = covered.end - covered.first < LEAST_FRAMES ? frames : covered;
  const moved = (times[all.first]! + times[all.end - 1]!) / 2;
  const start = { ...clock, offset: logTime(moved) - moved };
  return lookAt(candidate, log, picture, all, start, {
    unknowns: unknownsOver(all, times),
    iterations: 4,
    settling: 0,
    covariance: true,
  });
}
