import { TwinkeelError, type Warning } from '../error.js';
import { type AccelerometerLog, adoptMotionLog, type MotionLog } from '../track/motionLog.js';
import { vectorsAt } from '../track/vectorsAt.js';
import { type OffsetEstimate, offsetOfAccelerometer } from './offsetOfAccelerometer.js';

/** What is known about the two clocks. */
export interface JoinMotionLogsOptions {
  /**
   * What the accelerometer's first row reads on the gyroscope's time from its first row, s; positive
   * where the accelerometer started later. Left out, absolute stamps say it, or the motion does.
   */
  readonly offset?: number;
}

/** A gyroscope's log that has an accelerometer. */
export interface JoinedMotionLog {
  /** At the gyroscope's samples that the accelerometer covers. */
  readonly log: MotionLog;
  /** When the accelerometer's first row was, s from the gyroscope's first row. */
  readonly offset: number;
  /** Standard deviation of an offset that the motion told, s; 0 where it was stated. */
  readonly offsetDeviation: number;
  /** Who said it. */
  readonly offsetFrom: 'stated' | 'stamps' | 'motion';
}

/** Fewer seconds in common do not orient a log. */
const SHORTEST = 1;

/**
 * One log from the files of a gyroscope and an accelerometer that have clocks and rates of their own.
 * The accelerometer is put at the gyroscope's samples; those that it does not cover are left out,
 * which is said.
 *
 * @param gyro - any log; an accelerometer in it is replaced
 * @param accelerometer - along the same axes
 * @param options - what is known about the clocks
 * @throws TwinkeelError `sync/refused` when the motion does not tell the offset, or the two logs have
 *   less than a second in common
 * @example
 * const still = createAccelerometerLog({
 *   times: Float64Array.of(0, 100),
 *   acceleration: Float64Array.of(0, 9.81, 0, 0, 9.81, 0),
 * });
 * joinMotionLogs(log, still, { offset: 0 }).offsetFrom; // 'stated'
 */
export function joinMotionLogs(
  gyro: MotionLog,
  accelerometer: AccelerometerLog,
  options: JoinMotionLogsOptions = {},
): JoinedMotionLog {
  const known = knownOffset(gyro, accelerometer, options);
  const { offset, deviation }: OffsetEstimate =
    known === undefined
      ? offsetOfAccelerometer(gyro, accelerometer)
      : { offset: known, deviation: 0 };
  const offsetFrom =
    options.offset !== undefined ? 'stated' : known !== undefined ? 'stamps' : 'motion';
  const own = accelerometer.times.map((time) => time + offset);
  const last = own[own.length - 1]!;
  let from = 0;
  let to = gyro.times.length;
  while (from < to && gyro.times[from]! < own[0]!) from++;
  while (to > from && gyro.times[to - 1]! > last) to--;
  if (to - from < 2 || gyro.times[to - 1]! - gyro.times[from]! < SHORTEST) {
    throw new TwinkeelError('sync/refused', {
      found: `an accelerometer from ${own[0]!.toFixed(2)} to ${last.toFixed(2)} s of the gyroscope's ${gyro.times[gyro.times.length - 1]!.toFixed(2)} s`,
      expected: 'logs of the same time, a second of it at least',
      remedy: 'check that both files are of one take, and the offset if you gave one',
    });
  }
  const times = gyro.times.slice(from, to);
  const start = times[0]!;
  const log = adoptMotionLog({
    times,
    rate: gyro.rate.slice(3 * from, 3 * to),
    acceleration: vectorsAt(own, accelerometer.acceleration, times),
    ...(gyro.startNs !== undefined && {
      startNs: gyro.startNs + BigInt(Math.round(start * 1e9)),
    }),
    warnings: [
      ...gyro.warnings,
      ...accelerometer.warnings,
      ...coverWarning(gyro, start, times[times.length - 1]!),
      ...offsetWarning(offset, deviation, offsetFrom),
    ],
  });
  return { log, offset, offsetDeviation: deviation, offsetFrom };
}

/** What the caller or the absolute stamps of both files say. */
function knownOffset(
  gyro: MotionLog,
  accelerometer: AccelerometerLog,
  { offset }: JoinMotionLogsOptions,
): number | undefined {
  if (offset !== undefined) return offset;
  if (gyro.startNs === undefined || accelerometer.startNs === undefined) return undefined;
  // Stamps that count from the start of a log have no common zero: both begin within a blink of it.
  const fromZero = [gyro.startNs, accelerometer.startNs].some(
    (ns) => ns > -FROM_ZERO && ns < FROM_ZERO,
  );
  if (fromZero) return undefined;
  const apart = Number(accelerometer.startNs - gyro.startNs) * 1e-9;
  const length = accelerometer.times[accelerometer.times.length - 1]!;
  const overlap = Math.min(gyro.times[gyro.times.length - 1]!, apart + length) - Math.max(0, apart);
  return overlap >= SHORTEST ? apart : undefined;
}

/** A first stamp below this, ns, counts from the start of its log (our judgement). */
const FROM_ZERO = 1_000_000_000n;

function coverWarning(gyro: MotionLog, from: number, to: number): Warning[] {
  const last = gyro.times[gyro.times.length - 1]!;
  const missing = from + (last - to);
  // An interval or two at the ends are nobody's loss.
  if (missing < 0.1) return [];
  return [
    {
      code: 'log/covered',
      timeS: from,
      message: `the accelerometer covers ${from.toFixed(2)}–${to.toFixed(2)} s of the gyroscope's ${last.toFixed(2)} s; the rest was left out`,
    },
  ];
}

function offsetWarning(offset: number, deviation: number, from: string): Warning[] {
  if (from === 'stated') return [];
  const who =
    from === 'stamps'
      ? 'by the stamps of both'
      : `by the motion, ± ${(deviation * 1000).toFixed(1)} ms`;
  return [
    {
      code: 'log/offset',
      message: `the accelerometer's first row is at ${offset.toFixed(4)} s of the gyroscope's log (${who})`,
    },
  ];
}
