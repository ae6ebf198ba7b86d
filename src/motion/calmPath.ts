import { clamp, RADIANS_PER_DEGREE } from '../math.js';
import { splineFilter, splineWithCutoffs } from './classicFilters.js';
import { poolMean } from './moves.js';
import { type Coordinates, mapCoordinates } from './pathCoordinates.js';
import { plainIsCalmer } from './plainRival.js';

/** What the calm path is made from, at the working rate. */
export interface CalmInput {
  /** Heading, tilt and roll as measured, rad. */
  readonly measured: Coordinates;
  /** What the structural model takes for the intended path, rad. */
  readonly modelled: Coordinates;
  /** Hz at which the path opens to faster motion, see stayingMoves.ts. */
  readonly cutoffs: Coordinates;
  readonly sampleRate: number;
  /** Seconds; what is faster is not meant. */
  readonly shortestMove: number;
  /** 1 where the operator says hold: the model is right there, whatever it takes out. */
  readonly held?: Float64Array;
}

/**
 * The intended path: nothing in it is faster than the shortest move, except where a move stays.
 *
 * It is a third-order penalised spline, which is the posterior mean of a path whose jerk is white
 * among deviations that are white; half the amplitude is left at 1/shortestMove. What it smooths is
 * the model's path where that can be trusted, else the measured one: the model must not take out
 * more than a body sways, nor pay more movement of the view for its calm than the plain spline.
 *
 * @see Wahba, "Improper priors, spline smoothing and the problem of guarding against model errors
 *   in regression", J. Royal Statistical Society B 40(3), 1978; Eilers, "A perfect smoother",
 *   Analytical Chemistry 75(14), 2003
 */
export function calmPath(input: CalmInput): Coordinates {
  const { measured, modelled, cutoffs, sampleRate, shortestMove, held } = input;
  const smooth = (path: Coordinates) =>
    mapCoordinates(path, (signal, axis) => splineWithCutoffs(signal, sampleRate, cutoffs[axis]));
  const distrust = (path: Coordinates, weights: (axis: keyof Coordinates) => Float64Array) =>
    mapCoordinates(path, (signal, axis) => {
      const weight = weights(axis);
      return signal.map((value, k) => {
        const share = weight[k]! * (1 - (held?.[k] ?? 0));
        return value + share * (measured[axis][k]! - value);
      });
    });
  const bodily = distrust(modelled, (axis) =>
    largerThanSway(measured[axis], modelled[axis], sampleRate, shortestMove),
  );
  const rival = plainIsCalmer(measured, smooth(bodily), cutoffs, sampleRate, shortestMove);
  return smooth(distrust(bodily, () => rival));
}

/**
 * The largest sway of a standing or walking body over three seconds, root mean square, rad (our
 * judgement, above the largest of published standing sway and of our synthetic bodies). Somebody
 * whose moves are short may not be robbed of as much: at equal acceleration what happens within a
 * shortest move grows with its square.
 */
const LARGEST_SWAY = { most: 3.3 * RADIANS_PER_DEGREE, perSquareSecond: 0.8 * RADIANS_PER_DEGREE };

/** Where the model takes out slow motion that is larger than a body's, 0 to 1 at each sample. */
function largerThanSway(
  measured: Float64Array,
  modelled: Float64Array,
  sampleRate: number,
  shortestMove: number,
): Float64Array {
  const removed = splineFilter(
    measured.map((value, k) => value - modelled[k]!),
    sampleRate,
    1 / shortestMove,
  );
  const size = poolMean(
    removed.map((value) => value * value),
    3 * sampleRate,
  ).map(Math.sqrt);
  const most = Math.min(LARGEST_SWAY.most, LARGEST_SWAY.perSquareSecond * shortestMove ** 2);
  const fair = (2 / 3) * most;
  return poolMean(
    size.map((value) => clamp((value - fair) / (most - fair), 0, 1)),
    1.5 * sampleRate,
  );
}
