import { rotateVectors } from '../rotation/arrays.js';
import type { Quaternion } from '../rotation/quaternion.js';
import { calibrationDerivatives, type LoggedMotion, rateAndGrowth } from './loggedMotion.js';

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
  const calibrated = unknowns.includes('gainX');
  const inCamera = (part: 'gain' | 'bias') =>
    calibrated
      ? calibrationDerivatives(logged, part, at).map((vectors) => rotateVectors(axes, vectors))
      : [];
  const byGain = inCamera('gain');
  const byBias = inCamera('bias');
  return unknowns.map((unknown) => {
    const axis = 'XYZ'.indexOf(unknown.slice(-1));
    if (unknown === 'offset') return byOffset;
    if (unknown === 'drift') {
      return byOffset.map((value, i) => value * (times[(i / 3) | 0]! - middle));
    }
    if (unknown === 'smoothing') {
      return rotateVectors(motion, growth).map((value) => value / 2);
    }
    if (unknown.startsWith('gain')) return byGain[axis]!;
    if (unknown.startsWith('bias')) return byBias[axis]!;
    const still = new Float64Array(byOffset.length).map((_, i) => (i % 3 === axis ? 1 : 0));
    const turned = rotateVectors(motion, still);
    return still.map((value, i) => value - turned[i]!);
  });
}
