/** State and sensitivities carried over one segment; buffers are reused from call to call. */
export interface Segment {
  /** Orientation at the end of the segment, body→world x, y, z, w. */
  readonly end: Float64Array;
  /** Integral of the specific force in the world over the segment, m/s; gravity included. */
  readonly impulse: Float64Array;
  /** d(attitude error)/d(gyro bias), 3 × 3, s; d(velocity)/d(accelerometer bias) is the same. */
  readonly attitudeByGyro: Float64Array;
  /** d(velocity)/d(gyro bias), 3 × 3, m. */
  readonly velocityByGyro: Float64Array;
  /** ∫ |ω|² dt over the segment, rad²/s. */
  turning: number;
  /** What is known of the intervals at hand. */
  readonly intervals: Intervals;
}

/** A few intervals between samples: worked on list by list, they stay in the fastest memory. */
export interface Intervals {
  /** Turns with the bias taken off, rad; 3 for each interval. */
  readonly steps: Float64Array;
  /** Orientations at both ends, 4 for each end. */
  readonly path: Float64Array;
  /** ∫ R dt by the orientation in the middle, s: 9 for each interval, row by row. */
  readonly turns: Float64Array;
  /** ∫ R f dt with the bias taken off, m/s; 3 for each interval. */
  readonly pushes: Float64Array;
}

/** How many intervals are at hand at a time. */
export const BLOCK = 128;

/** Memory for a segment. */
export function newSegment(): Segment {
  return {
    end: new Float64Array(4),
    impulse: new Float64Array(3),
    attitudeByGyro: new Float64Array(9),
    velocityByGyro: new Float64Array(9),
    turning: 0,
    intervals: {
      steps: new Float64Array(3 * BLOCK),
      path: new Float64Array(4 * (BLOCK + 1)),
      turns: new Float64Array(9 * BLOCK),
      pushes: new Float64Array(3 * BLOCK),
    },
  };
}

/** A stretch of samples, and the state of the camera and its sensors where it starts. */
export interface Stretch {
  /** First and last sample. */
  readonly from: number;
  readonly to: number;
  /** A list of states, see `motionState.ts`, and which of them it is. */
  readonly states: Float64Array;
  readonly k: number;
}
