import { TwinkeelError, type Warning } from '../error.js';
import { checkTimes } from './times.js';

/**
 * What a gyroscope and an accelerometer logged, in camera axes (x right, y up, z back).
 */
export interface MotionLog {
  /** Seconds from the first sample, strictly increasing; length n. */
  readonly times: Float64Array;
  /** Angular rate about the camera axes, rad/s; length 3n. */
  readonly rate: Float64Array;
  /** Specific force along the camera axes, m/s² (at rest 9.81 upwards); length 3n. */
  readonly acceleration?: Float64Array;
  /** Absolute time of the first sample in whole nanoseconds, in the time base of the file. */
  readonly startNs?: bigint;
  /** What is to know about the log, such as units that look wrong. */
  readonly warnings: readonly Warning[];
}

/** What an accelerometer logged by its own clock, in camera axes (x right, y up, z back). */
export interface AccelerometerLog {
  /** Seconds from the first sample, strictly increasing; length n. */
  readonly times: Float64Array;
  /** Specific force along the camera axes, m/s² (at rest 9.81 upwards); length 3n. */
  readonly acceleration: Float64Array;
  /** Absolute time of the first sample in whole nanoseconds, in the time base of the file. */
  readonly startNs?: bigint;
  /** What is to know about the log. */
  readonly warnings: readonly Warning[];
}

/** What a log is made from; {@link createMotionLog} checks it. */
export interface MotionLogParts {
  /** Seconds in any time base, strictly increasing; length n ≥ 2. */
  readonly times: Float64Array;
  /** Angular rate about the camera axes, rad/s; right-handed; length 3n. */
  readonly rate: Float64Array;
  /** Specific force along the camera axes, m/s² (at rest 9.81 upwards); length 3n. */
  readonly acceleration?: Float64Array;
  /** Absolute time of the first sample in whole nanoseconds. */
  readonly startNs?: bigint;
  /** Warnings that the log shall carry on. */
  readonly warnings?: readonly Warning[];
  /** File row (from 1) of a sample, for messages. */
  readonly lineOf?: (sample: number) => number;
}

/**
 * A checked log: finite values and time that strictly increases.
 *
 * @returns copies of the arrays, time from the first sample
 * @throws TwinkeelError `log/too-short` (fewer than two samples), `argument/shape`,
 *   `track/not-finite`, `track/time-order`; each names the sample
 * @example
 * const rate = Float64Array.of(0, 0.1, 0, 0, 0.1, 0); // turns left at 0.1 rad/s
 * createMotionLog({ times: Float64Array.of(5, 5.25), rate }).times; // [0, 0.25] s
 */
export function createMotionLog(parts: MotionLogParts): MotionLog {
  return adoptMotionLog({
    ...parts,
    times: parts.times.slice(),
    rate: parts.rate.slice(),
    ...(parts.acceleration && { acceleration: parts.acceleration.slice() }),
  });
}

/** {@link createMotionLog} of arrays that nobody will write to: they become the log's. */
export function adoptMotionLog(parts: MotionLogParts): MotionLog {
  const n = parts.times.length;
  if (parts.rate.length !== 3 * n || (parts.acceleration && parts.acceleration.length !== 3 * n)) {
    throw new TwinkeelError('argument/shape', {
      found: `${n} times, ${parts.rate.length} rates and ${parts.acceleration?.length ?? 'no'} accelerations`,
      expected: 'three rates (and three accelerations, if any) for each time',
      remedy: 'pass arrays of matching length',
    });
  }
  const place = (sample: number) =>
    parts.lineOf ? { line: parts.lineOf(sample) } : { frame: sample };
  if (n < 2) {
    throw new TwinkeelError('log/too-short', {
      found: `${n} sample${n === 1 ? '' : 's'}`,
      expected: 'at least two samples of a log',
      remedy: 'export the whole recording',
    });
  }
  checkTimes(parts.times, place);
  checkFinite(parts.rate, 'angular rate', place);
  if (parts.acceleration) checkFinite(parts.acceleration, 'acceleration', place);
  const { rate, acceleration } = parts;
  return {
    times: fromZero(parts.times),
    rate,
    ...(acceleration && { acceleration }),
    ...(parts.startNs !== undefined && { startNs: parts.startNs }),
    warnings: [...(parts.warnings ?? [])],
  };
}

/** Times from the first of them on; those that start at 0 are not copied. */
function fromZero(times: Float64Array): Float64Array {
  const start = times[0]!;
  return start === 0 ? times : times.map((time) => time - start);
}

/**
 * A checked log of an accelerometer alone: finite values and time that strictly increases.
 *
 * @returns copies of the arrays, time from the first sample
 * @throws TwinkeelError as {@link createMotionLog}
 * @example
 * const acceleration = Float64Array.of(0, 9.81, 0, 0, 9.81, 0);
 * createAccelerometerLog({ times: Float64Array.of(5, 5.01), acceleration }).times; // [0, 0.01] s
 */
export function createAccelerometerLog(
  parts: Omit<MotionLogParts, 'rate' | 'acceleration'> & { readonly acceleration: Float64Array },
): AccelerometerLog {
  const { acceleration, ...others } = parts;
  const { rate, ...log } = createMotionLog({ ...others, rate: acceleration });
  return { ...log, acceleration: rate };
}

function checkFinite(
  vectors: Float64Array,
  what: string,
  place: (sample: number) => { line?: number; frame?: number },
): void {
  for (let i = 0; i < vectors.length; i++) {
    if (!Number.isFinite(vectors[i])) {
      throw new TwinkeelError('track/not-finite', {
        ...place(Math.floor(i / 3)),
        column: what,
        found: `${vectors[i]}`,
        expected: 'a finite number',
        remedy: 'leave the sample out',
      });
    }
  }
}
