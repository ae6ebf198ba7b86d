import { rotateVectors } from '../rotation/arrays.js';
import type { Quaternion } from '../rotation/quaternion.js';
import {
  calibrationDerivatives,
  type LoggedMotion,
  rateAndGrowth,
  writeColumns,
} from './loggedMotion.js';

/** What a clock may be solved for; turns about camera axes, gains and biases about sensor axes. */
export const UNKNOWNS = [
  'offset',
  'drift',
  'turnX',
  'turnY',
  'turnZ',
  'gainX',
  'gainY',
  'gainZ',
  'biasX',
  'biasY',
  'biasZ',
  'smoothing',
] as const;

export type Unknown = (typeof UNKNOWNS)[number];

/**
 * Derivatives of the model left of M by each unknown: by the offset M C ω, by the drift that times the
 * time from the middle, by a turn of the axes I − M, by gain and bias the integrals of the log's
 * rates, by the variance of the smoothing half the angular acceleration (a narrow bell adds half its
 * variance times the second derivative).
 *
 * @param motion - M at the frames, length 4n
 * @param at - log times of the frames
 * @returns one list of length 3n for each unknown
 */
export function clockColumns(
  unknowns: readonly Unknown[],
  logged: LoggedMotion,
  motion: Float64Array,
  axes: Quaternion,
  at: Float64Array,
  times: Float64Array,
  middle: number,
): Float64Array[] {
  const { rate, growth } = rateAndGrowth(logged, axes, at);
  const byOffset = rotateVectors(motion, rate);
  const calibration = unknowns.includes('gainX')
    ? calibrationDerivatives(logged, axes, at)
    : undefined;
  const turns = unknowns.includes('turnX') ? turnColumns(motion) : [];
  return unknowns.map((unknown) => {
    const axis = 'XYZ'.indexOf(unknown.slice(-1));
    if (unknown === 'offset') return byOffset;
    if (unknown === 'drift') {
      return byOffset.map((value, i) => value * (times[(i / 3) | 0]! - middle));
    }
    if (unknown === 'smoothing') return rotateVectors(motion, growth).map((value) => value / 2);
    if (unknown.startsWith('gain')) return calibration!.gain[axis]!;
    if (unknown.startsWith('bias')) return calibration!.bias[axis]!;
    return turns[axis]!;
  });
}

/** I − M, column by column: one list of length 3n for the turn about each camera axis. */
function turnColumns(motion: Float64Array): Float64Array[] {
  const n = motion.length / 4;
  const out = [0, 1, 2].map(() => new Float64Array(3 * n));
  const columns = new Float64Array(9);
  for (let k = 0; k < n; k++) {
    writeColumns(motion, k, columns);
    for (let i = 0; i < 9; i++) {
      out[(i / 3) | 0]![3 * k + (i % 3)] = (i % 4 === 0 ? 1 : 0) - columns[i]!;
    }
  }
  return out;
}
