/**
 * Kinds of take on which a clock is easily refused or got wrong, each drawn by seed: logs that miss a
 * part of the clip, short clips in long logs, regular running, smoothed tracks, gyros that are off.
 */
import {
  type ClockTake,
  type ClockTakeKind,
  type ClockTakeOptions,
  makeClockTake,
} from './clockTakes.js';
import { type Random, seededRandom } from './random.js';

type Draw = (random: Random) => readonly [ClockTakeKind, ClockTakeOptions];

const either = <Value>(random: Random, ...values: readonly Value[]): Value =>
  values[random.integer(0, values.length - 1)]!;
const walker = (random: Random) => either(random, 'walk', 'gimbal', 'run', 'march');

/** How a take of each kind is drawn. */
export const CLOCK_KINDS = {
  'log starts late': (random) => {
    const duration = random.logUniform(12, 60);
    return [walker(random), { duration, before: -random.logUniform(0.05, 0.5 * duration) }];
  },
  'log ends early': (random) => {
    const duration = random.logUniform(12, 60);
    const before = random.uniform(0, 20);
    return [walker(random), { duration, before, after: -random.logUniform(0.05, 0.5 * duration) }];
  },
  'short clip in a long log': (random) => [
    walker(random),
    {
      duration: random.uniform(3.5, 5),
      before: random.logUniform(3, 300),
      after: random.logUniform(3, 60),
    },
  ],
  running: (random) => [
    'run',
    {
      duration: random.logUniform(5, 60),
      before: random.logUniform(1, 100),
      after: random.logUniform(1, 20),
    },
  ],
  'even steps': (random) => [
    'march',
    {
      duration: random.logUniform(5, 60),
      before: random.logUniform(1, 100),
      after: random.logUniform(1, 20),
    },
  ],
  'turns for seconds': (random) => [
    'turning',
    { duration: random.logUniform(5, 60), before: random.logUniform(1, 60) },
  ],
  'smoothed by 1 to 2 frames': (random) => [
    walker(random),
    {
      duration: random.logUniform(8, 60),
      wild: either(random, 0, 0.1),
      smoothed: { by: either(random, 'gaussian', 'mean'), frames: random.integer(1, 2) },
    },
  ],
  'smoothed by 3 to 6 frames': (random) => [
    walker(random),
    {
      duration: random.logUniform(8, 60),
      wild: either(random, 0, 0.1),
      smoothed: { by: either(random, 'gaussian', 'mean'), frames: random.integer(3, 6) },
    },
  ],
  'scale off by 1–2 %': (random) => {
    const off = () => 1 + random.sign() * random.uniform(0.01, 0.02);
    return [walker(random), { duration: random.logUniform(8, 60), scale: [off(), off(), off()] }];
  },
  'noisy pair': (random) => [
    either(random, 'walk', 'run', 'march', 'turning'),
    {
      duration: random.logUniform(8, 60),
      frameNoiseDeg: random.logUniform(0.1, 0.3),
      gyroNoise: random.logUniform(0.02, 0.1),
      biasDegPerS: 1,
    },
  ],
} as const satisfies Record<string, Draw>;

export type ClockKind = keyof typeof CLOCK_KINDS;

/** The take of a kind that belongs to a seed; with the log of another take where `wrong`. */
export function drawClockTake(kind: ClockKind, seed: number, wrong = false): ClockTake {
  const random = seededRandom(`clock kind ${kind} ${seed}`);
  const [movement, options] = (CLOCK_KINDS[kind] as Draw)(random);
  // Kinds share their movements: a fraction of the seed keeps their takes apart.
  const own = seed + (1 + Object.keys(CLOCK_KINDS).indexOf(kind)) / 100;
  return makeClockTake(movement, own, wrong ? { ...options, logSeed: own + 0.5 } : options);
}
