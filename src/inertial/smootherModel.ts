import type { Vector3 } from '../rotation/quaternion.js';

/** Standard deviations and noise densities of the model, SI units. */
export interface SmootherModel {
  /** Attitude about the horizontal axes at the start, rad. */
  readonly startTilt: number;
  /** Velocity at the start, m/s. */
  readonly startVelocity: number;
  readonly gyroBias: Vector3;
  readonly gyroBiasDeviation: number;
  readonly accelerationBiasDeviation: number;
  /** White noise of the rate, rad/√s. */
  readonly rateNoise: number;
  /** Rate noise proportional to the rate itself (scale and axis errors), √s. */
  readonly rateNoisePerRate: number;
  /** Random walk of the gyro bias, rad/s/√s. */
  readonly gyroBiasWalk: number;
  /** Magnitude of gravity, m/s². */
  readonly gravity: number;
  /** How many times less the vertical velocity is known than the horizontal one. */
  readonly verticalDoubt: number;
}
