import { clamp } from '../math.js';
import { factorBlocks, newBlockFactor, solveBlocks } from '../numeric/blockBanded.js';
import {
  addPulls,
  type Constraints,
  constraintsOf,
  curvatureOf,
  gapAfter,
  longestStep,
  measureMisses,
  settleSlacks,
  stepAlong,
  worstViolation,
} from './limitConstraints.js';
import {
  correctionsOf,
  costAndGradient,
  hessianOfCost,
  type LimitProblem,
} from './limitProblem.js';

/** What a search found. */
export interface Found {
  /** Deviations, rad, length 3n. */
  readonly x: Float64Array;
  /**
   * What each bound at each watched sample is worth, sample by sample, with which a search for a problem
   * close by may begin.
   */
  readonly multipliers: Float64Array;
}

/** Ten to thirty are usual; rounding may keep a problem from its end. */
const MOST_STEPS = 60;
/** Share of the way to zero that slacks and multipliers may go in one step (common practice). */
const NEARLY = 0.99;
/** A shorter step, as a share of itself, leads nowhere. */
const SHORTEST_STEP = 1e-9;
/** Bounds may be overstepped by this share of their square where the search ends. */
const VIOLATION = 1e-6;
/** Mehrotra's corrector may move an aim by so many mean products; more would unbalance them (our judgement). */
const MOST_CORRECTED = 2;
/** Slacks follow what they stand for where it leaves them this share of what was expected (measured: fewest steps). */
const FOLLOWING = 0.5;
/** Where a search begins: each product s z is this share of a sample's mean cost (measured: fewest steps). */
const FIRST_PRODUCT = 0.3;
/** Least slack at the begin, as a share of the bound's square: first, and close to a solution. */
const FIRST_SLACK = { far: 1e-3, near: 1e-2 };

/**
 * The deviations that cost least within the bounds, by a primal-dual interior-point method with
 * Mehrotra's predictor and corrector: two solves with one factor a step. The problem is convex.
 *
 * Newton's step for ∇f − Σ z ∇c = 0, c = s and s z = aim solves, with what limitProblem.ts and
 * limitConstraints.ts say of f and c and m = c − s,
 *
 *   (∇²f + Σ −z ∇²c + (z/s) ∇c ∇cᵀ) step = −∇f + Σ ((aim − z m)/s) ∇c.
 *
 * It ends where the cost is within a share of the least, and no bound is overstepped by more than a
 * millionth: for any z ≥ 0 the least cost is at least the least of the Lagrangian f − Σ z c, whose
 * curvature is 2 or more, so that it lies no more than Σ s z + |r|²/4 below f where c = s, r being its
 * gradient.
 *
 * @param start - deviations whose corrections lie within the bounds, or not far beyond; length 3n
 * @param gap - share of the cost that the result may lie above the least one
 * @param multipliers - what was found for a problem close by, whose solution is the start; zero for
 *   bounds that it did not watch
 * @returns cost O(n) a step
 * @see Nocedal and Wright, Numerical Optimization, 2nd ed., 2006, section 19.2 and 19.3; Mehrotra, "On
 *   the implementation of a primal-dual interior point method", SIAM J. Optimization 2(4), 1992; Boyd
 *   and Vandenberghe, Convex Optimization, 2004, sections 5.5.1 and 9.1.2, for the end
 */
export function solveWithinLimit(
  problem: LimitProblem,
  start: Float64Array,
  gap: number,
  multipliers?: Float64Array,
): Found {
  const place = placeAt(problem, start, gap, multipliers);
  const { e, constraints } = place;
  const { count, slacks, slackSteps, multiplierSteps } = constraints;
  const n = start.length / 3;
  const hessian = hessianOfCost(n, problem.penalty);
  const curvature = new Float64Array(6 * n);
  const factor = newBlockFactor(n);
  const aims = new Float64Array(count);
  for (let steps = 0; steps < MOST_STEPS && !isLeast(place, problem, gap); steps++) {
    curvatureOf(constraints, e, problem, curvature);
    if (!factorBlocks(hessian, curvature, factor)) break;
    // Where does the step lead that aims at no gap at all?
    stepTowards(place, problem, factor, aims.fill(0));
    const ofSlacks = longestStep(slacks, slackSteps, 1);
    const ofMultipliers = longestStep(constraints.multipliers, multiplierSteps, 1);
    const now = gapAfter(constraints, 0, 0);
    const left = clamp(gapAfter(constraints, ofSlacks, ofMultipliers) / now, 0, 1);
    const mean = now / count;
    const share = Math.min(ofSlacks, ofMultipliers) ** 2;
    correctAims(constraints, left ** 3 * mean, share, MOST_CORRECTED * mean, aims);
    if (!advance(place, problem, stepTowards(place, problem, factor, aims))) break;
  }
  return foundAt(place, problem);
}

function foundAt({ x, constraints }: Place, { watched, bounds }: LimitProblem): Found {
  const { count, entries } = constraints;
  const multipliers = new Float64Array(watched.length * bounds.length);
  for (let c = 0; c < count; c++) multipliers[entries[c]!] = constraints.multipliers[c]!;
  return { x, multipliers };
}

/** Where the search has come to. */
interface Place {
  readonly x: Float64Array;
  /** The corrections of the watched samples. */
  readonly e: Float64Array;
  /** f there, and its gradient. */
  cost: number;
  readonly gradient: Float64Array;
  readonly constraints: Constraints;
}

/** A step of the deviations and of the corrections. */
interface Step {
  readonly x: Float64Array;
  readonly e: Float64Array;
}

function placeAt(
  problem: LimitProblem,
  start: Float64Array,
  gap: number,
  known: Float64Array | undefined,
): Place {
  const x = start.slice();
  const e = new Float64Array(problem.correction.length);
  correctionsOf(problem, x, e);
  const gradient = new Float64Array(x.length);
  const cost = costAndGradient(problem, x, gradient);
  const constraints = constraintsOf(problem);
  const { count, entries, squares, slacks, multipliers, misses } = constraints;
  measureMisses(constraints, e);
  // No product is less than where the search may end.
  const product = known ? (gap * cost) / count : (3 * FIRST_PRODUCT * cost) / x.length;
  const least = known ? FIRST_SLACK.near : FIRST_SLACK.far;
  for (let c = 0; c < count; c++) {
    slacks[c] = Math.max(misses[c]!, least * squares[c]!);
    multipliers[c] = Math.max(known?.[entries[c]!] ?? 0, product / slacks[c]!);
    misses[c]! -= slacks[c]!;
  }
  return { x, e, cost, gradient, constraints };
}

/** Whether the cost cannot fall by more than a share, and the bounds are kept. */
function isLeast(
  { e, cost, gradient, constraints }: Place,
  problem: LimitProblem,
  share: number,
): boolean {
  const gap = gapAfter(constraints, 0, 0);
  if (gap > share * cost || worstViolation(constraints) > VIOLATION) return false;
  const r = gradient.slice();
  addPulls(constraints, constraints.multipliers, e, problem, r);
  let stray = 0;
  for (let i = 0; i < r.length; i++) stray += r[i]! * r[i]!;
  return gap + stray / 4 <= share * cost;
}

/** Newton's step that aims at the given products s z; slacks and multipliers get theirs. */
function stepTowards(
  { e, gradient, constraints }: Place,
  problem: LimitProblem,
  factor: Float64Array,
  aims: Float64Array,
): Step {
  const x = gradient.slice();
  addPulls(constraints, pullsTowards(constraints, aims), e, problem, x);
  negate(x);
  solveBlocks(factor, x);
  const { watched, jacobians } = problem;
  const stepE = new Float64Array(e.length);
  correctionsOf({ watched, jacobians }, x, stepE);
  stepAlong(constraints, e, stepE, aims);
  return { x, e: stepE };
}

/** Goes along a step as far as slacks and multipliers stay above zero; whether that led anywhere. */
function advance(place: Place, problem: LimitProblem, step: Step): boolean {
  const { x, e, gradient, constraints } = place;
  const { slacks, multipliers, slackSteps, multiplierSteps } = constraints;
  const length = longestStep(slacks, slackSteps, NEARLY);
  const ofMultipliers = longestStep(multipliers, multiplierSteps, NEARLY);
  if (!(Math.min(length, ofMultipliers) > SHORTEST_STEP)) return false;
  addTimes(x, length, step.x);
  addTimes(e, length, step.e);
  addTimes(slacks, length, slackSteps);
  addTimes(multipliers, ofMultipliers, multiplierSteps);
  measureMisses(constraints, e);
  settleSlacks(constraints, FOLLOWING);
  place.cost = costAndGradient(problem, x, gradient);
  return true;
}

// The loops stand in functions of their own: V8 gives up what it compiled of a loop where code comes
// behind it that it has not seen run.

/** y ← y + a x. */
function addTimes(y: Float64Array, a: number, x: Float64Array): void {
  for (let i = 0; i < y.length; i++) y[i]! += a * x[i]!;
}

function negate(x: Float64Array): void {
  for (let i = 0; i < x.length; i++) x[i] = -x[i]!;
}

/** (aim − z m)/s of each constraint. */
function pullsTowards(
  { slacks, multipliers, misses }: Constraints,
  aims: Float64Array,
): Float64Array {
  const out = new Float64Array(aims.length);
  for (let c = 0; c < out.length; c++) {
    out[c] = (aims[c]! - multipliers[c]! * misses[c]!) / slacks[c]!;
  }
  return out;
}

/** Sets each aim to a product less a share of what the straight step missed it by, `most` at most. */
function correctAims(
  { slackSteps, multiplierSteps }: Constraints,
  product: number,
  share: number,
  most: number,
  aims: Float64Array,
): void {
  for (let c = 0; c < aims.length; c++) {
    aims[c] = product - clamp(share * slackSteps[c]! * multiplierSteps[c]!, -most, most);
  }
}
