import type { Warning } from '../error.js';
import type { Quaternion, Vector3 } from '../rotation/quaternion.js';

/** How a log's clock and axes lie to a picture's, or why that cannot be told. */
export type ClockAlignment = AcceptedClock | RefusedClock;

/** A clock that was told, with what is known about it. Deviations are one standard deviation. */
export interface AcceptedClock {
  /** That it was told. */
  readonly accepted: true;
  /** Both clock and axes, or only the clock. */
  readonly verdict: 'aligned' | 'time-only';
  /** In one sentence, what could not be told; where both were, it is left out. */
  readonly reason?: string;
  /** The part of the clip that the log covers, s of picture time. */
  readonly from: number;
  /** Where that part ends, s of picture time. */
  readonly to: number;
  /** Log time less picture time in the middle of that part, s. */
  readonly offset: number;
  /** Standard deviation of the offset, ms. */
  readonly offsetDeviationMs: number;
  /** Whether the part is long enough to tell the drift; otherwise it is taken as 0. */
  readonly driftEstimated: boolean;
  /** How much faster the log's clock runs, parts per million. */
  readonly driftPpm: number;
  /** Standard deviation of the drift, parts per million; that of loggers where it was not estimated. */
  readonly driftDeviationPpm: number;
  /** Sensor axes to camera axes. */
  readonly axes: Quaternion;
  /** Standard deviation of the axes about their best and worst known axis, degrees. */
  readonly axesDeviationDeg: {
    /** About the axis that is known best, degrees. */
    readonly best: number;
    /** About {@link AcceptedClock.leastKnownAxis}, degrees. */
    readonly worst: number;
  };
  /** Camera axis about which the turn of the sensor is known least. */
  readonly leastKnownAxis: Vector3;
  /** True rate over logged rate about each sensor axis: 1.01 where the gyro reads 1 % too little. */
  readonly gyroGain: Vector3;
  /** Constant error of the gyro about each sensor axis, rad/s. */
  readonly gyroBias: Vector3;
  /** Over how many frames the picture's track was smoothed, as the deviation of a bell; 0 for not. */
  readonly smoothedFrames: number;
  /** How much the second-best offset is worse: above 60 it is another motion. */
  readonly contest: number;
  /** Misfit of the log as a multiple of the picture's own noise: a right log stays near 1. */
  readonly consistency: number;
  /** Frames that follow neither log nor neighbours. */
  readonly wildFrames: Int32Array;
  /** What is to know about it, such as a track that was smoothed. */
  readonly warnings: readonly Warning[];
}

/** A clock that was not told. It carries no offset and no axes, so that none can be used. */
export interface RefusedClock {
  /** That it was not told. */
  readonly accepted: false;
  /** The same in a word. */
  readonly verdict: 'refused';
  /** What the refusal looks like. */
  readonly code: ClockRefusal;
  /** Why, in one sentence. */
  readonly reason: string;
  /** Standard deviation of the best offset, ms; infinite where there was none. */
  readonly offsetDeviationMs: number;
  /** How much the second-best offset is worse. */
  readonly contest: number;
  /** Misfit of the log as a multiple of the picture's own noise; infinite where there was none. */
  readonly consistency: number;
}

/**
 * What a refusal looks like: the log has nothing of the clip's time; it moves otherwise; the track was
 * smoothed too much; the gyro reads far too much or too little; the picture or the gyro is too noisy;
 * too little is shared; several offsets fit alike; nothing moves; the clocks drift beyond any logger's.
 */
export type ClockRefusal =
  | 'no-overlap'
  | 'another-take'
  | 'smoothed-track'
  | 'scale'
  | 'noisy'
  | 'too-short'
  | 'ambiguous'
  | 'too-still'
  | 'drift';
