import { TwinkeelError } from '../error.js';
import { alignSigns, composeQuaternions, invertQuaternions } from '../rotation/arrays.js';
import { invertQuaternion } from '../rotation/quaternion.js';
import type { MotionLog } from '../track/motionLog.js';
import { type OrientationTrack, withQuaternions } from '../track/orientationTrack.js';
import { interpolateTrack } from '../track/resample.js';
import { timeGaps } from '../track/times.js';
import { type AlignClocksOptions, type ClockAlignment, solveClocks } from './alignClocks.js';

/** One track from picture and log. */
export interface FusedTrack {
  /** At the frames of the picture's track: its slow truth, the log's fast motion. */
  readonly track: OrientationTrack;
  /** How clock and axes of the log lie to the picture's. */
  readonly alignment: ClockAlignment;
}

/** A hole in the log longer than this hides motion, s (our judgement: a tenth of a step). */
const LONGEST_LOG_GAP = 0.05;

/**
 * Joins a picture's track and a motion log of the same take: A M at every frame, with M the log's
 * motion on the picture's clock and in camera axes, and A the slow rotation that keeps it with the
 * picture. Wild frames are replaced by what the log saw; the alignment lists them.
 *
 * @param log - covering the clip
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
  const { alignment, refined } = solveClocks(log, track, options);
  const duration = track.times[track.times.length - 1]!;
  // Looked for first, since what it hides makes a right log look like that of another take.
  const hole = timeGaps(log.times).find(
    ({ after, length }) =>
      length > LONGEST_LOG_GAP &&
      log.times[after]! < alignment.offset + duration &&
      log.times[after + 1]! > alignment.offset,
  );
  if (hole) {
    throw new TwinkeelError('track/gap', {
      timeS: log.times[hole.after]!,
      found: `${hole.length.toFixed(2)} s without a row in the log`,
      expected: `holes of at most ${LONGEST_LOG_GAP} s within the clip`,
      remedy: 'correct without the log, or split the clip there',
    });
  }
  if (alignment.verdict !== 'aligned' || !refined) {
    throw new TwinkeelError('sync/refused', {
      found: `a log that cannot be lined up with the picture: ${alignment.reason ?? 'no reason'}`,
      expected: 'a log of the same take, with motion about more than one axis',
      remedy: 'check that log and clip belong together, or correct without the log',
    });
  }
  const missing = Math.max(
    -alignment.offset,
    alignment.offset + duration - log.times[log.times.length - 1]!,
  );
  if (missing > LONGEST_LOG_GAP) {
    throw new TwinkeelError('track/gap', {
      found: `a log that leaves ${missing.toFixed(2)} s at an end of the clip uncovered`,
      expected: `at most ${LONGEST_LOG_GAP} s`,
      remedy: 'cut the clip to what was logged, or correct without the log',
    });
  }
  const fused = withQuaternions(track, composeQuaternions(refined.slow, refined.motion));
  const wild = alignment.wildFrames.length;
  return {
    track: {
      ...fused,
      warnings: [
        ...track.warnings,
        {
          code: 'sync/fused',
          message: `the log was lined up: it starts ${alignment.offset.toFixed(4)} s before the clip (± ${alignment.offsetDeviationMs.toFixed(2)} ms), and its clock drifts by ${Math.round(alignment.driftPpm) + 0} ppm (positive: it counts more seconds than the clip)${wild === 0 ? '' : `; ${wild} wild frame${wild === 1 ? ' was' : 's were'} replaced`}`,
        },
      ],
    },
    alignment,
  };
}

/**
 * A fused track at the rows of the log instead of the frames, as far as they lie within the clip.
 *
 * @param fused - from {@link fuseTrack}
 * @param log - the same log
 * @param logQuaternions - its orientation at its rows in sensor axes, such as {@link integrateRate} gives
 * @returns the track at the log's rows, seconds from the first row that lies within the clip
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
  const duration = track.times[track.times.length - 1]!;
  const drift = alignment.driftPpm * 1e-6;
  const middle = duration / 2;
  const toPicture = (t: number) => (t - alignment.offset + drift * middle) / (1 + drift);
  const rows = Array.from(log.times.keys()).filter((k) => {
    const t = toPicture(log.times[k]!);
    return t >= 0 && t <= duration;
  });
  const times = Float64Array.from(rows, (k) => toPicture(log.times[k]!));
  const motion = (quaternions: Float64Array) =>
    composeQuaternions(
      composeQuaternions(alignment.axes, quaternions),
      invertQuaternion(alignment.axes),
    );
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
  const logAtFrames = track.times.map((t) => t * (1 + drift) + alignment.offset - drift * middle);
  // A = fused M⁻¹ at the frames is slow, so it may be interpolated to the rows.
  const slow = alignSigns(
    composeQuaternions(
      track.quaternions,
      invertQuaternions(motion(interpolateTrack(source, logAtFrames))),
    ),
  );
  const slowAtRows = interpolateTrack({ ...track, quaternions: slow }, times);
  const { frames: _, frameRate: __, ...rest } = track;
  return {
    ...rest,
    times: times.map((t) => t - (times[0] ?? 0)),
    quaternions: alignSigns(composeQuaternions(slowAtRows, motion(atRows))),
  };
}
