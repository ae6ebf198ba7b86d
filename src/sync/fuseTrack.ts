import { TwinkeelError } from '../error.js';
import { alignSigns, composeQuaternions, invertQuaternions } from '../rotation/arrays.js';
import { invertQuaternion } from '../rotation/quaternion.js';
import type { MotionLog } from '../track/motionLog.js';
import { type OrientationTrack, withQuaternions } from '../track/orientationTrack.js';
import { interpolateTrack } from '../track/resample.js';
import { timeGaps } from '../track/times.js';
import { type AlignClocksOptions, DRIFT_FROM, solveClocks } from './alignClocks.js';
import type { AcceptedClock } from './clockAlignment.js';
import { loggedMotion } from './loggedMotion.js';
import { logTimes, motionAt } from './refineClock.js';

/** One track from picture and log. */
export interface FusedTrack {
  /**
   * At the frames of the picture's track: its slow truth, the log's fast motion; where the log covers
   * nothing, the picture's own.
   */
  readonly track: OrientationTrack;
  /** How clock and axes of the log lie to the picture's. */
  readonly alignment: AcceptedClock;
}

/** A hole in the log longer than this hides motion, s (our judgement: a tenth of a step). */
const LONGEST_LOG_GAP = 0.05;

/**
 * Joins a picture's track and a motion log of the same take: A M at every frame, with M the log's
 * motion on the picture's clock and in camera axes, and A the slow rotation that keeps it with the
 * picture. Wild frames are replaced by what the log saw; the alignment lists them. Where the track was
 * smoothed, the log's motion is put back unsmoothed. A log that starts late or ends early serves the
 * frames that it covers.
 *
 * @param log - covering the clip, or a part of it
 * @param track - of the picture, evenly sampled
 * @param options - what is known beforehand, such as an offset from time code or a clap
 * @throws TwinkeelError `sync/refused` with the reason when clock and axes cannot both be told;
 *   `track/gap` when the log has a hole within the clip
 * @example
 * fuseTrack(log, track).alignment.verdict; // 'aligned'
 */
export function fuseTrack(
  log: MotionLog,
  track: OrientationTrack,
  options: AlignClocksOptions = {},
): FusedTrack {
  const { alignment, best } = solveClocks(log, track, options);
  if (best) refuseHole(log, track, best.clock.offset, best.frames);
  if (!best || !alignment.accepted || alignment.verdict !== 'aligned') {
    throw new TwinkeelError('sync/refused', {
      found: `a log that cannot be lined up with the picture: ${alignment.reason ?? 'no reason'}`,
      expected: 'a log of the same take, with motion about more than one axis',
      remedy: 'check that log and clip belong together, or correct without the log',
    });
  }
  const { clock, frames, rows } = best;
  const times = track.times.subarray(frames.first, frames.end);
  const at = logTimes(clock, times, (alignment.from + alignment.to) / 2);
  const felt = loggedMotion(rows, { ...clock, smoothing: 0 });
  const quaternions = track.quaternions.slice();
  quaternions.set(composeQuaternions(clock.slow, motionAt(felt, at, clock.axes)), 4 * frames.first);
  const fused = withQuaternions(track, alignSigns(quaternions));
  return {
    track: {
      ...fused,
      warnings: [
        ...track.warnings,
        { code: 'sync/fused', message: fusedInWords(alignment) },
        ...alignment.warnings,
      ],
    },
    alignment,
  };
}

/** Looked for first, since what a hole hides makes a right log look like that of another take. */
function refuseHole(
  log: MotionLog,
  { times }: OrientationTrack,
  offset: number,
  { first, end }: { readonly first: number; readonly end: number },
): void {
  // The offset is that of the covered part, and a drift moves its ends by milliseconds only.
  const from = Math.max(0, times[0]! + offset);
  const to = times[times.length - 1]! + offset;
  const hole = timeGaps(log.times).find(
    ({ after, length }) =>
      length > LONGEST_LOG_GAP && log.times[after]! < to && log.times[after + 1]! > from,
  );
  if (!hole || end <= first) return;
  throw new TwinkeelError('track/gap', {
    timeS: log.times[hole.after]!,
    found: `${hole.length.toFixed(2)} s without a row in the log`,
    expected: `holes of at most ${LONGEST_LOG_GAP} s within the clip`,
    remedy: 'correct without the log, or split the clip there',
  });
}

function fusedInWords(alignment: AcceptedClock): string {
  const { offset, offsetDeviationMs, driftPpm, driftDeviationPpm, wildFrames } = alignment;
  const start =
    offset < 0
      ? `${(-offset).toFixed(4)} s after the clip`
      : `${offset.toFixed(4)} s before the clip`;
  const drift = alignment.driftEstimated
    ? `its clock drifts by ${Math.round(driftPpm) + 0} ppm (± ${Math.round(driftDeviationPpm)} ppm; positive: it counts more seconds than the clip)`
    : `the drift of its clock was not estimated, since less than ${DRIFT_FROM} s are shared, and taken as none`;
  const wild = wildFrames.length;
  return `the log was lined up: it starts ${start} (± ${offsetDeviationMs.toFixed(2)} ms), and ${drift}${wild === 0 ? '' : `; ${wild} wild frame${wild === 1 ? ' was' : 's were'} replaced`}`;
}

/**
 * A fused track at the rows of the log instead of the frames, as far as they lie within the part of
 * the clip that the log covers.
 *
 * @param fused - from {@link fuseTrack}
 * @param log - the same log
 * @param logQuaternions - its orientation at its rows in sensor axes, such as {@link track!integrateRate} gives
 * @returns the track at the log's rows, seconds from the first row that lies within that part
 * @example
 * const inSensorAxes = integrateRate(log.times, log.rate);
 * const fine = fusedAtLogRate(fuseTrack(log, track), log, inSensorAxes);
 * fine.times[1]; // 0.005 s, 200 rows a second
 */
export function fusedAtLogRate(
  { track, alignment }: FusedTrack,
  log: MotionLog,
  logQuaternions: Float64Array,
): OrientationTrack {
  const { from, to, offset, axes } = alignment;
  const drift = alignment.driftPpm * 1e-6;
  const middle = (from + to) / 2;
  const toPicture = (t: number) => (t - offset + drift * middle) / (1 + drift);
  const rows = Array.from(log.times.keys()).filter((k) => {
    const t = toPicture(log.times[k]!);
    return t >= from && t <= to;
  });
  const times = Float64Array.from(rows, (k) => toPicture(log.times[k]!));
  const motion = (quaternions: Float64Array) =>
    composeQuaternions(composeQuaternions(axes, quaternions), invertQuaternion(axes));
  const atRows = new Float64Array(4 * rows.length);
  rows.forEach((k, i) => {
    atRows.set(logQuaternions.subarray(4 * k, 4 * k + 4), 4 * i);
  });
  const source = {
    times: log.times,
    quaternions: logQuaternions,
    up: 'unknown',
    warnings: [],
  } as const;
  const covered = Array.from(track.times.keys()).filter(
    (k) => track.times[k]! >= from && track.times[k]! <= to,
  );
  const coveredTimes = Float64Array.from(covered, (k) => track.times[k]!);
  const coveredTrack = track.quaternions.subarray(4 * covered[0]!, 4 * (covered.at(-1)! + 1));
  const logAtFrames = logTimes({ offset, drift }, coveredTimes, middle);
  // A = fused M⁻¹ at the frames is slow, so it may be interpolated to the rows.
  const slow = alignSigns(
    composeQuaternions(
      coveredTrack,
      invertQuaternions(motion(interpolateTrack(source, logAtFrames))),
    ),
  );
  const slowAtRows = interpolateTrack(
    { times: coveredTimes, quaternions: slow, up: 'unknown', warnings: [] },
    times,
  );
  const { frames: _, frameRate: __, ...rest } = track;
  return {
    ...rest,
    times: times.map((t) => t - (times[0] ?? 0)),
    quaternions: alignSigns(composeQuaternions(slowAtRows, motion(atRows))),
  };
}
