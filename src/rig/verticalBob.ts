import {
  butterworthHighPass,
  butterworthLowPass,
  filterForwardBackward,
} from '../numeric/filterDesign.js';
import { rotateVectors } from '../rotation/arrays.js';
import { medianInterval } from '../track/times.js';

/** The up and down of a carried camera, which no rotation takes out. */
export interface VerticalBob {
  /** Amplitude, cm: root mean square times √2. */
  readonly amplitudeCm: number;
  /** Angle by which the nearest subject bobs with it, degrees. */
  readonly visibleDeg: number;
  /** Whether it was measured, or is that of walking people in a publication. */
  readonly source: 'accelerometer' | 'published gait';
}

/** Below this frequency a twice integrated accelerometer shows its own drift, Hz (a quarter step). */
const HIGH_PASS = 0.5;
/** Above this the body no longer moves the camera as a whole, Hz. */
const LOW_PASS = 6;

/**
 * Amplitude of the vertical motion from the accelerometer: the vertical force in the world, twice
 * integrated between 0.5 and 6 Hz without phase.
 *
 * @param times - seconds, evenly spaced; length n
 * @param quaternions - camera→world, level, at the log's samples
 * @param acceleration - specific force along the camera axes, m/s², length 3n
 * @param nearestSubjectM - distance of the nearest subject, m
 * @returns amplitude and what it does to the nearest subject
 * @see Zijlstra and Hof, Gait and Posture 18(2), 2003, for integrating twice with high-passes between
 *   (from memory; their 0.1 Hz lets the drift of small sensors through)
 * @example
 * const { track: level } = orientLog(log);
 * measuredBob(log.times, level.quaternions, log.acceleration!, 1).amplitudeCm; // 1.5 cm
 */
export function measuredBob(
  times: Float64Array,
  quaternions: Float64Array,
  acceleration: Float64Array,
  nearestSubjectM: number,
): VerticalBob {
  const world = rotateVectors(quaternions, acceleration);
  const interval = medianInterval(times);
  const rate = 1 / interval;
  const pad = Math.round(4 * rate);
  const n = times.length;
  const mean =
    Array.from({ length: n }, (_, k) => world[3 * k + 1]!).reduce((a, b) => a + b, 0) / n;
  let signal: Float64Array = Float64Array.from({ length: n }, (_, k) => world[3 * k + 1]! - mean);
  if (LOW_PASS < rate / 2) {
    signal = filterForwardBackward(butterworthLowPass(LOW_PASS, rate), signal, pad);
  }
  const high = (values: Float64Array) =>
    filterForwardBackward(butterworthHighPass(HIGH_PASS, rate), values, pad);
  signal = high(integral(high(integral(high(signal), interval)), interval));
  // The first and last seconds still carry what the filters started with.
  const edge = Math.min(Math.round(2 * rate), n >> 2);
  let sum = 0;
  for (let k = edge; k < n - edge; k++) sum += signal[k]! * signal[k]!;
  return bob(Math.sqrt((2 * sum) / Math.max(1, n - 2 * edge)), nearestSubjectM, 'accelerometer');
}

/** Peak vertical acceleration of the head at the step frequency, m/s²: 0.37 g. */
const PUBLISHED_ACCELERATION = 0.37 * 9.80665;

/**
 * Amplitude of the vertical motion of a walking person where nothing measured it: 0.37 g at the step
 * frequency, 2.3 cm at two steps per second.
 *
 * @param stepFrequency - steps per second, Hz
 * @param nearestSubjectM - distance of the nearest subject, m
 * @see Moore, Hirasaki, Raphan, Cohen, Ann. NY Acad. Sci. 942, 2001
 * @example
 * typicalBob(2, 1); // { amplitudeCm: 2.30, visibleDeg: 1.32, source: 'published gait' }
 */
export function typicalBob(stepFrequency: number, nearestSubjectM: number): VerticalBob {
  const amplitude = PUBLISHED_ACCELERATION / (2 * Math.PI * stepFrequency) ** 2;
  return bob(amplitude, nearestSubjectM, 'published gait');
}

function bob(amplitudeM: number, distanceM: number, source: VerticalBob['source']): VerticalBob {
  return {
    amplitudeCm: 100 * amplitudeM,
    visibleDeg: (Math.atan2(amplitudeM, distanceM) * 180) / Math.PI,
    source,
  };
}

/** Running integral by the trapezoid, from 0. */
function integral(values: Float64Array, interval: number): Float64Array {
  const out = new Float64Array(values.length);
  for (let k = 1; k < out.length; k++) {
    out[k] = out[k - 1]! + (interval / 2) * (values[k - 1]! + values[k]!);
  }
  return out;
}
