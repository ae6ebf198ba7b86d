/** How a camera moves through the night greenhouse, for takes that two devices saw. */
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import {
  composeQuaternions,
  invertQuaternions,
  rotationVectorsFromQuaternions,
} from '../../src/rotation/arrays.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import { createTrack } from '../../src/track/orientationTrack.js';
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
  /** Steps per second; half of them are strides. @default 1.92 */
  readonly stepsHz?: number;
  /** Wander of the steps per second, and of their size as a share. @default 0.06 and 0.2 */
  readonly irregular?: { readonly hz: number; readonly size: number };
  /** Rate of turns that last for seconds, °/s. @default 0 */
  readonly turns?: number;
}

const STILL: Movement = { gait: 0, tremor: 0, gaze: 0, sway: 0, swing: 0, pan: 0 };
const LIKE_A_CLOCK = { hz: 0.012, size: 0.05 };

const MOVEMENTS = {
  walk: { ...STILL, gait: 0.8, tremor: 0.06, gaze: 12, sway: 0.5 }, // down the aisle by hand
  gimbal: { ...STILL, gait: 0.1, tremor: 0.01, gaze: 12, sway: 0.2 },
  pan: { ...STILL, tremor: 0.01, pan: 40 }, // on legs, from one bed to the other
  'yaw only': { ...STILL, swing: 6 }, // on a turntable
  run: {
    ...STILL,
    gait: 1.5,
    tremor: 0.08,
    gaze: 6,
    sway: 0.6,
    stepsHz: 2.8,
    irregular: LIKE_A_CLOCK,
  },
  march: { ...STILL, gait: 0.8, tremor: 0.03, gaze: 3, sway: 0.2, irregular: LIKE_A_CLOCK },
  turning: { ...STILL, gait: 0.8, tremor: 0.06, gaze: 4, sway: 0.5, turns: 60 }, // round the pond
  'almost static': { ...STILL, gait: 0.02, tremor: 0.004, gaze: 0.3, sway: 0.02 },
  static: STILL,
} as const satisfies Record<string, Movement>;

export type ClockTakeKind = keyof typeof MOVEMENTS;

/** Orientations of the camera at any times, camera→world; length 4m. */
export type Path = (times: Float64Array) => Float64Array;

/** Rows per second of the smooth path between which it is interpolated. */
const PATH_RATE = 100;

export function cameraPath(kind: ClockTakeKind, seed: number, from: number, to: number): Path {
  const {
    gait,
    tremor,
    gaze,
    sway,
    swing,
    pan,
    stepsHz = 1.92,
    irregular = { hz: 0.06, size: 0.2 },
    turns = 0,
  }: Movement = MOVEMENTS[kind];
  const random = seededRandom(`clock ${kind} ${seed} path`);
  const n = Math.ceil((to - from) * PATH_RATE) + 1;
  const noise = (lowHz: number, highHz: number, rms: number) =>
    bandNoise(random, n, PATH_RATE, { lowHz, highHz, order: 2 }, rms);
  let turned = 0;
  const phase = noise(0.01, 0.1, irregular.hz).map((wander) => {
    turned += (2 * Math.PI * (stepsHz + wander)) / PATH_RATE;
    return turned;
  });
  const strength = () => noise(0.01, 0.2, irregular.size).map((wander) => gait * (1 + wander));
  const [nodding, rolling, swaying] = [strength(), strength(), strength()];
  const [tremble, lean] = [
    triple(() => noise(0.5, 6, tremor)),
    triple(() => noise(0.01, 0.12, sway)),
  ];
  const look = noise(0.01, 0.15, gaze);
  const spin = noise(0.05, 0.4, swing);
  const turn =
    turns > 0 ? turnsFor(seededRandom(`clock ${kind} ${seed} turns`), n, turns) : undefined;
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
      (turn?.[k] ?? 0) +
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

/** Headings of a camera that turns evenly for some seconds, stops, and turns again, degrees. */
function turnsFor(random: Random, n: number, degPerS: number): Float64Array {
  const out = new Float64Array(n);
  let rate = 0;
  let wanted = 0;
  let until = 0;
  for (let k = 1; k < n; k++) {
    if (k >= until) {
      wanted = wanted === 0 ? random.sign() * degPerS * random.uniform(0.5, 1.5) : 0;
      until = k + random.uniform(2, 6) * PATH_RATE;
    }
    // A third of a second to reach the rate, with a rounded start and end.
    rate += (wanted - rate) / (0.15 * PATH_RATE);
    out[k] = out[k - 1]! + rate / PATH_RATE;
  }
  return out;
}

/** Rates about the camera's own axes, rad/s, by the difference over two milliseconds. */
export function turnRate(path: Path, times: Float64Array): Float64Array {
  const half = 1e-3;
  const earlier = path(times.map((time) => time - half));
  const later = path(times.map((time) => time + half));
  const turns = composeQuaternions(invertQuaternions(earlier), later);
  return rotationVectorsFromQuaternions(turns).map((angle) => angle / (2 * half));
}

export function triple<Value>(make: () => Value): [Value, Value, Value] {
  return [make(), make(), make()];
}
