import { RADIANS_PER_DEGREE } from '../math.js';
import type { Vector3 } from '../rotation/quaternion.js';
import { type Bias, orientationAt } from './motionState.js';
import type { SmoothedNodes, SmoothedWithVariances } from './orientationSmoother.js';
import { STATE } from './stateCovariance.js';

/** What the model leaves out: how square a sensor's axes are to each other, rad (our judgement). */
const SQUARENESS = 0.1 * RADIANS_PER_DEGREE;
/**
 * How much larger the variances are than the smoother's: the velocity of a walk is not white, as the
 * smoother takes it to be. Found on walks of four grades of sensors and on fifteen BROAD trials.
 */
const COLOURED = 1.2;
/** A deviation this close to what was believed beforehand says that the log has shown nothing. */
const NOTHING_SHOWN = 0.7;

/**
 * How far the accelerometer may be off beyond what the smoother was told, as the smoother's answer
 * would carry it: what it takes from the log is right whatever it believed, the rest is belief.
 *
 * @param believed - standard deviation that the smoother was told, m/s²
 * @param possible - standard deviation over all sensors of the kind, m/s²
 * @returns variance to be added to the accelerometer's error along each camera axis, m²/s⁴
 */
export function unshownAccelerationBias(
  { accelerationBiasVariance }: SmoothedNodes,
  believed: number,
  possible: number,
): Vector3 {
  const more = Math.max(possible ** 2 - believed ** 2, 0);
  const along = (axis: number) => more * (accelerationBiasVariance[axis]! / believed ** 2) ** 2;
  return [along(0), along(1), along(2)];
}

/**
 * Standard deviation of the horizon at the nodes, rad: by the smoother, by what hides in the
 * accelerometer, and by the squareness of the sensor's axes.
 * Both horizontal axes together, so that the error's size stays below it in 1 − e⁻¹ = 63 % of cases.
 *
 * @param unshown - from {@link unshownAccelerationBias}
 * @param gravity - m/s²
 */
export function tiltDeviations(
  { states, tiltVariance }: SmoothedWithVariances,
  unshown: Vector3,
  gravity: number,
): Float64Array {
  const out = new Float64Array(tiltVariance.length);
  for (let k = 0; k < out.length; k++) {
    const [x, y, z, w] = orientationAt(states, k);
    // The middle row of the rotation matrix: how much of each camera axis is vertical.
    const up = [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)];
    let sum = COLOURED * tiltVariance[k]! + SQUARENESS ** 2;
    for (let axis = 0; axis < 3; axis++) {
      sum += (unshown[axis]! * (1 - up[axis]! ** 2)) / gravity ** 2;
    }
    out[k] = Math.sqrt(sum);
  }
  return out;
}

/**
 * Standard deviations of a bias in the middle of the log; infinite along an axis about which the
 * log has shown nothing.
 *
 * @param before - standard deviation before the log was seen
 * @param more - variance to be added
 */
export function biasDeviation(
  { middleVariances }: SmoothedWithVariances,
  kind: Bias,
  before: number,
  more: Vector3 = [0, 0, 0],
): Vector3 {
  const along = (axis: number) => {
    const variance = middleVariances[STATE[kind] + axis]!;
    const shown = kind === 'accelerationBias' || variance < (NOTHING_SHOWN * before) ** 2;
    return shown ? Math.sqrt(COLOURED * variance + more[axis]!) : Number.POSITIVE_INFINITY;
  };
  return [along(0), along(1), along(2)];
}
