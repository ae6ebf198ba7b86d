import type { MotionLog } from './motionLog.js';
import type { OrientationTrack } from './orientationTrack.js';

/** A hint at where a log lies against the clip. */
export interface LogOffset {
  /** Seconds by which the log starts before the clip. */
  readonly value: number;
  /** How far off that may be, s. */
  readonly within: number;
}

/** What there is of a take: where the camera pointed, what a logger felt, or both. */
export type Recording =
  | {
      /** Orientations, or frames with orientations. */
      readonly kind: 'track';
      /** Camera→world. */
      readonly track: OrientationTrack;
    }
  | {
      /** Angular rates, with or without an accelerometer. */
      readonly kind: 'log';
      /** In camera axes. */
      readonly log: MotionLog;
    }
  | {
      /** A picture's track and a log of the same take, each on its own clock. */
      readonly kind: 'track-and-log';
      /** Camera→world. */
      readonly track: OrientationTrack;
      /** In any axes; they are found. */
      readonly log: MotionLog;
      /** What is known of the log's clock. */
      readonly offset?: LogOffset;
    };
