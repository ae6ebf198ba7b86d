import type { Warning } from '../error.js';
import type { MotionLog } from '../track/motionLog.js';
import { medianInterval, timeGaps } from '../track/times.js';
import { clippedStretches } from './clippedStretches.js';
import { straightStretches } from './filledStretches.js';
import { findRests } from './rests.js';
import { type Span, secondsOf, spanWarning } from './spans.js';
import { unitWarnings } from './unitEvidence.js';
import { type ValueRange, valueRanges } from './valueRanges.js';
import { shakenSeconds } from './vibration.js';

/** Where a log is to be trusted less, and where its camera rests. */
export interface LogQuality {
  /** Stretches in which samples are missing. */
  readonly gaps: readonly Span[];
  /** Stretches in which the gyroscope's values were filled in: straight lines or repeats. */
  readonly filledRate: readonly Span[];
  /** Stretches in which the accelerometer's values were filled in. */
  readonly filledForce: readonly Span[];
  /** Stretches in which the gyroscope stands at the end of its range. */
  readonly clippedRate: readonly Span[];
  /** Stretches in which the accelerometer stands at the end of its range. */
  readonly clippedForce: readonly Span[];
  /** Stretches of vibration, which rectifies into false tilt. */
  readonly vibration: readonly Span[];
  /**
   * Stretches in which rates and force contradicted each other, so that the horizon was found again
   * from the force; known once the log is oriented.
   */
  readonly lost: readonly Span[];
  /** Stretches in which the camera rests on something still. */
  readonly rests: readonly Span[];
  /** The same in words, one for each kind of trouble. */
  readonly warnings: readonly Warning[];
}

/**
 * Looks through a log before it is used: gaps, flat tops, vibration, rests.
 *
 * @throws TwinkeelError `log/units` when the accelerometer's values cannot be m/s²
 */
export function inspectLog(log: MotionLog): LogQuality {
  const { times, rate, acceleration } = log;
  const interval = medianInterval(times);
  const gaps = timeGaps(times, interval).map(({ after }) => ({
    from: times[after]!,
    to: times[after + 1]!,
  }));
  const ranges = valueRanges(rate);
  const ofAcceleration = acceleration && inspectAcceleration(times, acceleration, interval);
  const filledForce = ofAcceleration?.filled ?? [];
  const filledRate = filledRates(log, filledForce, ranges, interval);
  const silent = [...gaps, ...filledRate, ...filledForce];
  const stretches = {
    gaps,
    filledRate,
    filledForce,
    clippedRate: clippedStretches(times, rate, ranges),
    clippedForce: ofAcceleration?.clipped ?? [],
    vibration: ofAcceleration?.vibration ?? [],
    lost: [],
    rests: acceleration ? findRests(times, rate, acceleration, silent, interval) : [],
  };
  const units = acceleration ? unitWarnings(times, rate, acceleration, interval) : [];
  return { ...stretches, warnings: [...warningsOf(stretches), ...units] };
}

/** What the accelerometer's values say of themselves. */
function inspectAcceleration(times: Float64Array, acceleration: Float64Array, interval: number) {
  const ranges = valueRanges(acceleration);
  return {
    filled: secondsOf(times, straightStretches(times, acceleration, ranges, interval)),
    clipped: clippedStretches(times, acceleration, ranges),
    vibration: shakenSeconds(times, acceleration, interval),
  };
}

/** Each kind of trouble in words. */
function warningsOf(quality: Omit<LogQuality, 'warnings'>): Warning[] {
  return [
    ...spanWarning(
      'log/gap',
      quality.gaps,
      'samples are missing; the orientation is bridged there',
    ),
    ...spanWarning(
      'log/filled',
      quality.filledRate,
      'the gyroscope was silent and its values were filled in by straight lines; turns are lost there',
    ),
    ...spanWarning(
      'log/filled',
      quality.filledForce,
      'the accelerometer was silent and its values were filled in by straight lines; the horizon is less sure there',
    ),
    ...spanWarning(
      'log/clipped',
      quality.clippedRate,
      'the gyroscope is at the end of its range; turns are lost there',
    ),
    ...spanWarning(
      'log/clipped',
      quality.clippedForce,
      'the accelerometer is at the end of its range; the horizon is less sure there',
    ),
    ...spanWarning(
      'log/vibration',
      quality.vibration,
      'the accelerometer vibrates; the horizon is less sure there',
    ),
  ];
}

/** Standard deviation of the force within which a camera rests, m/s² (our judgement). */
const STILL_ACCELERATION = 0.15;

/** A coarse gyroscope may stand still with a resting camera: only while it moves are rates missing. */
function filledRates(
  { times, rate, acceleration }: MotionLog,
  filledForce: readonly Span[],
  ranges: readonly ValueRange[],
  interval: number,
): Span[] {
  const spans = straightStretches(times, rate, ranges, interval);
  if (!acceleration) return secondsOf(times, spans);
  const moving = spans.filter(({ first, last }) => {
    const silent = filledForce.some(({ from, to }) => from < times[last]! && to > times[first]!);
    return (
      silent ||
      [0, 1, 2].some((axis) => spreadOf(acceleration, axis, first, last) > STILL_ACCELERATION)
    );
  });
  return secondsOf(times, moving);
}

/** Standard deviation of a component over the samples [first, last]. */
function spreadOf(vectors: Float64Array, axis: number, first: number, last: number): number {
  let sum = 0;
  let squares = 0;
  for (let k = first; k <= last; k++) {
    const value = vectors[3 * k + axis]! - vectors[3 * first + axis]!;
    sum += value;
    squares += value * value;
  }
  const count = last - first + 1;
  return Math.sqrt(Math.max(0, squares / count - (sum / count) ** 2));
}
