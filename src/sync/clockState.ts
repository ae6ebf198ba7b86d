import { clamp } from '../math.js';
import {
  multiplyQuaternions,
  normalizeQuaternion,
  type Quaternion,
  type Vector3,
} from '../rotation/quaternion.js';
import { quaternionFromRotationVector } from '../rotation/rotationVector.js';
import type { Unknown } from './clockColumns.js';
import type { Calibration } from './loggedMotion.js';

/** Clock, axes and calibration of a log against a picture. */
export interface ClockState extends Calibration {
  /** Log time less picture time in the middle of the frames compared, s. */
  readonly offset: number;
  /** Change of the offset per second of picture time. */
  readonly drift: number;
  /** Sensor axes to camera axes. */
  readonly axes: Quaternion;
}

/** No clock of a logger drifts faster: standard deviation. */
export const DRIFT_PRIOR = 500e-6;
/**
 * Standard deviations of what is expected beforehand: gyros are sold to within 2 % and 5°/s; smoothing reaches over a few frames (our judgement).
 */
export const PRIOR: Readonly<Record<Unknown, number>> = {
  offset: Number.POSITIVE_INFINITY,
  drift: DRIFT_PRIOR,
  turnX: Number.POSITIVE_INFINITY,
  turnY: Number.POSITIVE_INFINITY,
  turnZ: Number.POSITIVE_INFINITY,
  gainX: 0.02,
  gainY: 0.02,
  gainZ: 0.02,
  biasX: 0.1,
  biasY: 0.1,
  biasZ: 0.1,
  smoothing: 0.05 ** 2,
};
/** Largest steps of one iteration. */
const STEP = { offset: 0.05, drift: 2e-3, turn: 0.3, gain: 0.1, bias: 0.2, smoothing: 0.004 };

/** How far an unknown is from what was expected beforehand. */
export function surprise({ drift, gain, bias, smoothing }: ClockState, unknown: Unknown): number {
  if (unknown === 'drift') return drift;
  if (unknown === 'smoothing') return smoothing;
  const axis = 'XYZ'.indexOf(unknown.slice(-1));
  if (unknown.startsWith('gain')) return gain[axis]! - 1;
  return unknown.startsWith('bias') ? bias[axis]! : 0;
}

/** A step no longer than one iteration may go. */
export function limited({ smoothing }: ClockState, unknown: Unknown, step: number): number {
  const most = STEP[unknown.replace(/[XYZ]$/, '') as keyof typeof STEP];
  const least = unknown === 'smoothing' ? -Math.min(smoothing, most) : -most;
  return clamp(step, least, most);
}

export function stepped(
  state: ClockState,
  solved: readonly Unknown[],
  x: readonly number[],
): ClockState {
  const by = (unknown: Unknown) => x[solved.indexOf(unknown)] ?? 0;
  const vector = (name: 'turn' | 'gain' | 'bias'): Vector3 => [
    by(`${name}X`),
    by(`${name}Y`),
    by(`${name}Z`),
  ];
  const calibrates = solved.includes('gainX');
  const add = (a: Vector3, b: Vector3): Vector3 => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
  return {
    offset: state.offset + by('offset'),
    drift: state.drift + by('drift'),
    axes: normalizeQuaternion(
      multiplyQuaternions(quaternionFromRotationVector(vector('turn')), state.axes),
    ),
    gain: calibrates ? add(state.gain, vector('gain')) : state.gain,
    bias: calibrates ? add(state.bias, vector('bias')) : state.bias,
    smoothing: state.smoothing + by('smoothing'),
  };
}
