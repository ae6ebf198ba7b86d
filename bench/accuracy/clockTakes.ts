/**
 * Synthetic takes in the night greenhouse as two devices saw them: the picture's track with wild
 * frames, and a motion log on a clock and in axes of its own. How the two lie to each other is known.
 */
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import {
  composeQuaternions,
  invertQuaternions,
  quaternionsFromRotationVectors,
  rotateVectors,
  rotationVectorsFromQuaternions,
} from '../../src/rotation/arrays.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import { invertQuaternion, type Quaternion } from '../../src/rotation/quaternion.js';
import { quaternionFromRotationVector } from '../../src/rotation/rotationVector.js';
import { createMotionLog, type MotionLog } from '../../src/track/motionLog.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import { interpolateTrack } from '../../src/track/resample.js';
import { type Random, seededRandom } from './random.js';
import { bandNoise } from './spectralNoise.js';

/** Standard deviations of what moves the camera, degrees. */
interface Movement {
  /** Bob of the steps. */
  readonly gait: number;
  /** Hand tremor up to 6 Hz. */
  readonly tremor: number;
  /** Heading that wanders, below 0.15 Hz. */
  readonly gaze: number;
  /** Tilt and roll that wander, below 0.12 Hz. */
  readonly sway: number;
  /** Heading that swings briskly, below 0.4 Hz. */
  readonly swing: number;
  /** Pan there and back. */
  readonly pan: number;
}

const STILL: Movement = { gait: 0, tremor: 0, gaze: 0, sway: 0, swing: 0, pan: 0 };

const MOVEMENTS = {
  walk: { ...STILL, gait: 0.8, tremor: 0.06, gaze: 12, sway: 0.5 }, // down the aisle by hand
  gimbal: { ...STILL, gait: 0.1, tremor: 0.01, gaze: 12, sway: 0.2 },
  pan: { ...STILL, tremor: 0.01, pan: 40 }, // on legs, from one bed to the other
  'yaw only': { ...STILL, swing: 6 }, // on a turntable
  'almost static': { ...STILL, gait: 0.02, tremor: 0.004, gaze: 0.3, sway: 0.02 },
  static: STILL,
} as const satisfies Record<string, Movement>;

export type ClockTakeKind = keyof typeof MOVEMENTS;

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
    logSeed = seed,
  } = options;
  const from = -Math.max(before, 0) - 1;
  const seenBy = (whose: number) => cameraPath(kind, whose, from, duration + after + 1);

  const n = Math.floor(duration * frameRate);
  const times = Float64Array.from({ length: n }, (_, k) => k / frameRate);
  const world = quaternionFromRotationVector(triple(() => draw.normal()));
  const seen = seenBy(seed);
  const wander = rowWander(seededRandom(`clock ${kind} ${seed} rows`), n, readout);
  const wildFrames = drawWildFrames(seededRandom(`clock ${kind} ${seed} wild`), n, options);
  const noise = seededRandom(`clock ${kind} ${seed} frames`);
  const errors = Float64Array.from({ length: 3 * n }, (_, i) => {
    const wild = wildFrames.has(Math.floor(i / 3)) ? (options.wildDeg ?? 5) : 0;
    return (frameNoiseDeg * noise.normal() + wild * noise.uniform(-1, 1)) * RADIANS_PER_DEGREE;
  });
  const quaternions = composeQuaternions(
    composeQuaternions(world, seen(times.map((time, k) => time + wander[k]!))),
    quaternionsFromRotationVectors(errors),
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
  const rate = rotateVectors(invertQuaternion(axes), turnRate(seenBy(logSeed), felt)).map(
    (value, i) => value + (bias[i % 3]! + deviation * gyro.normal()) * RADIANS_PER_DEGREE,
  );
  return {
    track: createTrack({ times, quaternions }),
    log: createMotionLog({ times: logTimes, rate }),
    truth: composeQuaternions(world, seen(times)),
    wildFrames,
    offset: before,
    driftPpm,
    axes,
  };
}

/** Orientations of the camera at any times, camera→world; length 4m. */
type Path = (times: Float64Array) => Float64Array;

/** Rows per second of the smooth path between which it is interpolated. */
const PATH_RATE = 100;

function cameraPath(kind: ClockTakeKind, seed: number, from: number, to: number): Path {
  const { gait, tremor, gaze, sway, swing, pan }: Movement = MOVEMENTS[kind];
  const random = seededRandom(`clock ${kind} ${seed} path`);
  const n = Math.ceil((to - from) * PATH_RATE) + 1;
  const noise = (lowHz: number, highHz: number, rms: number) =>
    bandNoise(random, n, PATH_RATE, { lowHz, highHz, order: 2 }, rms);
  let turned = 0;
  const phase = noise(0.01, 0.1, 0.06).map((wander) => {
    turned += (2 * Math.PI * (1.92 + wander)) / PATH_RATE;
    return turned;
  });
  const strength = () => noise(0.01, 0.2, 0.2).map((wander) => gait * (1 + wander));
  const [nodding, rolling, swaying] = [strength(), strength(), strength()];
  const [tremble, lean] = [
    triple(() => noise(0.5, 6, tremor)),
    triple(() => noise(0.01, 0.12, sway)),
  ];
  const look = noise(0.01, 0.15, gaze);
  const spin = noise(0.05, 0.4, swing);
  const ramp = (time: number, at: number) => Math.tanh((time - from - at * (to - from)) / 1.5);
  const quaternions = new Float64Array(4 * n);
  for (let k = 0; k < n; k++) {
    const step = phase[k]!;
    const time = from + k / PATH_RATE;
    const heading =
      swaying[k]! * (Math.sin(step / 2 + 1.3) + 0.25 * Math.sin(1.5 * step)) +
      tremble[0][k]! +
      look[k]! +
      spin[k]! +
      pan * (ramp(time, 0.3) - ramp(time, 0.7));
    const tilt =
      nodding[k]! * (Math.sin(step) + 0.3 * Math.sin(2 * step + 1)) + tremble[1][k]! + lean[1][k]!;
    const roll =
      rolling[k]! * (Math.sin(step / 2 + 0.4) + 0.3 * Math.sin(step + 2)) +
      tremble[2][k]! +
      lean[2][k]!;
    const [h, t, r] = [heading, tilt, roll].map((degrees) => degrees * RADIANS_PER_DEGREE);
    quaternions.set(quaternionFromHeadingTiltRoll(h!, t!, r!), 4 * k);
  }
  const times = Float64Array.from({ length: n }, (_, k) => k / PATH_RATE);
  const track = createTrack({ times, quaternions });
  return (at) =>
    interpolateTrack(
      track,
      at.map((time) => time - from),
      'squad',
    );
}

/** Rates about the camera's own axes, rad/s, by the difference over two milliseconds. */
function turnRate(path: Path, times: Float64Array): Float64Array {
  const half = 1e-3;
  const earlier = path(times.map((time) => time - half));
  const later = path(times.map((time) => time + half));
  const turns = composeQuaternions(invertQuaternions(earlier), later);
  return rotationVectorsFromQuaternions(turns).map((angle) => angle / (2 * half));
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

function triple<Value>(make: () => Value): [Value, Value, Value] {
  return [make(), make(), make()];
}
