/**
 * Synthetic takes in the night greenhouse as two devices saw them: the picture's track with wild
 * frames, and a motion log on a clock and in axes of its own. How the two lie to each other is known.
 */
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import {
  alignSigns,
  composeQuaternions,
  invertQuaternions,
  normalizeQuaternions,
  quaternionsFromRotationVectors,
  rotateVectors,
} from '../../src/rotation/arrays.js';
import { invertQuaternion, type Quaternion, type Vector3 } from '../../src/rotation/quaternion.js';
import { quaternionFromRotationVector } from '../../src/rotation/rotationVector.js';
import { createMotionLog, type MotionLog } from '../../src/track/motionLog.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import { type ClockTakeKind, cameraPath, triple, turnRate } from './clockPaths.js';
import { type Random, seededRandom } from './random.js';

export type { ClockTakeKind };

export interface ClockTakeOptions {
  /** Seconds of the clip. @default 60 */
  readonly duration?: number;
  /** Frames per second. @default 60000/1001 */
  readonly frameRate?: number;
  /** Rows per second. @default 200 */
  readonly logRate?: number;
  /** Seconds that the log starts before the clip, as its clock says; from 0.5 to 4 otherwise. */
  readonly before?: number;
  /** Seconds that it goes on afterwards. @default 3 */
  readonly after?: number;
  /** From −300 to 300 otherwise. */
  readonly driftPpm?: number;
  /** Sensor axes to camera axes; drawn otherwise. */
  readonly axes?: Quaternion;
  /** Standard deviation of the constant gyro error on each axis, °/s. @default 0.5 */
  readonly biasDegPerS?: number;
  /** Density of the gyro's noise, °/s/√Hz. @default 0.007 */
  readonly gyroNoise?: number;
  /** Noise of a good frame on each axis, degrees. @default 0.03 */
  readonly frameNoiseDeg?: number;
  /** Share of wild frames. @default 0.3 */
  readonly wild?: number;
  /** Wild frames come alone, or 3 to 20 in a row. @default 'single' */
  readonly wildRuns?: 'single' | 'bursts';
  /** Reach of a wild frame on each axis, degrees. @default 5 */
  readonly wildDeg?: number;
  /**
   * Readout of a frame, s: the row that the tracker speaks for wanders within it as its features
   * come and go. @default 0.016
   */
  readonly readout?: number;
  /** The gyro reads this many times the true rate on each of its axes. @default 1, 1, 1 */
  readonly scale?: Vector3;
  /** How the tracker smoothed its track, wild frames aside; deviation or half width in frames. */
  readonly smoothed?: { readonly by: 'gaussian' | 'mean'; readonly frames: number };
  /** The tracker took left for right. @default false */
  readonly mirrored?: boolean;
  /** The log holds an accelerometer, and the track's world stands upright. @default false */
  readonly gravity?: boolean;
  /** Seed of the take whose motion the log holds. @default the same */
  readonly logSeed?: number;
}

export interface ClockTake {
  readonly track: OrientationTrack;
  readonly log: MotionLog;
  /** True orientation at the frames, in the track's world; length 4n. */
  readonly truth: Float64Array;
  readonly wildFrames: ReadonlySet<number>;
  /** Log time less picture time in the middle of the clip, s. */
  readonly offset: number;
  readonly driftPpm: number;
  readonly axes: Quaternion;
}

/** Makes the take that belongs to a seed; the same call always gives the same take. */
export function makeClockTake(
  kind: ClockTakeKind,
  seed: number,
  options: ClockTakeOptions = {},
): ClockTake {
  const draw = seededRandom(`clock ${kind} ${seed}`);
  const {
    duration = 60,
    frameRate = 60000 / 1001,
    logRate = 200,
    before = draw.uniform(0.5, 4),
    after = 3,
    driftPpm = draw.uniform(-300, 300),
    axes = quaternionFromRotationVector(triple(() => 1.2 * draw.normal())),
    biasDegPerS = 0.5,
    gyroNoise = 0.007,
    frameNoiseDeg = 0.03,
    readout = 0.016,
    scale = [1, 1, 1],
    logSeed = seed,
  } = options;
  const from = -Math.max(before, 0) - 1;
  const to = duration + Math.max(after, 0) + 1;
  const seenBy = (whose: number) => cameraPath(kind, whose, from, to);

  const n = Math.floor(duration * frameRate);
  const times = Float64Array.from({ length: n }, (_, k) => k / frameRate);
  const tilted = triple(() => draw.normal());
  const world = quaternionFromRotationVector(options.gravity ? [0, tilted[1], 0] : tilted);
  const seen = seenBy(seed);
  const wander = rowWander(seededRandom(`clock ${kind} ${seed} rows`), n, readout);
  const wildFrames = drawWildFrames(seededRandom(`clock ${kind} ${seed} wild`), n, options);
  const noise = seededRandom(`clock ${kind} ${seed} frames`);
  const stray = new Float64Array(3 * n);
  const shaken = stray.map((_, i) => {
    const wild = wildFrames.has(Math.floor(i / 3)) ? (options.wildDeg ?? 5) : 0;
    const error = frameNoiseDeg * noise.normal();
    stray[i] = wild * noise.uniform(-1, 1) * RADIANS_PER_DEGREE;
    return error * RADIANS_PER_DEGREE;
  });
  const view = (orientations: Float64Array) => {
    const placed = composeQuaternions(world, orientations);
    return options.mirrored
      ? placed.map((value, i) => (i % 4 === 1 || i % 4 === 2 ? -value : value))
      : placed;
  };
  const path = view(seen(times.map((time, k) => time + wander[k]!)));
  const quaternions = options.smoothed
    ? composeQuaternions(
        smoothTrack(
          composeQuaternions(path, quaternionsFromRotationVectors(shaken)),
          options.smoothed,
        ),
        quaternionsFromRotationVectors(stray),
      )
    : composeQuaternions(
        path,
        quaternionsFromRotationVectors(shaken.map((error, i) => error + stray[i]!)),
      );

  // Log time = picture time + before + drift · (picture time − middle).
  const drift = driftPpm * 1e-6;
  const middle = times[n - 1]! / 2;
  const rows = Math.floor((before + duration + after) * logRate);
  const logTimes = Float64Array.from({ length: rows }, (_, k) => k / logRate);
  const felt = logTimes.map((time) => (time - before + drift * middle) / (1 + drift));
  const gyro = seededRandom(`clock ${kind} ${seed} gyro`);
  const bias = triple(() => biasDegPerS * gyro.normal());
  const deviation = gyroNoise * Math.sqrt(logRate / 2);
  const feltPath = seenBy(logSeed);
  const rate = rotateVectors(invertQuaternion(axes), turnRate(feltPath, felt)).map(
    (value, i) =>
      scale[i % 3]! * value + (bias[i % 3]! + deviation * gyro.normal()) * RADIANS_PER_DEGREE,
  );
  return {
    track: createTrack({ times, quaternions }),
    log: createMotionLog({
      times: logTimes,
      rate,
      ...(options.gravity && { acceleration: standingForce(feltPath(felt), axes) }),
    }),
    truth: view(seen(times)),
    wildFrames,
    offset: before,
    driftPpm,
    axes,
  };
}

/** What a tracker that smooths does to each component; the kernel is cut at the clip's ends. */
function smoothTrack(
  quaternions: Float64Array,
  { by, frames }: NonNullable<ClockTakeOptions['smoothed']>,
): Float64Array {
  const n = quaternions.length / 4;
  const signed = alignSigns(quaternions);
  const half = by === 'mean' ? frames : Math.ceil(4 * frames);
  const out = new Float64Array(4 * n);
  for (let k = 0; k < n; k++) {
    for (let j = Math.max(-half, -k); j <= Math.min(half, n - 1 - k); j++) {
      const weight = by === 'mean' ? 1 : Math.exp(-0.5 * (j / frames) ** 2);
      for (let i = 0; i < 4; i++) out[4 * k + i]! += weight * signed[4 * (k + j) + i]!;
    }
  }
  return normalizeQuaternions(out);
}

/** Specific force of a camera that stands, in sensor axes, m/s². */
function standingForce(orientations: Float64Array, axes: Quaternion): Float64Array {
  const upright = Float64Array.from({ length: (3 * orientations.length) / 4 }, (_, i) =>
    i % 3 === 1 ? 9.81 : 0,
  );
  return rotateVectors(
    invertQuaternion(axes),
    rotateVectors(invertQuaternions(orientations), upright),
  );
}

/** How far from mid-frame each frame's rows speak, s: 8 % of the readout, held for a third of a second. */
function rowWander(random: Random, n: number, readout: number): Float64Array {
  const memory = 0.95;
  let state = 0;
  return new Float64Array(n).map(() => {
    state = memory * state + Math.sqrt(1 - memory ** 2) * random.normal();
    return readout * Math.min(Math.max(0.08 * state, -0.3), 0.3);
  });
}

function drawWildFrames(
  random: Random,
  n: number,
  { wild = 0.3, wildRuns = 'single' }: ClockTakeOptions,
): ReadonlySet<number> {
  if (wildRuns === 'single') {
    return new Set(Array.from({ length: n }, (_, k) => k).filter(() => random.chance(wild)));
  }
  const frames = new Set<number>();
  while (frames.size < wild * n) {
    const first = random.integer(0, n - 1);
    const end = Math.min(n, first + random.integer(3, 20));
    for (let k = first; k < end; k++) frames.add(k);
  }
  return frames;
}
