import { RADIANS_PER_DEGREE } from '../math.js';
import { butterworthHighPass, filterForwardBackward } from '../numeric/filterDesign.js';
import { splineFilter } from './classicFilters.js';
import { derivative, planPoolMeans, poolMean } from './moves.js';
import type { Coordinates } from './pathCoordinates.js';

/** Shake is angular rate above this frequency, Hz, as in the accuracy tables. */
const SHAKE_FROM = 0.6;
/** Seconds over which two paths are compared: several swings of somebody who looks about. */
const WINDOW = 40;
/** Seconds in which the choice fades from one to the other. */
const FADE = 4;
/** The plain spline is tried at cut-offs that fall by this factor, down to the slowest, Hz. */
const FAMILY = { factor: 1.3, slowest: 0.03 };
/** Nobody sees less shake than this, rad/s (our judgement: 0.02 °/s). */
const INVISIBLE = 0.02 * RADIANS_PER_DEGREE;
/** What the model must win by to be kept, share of the plain spline's squared shake (our judgement). */
const CLEAR_WIN = 0.8;
/** Seconds around a move that stays in which shake is the move's own. */
const MOVE_MARGIN = 2;

/** Squared shake and squared movement of the view, each averaged over the window. */
interface Calmness {
  readonly shake: Float64Array;
  readonly cost: Float64Array;
}

/** Where a path looks. */
type Directions = Pick<Coordinates, 'heading' | 'tilt'>;

/**
 * Where the plainest good smoother would be calmer at the same movement of the view: 1 there, 0
 * elsewhere, faded. A model that takes out sway moves the view; if it still leaves shake, a plain
 * spline with a lower cut-off makes better use of that movement, and the model has no business
 * there.
 *
 * @param path - the calm path made from the model, rad
 * @param cutoffs - Hz; open stretches are left out of the comparison
 */
export function plainIsCalmer(
  measured: Coordinates,
  path: Coordinates,
  cutoffs: Coordinates,
  sampleRate: number,
  shortestMove: number,
): Float64Array {
  const n = measured.tilt.length;
  const counted = outsideMoves(cutoffs, sampleRate, shortestMove);
  const levelShare = measured.tilt.map(Math.cos);
  const means = planPoolMeans(WINDOW * sampleRate, n);
  const calmness = (candidate: Directions): Calmness => {
    const shake = new Float64Array(n);
    const cost = new Float64Array(n);
    for (const axis of ['heading', 'tilt'] as const) {
      const fast = aboveShake(derivative(candidate[axis], sampleRate), sampleRate);
      for (let k = 0; k < n; k++) {
        const scale = counted[k]! * (axis === 'heading' ? levelShare[k]! : 1);
        const off = scale * (candidate[axis][k]! - measured[axis][k]!);
        shake[k]! += scale * fast[k]! * (scale * fast[k]!);
        cost[k]! += off * off;
      }
    }
    const [meanShake, meanCost] = means(shake, cost);
    return { shake: meanShake, cost: meanCost };
  };
  const own = calmness(path);
  const family: Calmness[] = [];
  // Where nobody sees shake, or a plain spline already moves the view as much, slower ones say nothing.
  const settled = own.shake.map((shake) => Number(shake <= INVISIBLE ** 2));
  for (let cutoff = 1 / shortestMove; cutoff > FAMILY.slowest; cutoff /= FAMILY.factor) {
    if (!settled.includes(0)) break;
    const plain = calmness({
      heading: splineFilter(measured.heading, sampleRate, cutoff),
      tilt: splineFilter(measured.tilt, sampleRate, cutoff),
    });
    family.push(plain);
    for (let k = 0; k < n; k++) if (plain.cost[k]! >= own.cost[k]!) settled[k] = 1;
  }
  const calmer = Float64Array.from(own.shake, (shake, k) => {
    const plain = plainShakeAt(family, own.cost[k]!, k);
    return shake > Math.max(INVISIBLE ** 2, CLEAR_WIN * plain) ? 1 : 0;
  });
  return poolMean(calmer, FADE * sampleRate);
}

/** Shake of the plain splines at a movement of the view, its logarithm interpolated. */
function plainShakeAt(family: readonly Calmness[], cost: number, k: number): number {
  const dearer = family.findIndex((each) => each.cost[k]! >= cost);
  if (dearer === 0 || family.length === 0) return family[0]?.shake[k] ?? 0;
  if (dearer < 0) return family[family.length - 1]!.shake[k]!;
  const [a, b] = [family[dearer - 1]!, family[dearer]!];
  const share = (cost - a.cost[k]!) / (b.cost[k]! - a.cost[k]!);
  const log = (each: Calmness) => Math.log(each.shake[k]! + Number.MIN_VALUE);
  return Math.exp((1 - share) * log(a) + share * log(b));
}

/** 1 at samples far from every stretch that is open to faster motion, 0 at the others. */
function outsideMoves(cutoffs: Coordinates, sampleRate: number, shortestMove: number): Uint8Array {
  const n = cutoffs.tilt.length;
  const out = new Uint8Array(n).fill(1);
  const margin = Math.round(MOVE_MARGIN * sampleRate);
  for (const axis of ['heading', 'tilt'] as const) {
    for (let k = 0; k < n; k++) {
      if (cutoffs[axis][k]! < 1.1 / shortestMove) continue;
      out.fill(0, Math.max(0, k - margin), k + margin);
    }
  }
  return out;
}

/** What is faster than the shake's lowest frequency; two passes, since slow turns are a thousand times larger. */
function aboveShake(rate: Float64Array, sampleRate: number): Float64Array {
  const section = butterworthHighPass(SHAKE_FROM, sampleRate);
  const pad = Math.round(4 * sampleRate);
  return filterForwardBackward(section, filterForwardBackward(section, rate, pad), pad);
}
