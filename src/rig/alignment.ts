import { TwinkeelError } from '../error.js';
import { clamp } from '../math.js';
import { solveWeighted } from '../numeric/leastSquares.js';
import { vectorAt } from '../rotation/arrays.js';
import { quaternionFromMatrix } from '../rotation/matrix.js';
import {
  IDENTITY,
  multiplyQuaternions,
  normalizeQuaternion,
  type Quaternion,
  rotateVector,
  type Vector3,
} from '../rotation/quaternion.js';
import {
  quaternionFromRotationVector,
  rotationVectorFromQuaternion,
} from '../rotation/rotationVector.js';

/** How the two lenses sit, and the fixed rotations that make them one rig. */
export interface LensAlignment {
  /** From the left eye's axes to the rig's. */
  readonly left: Quaternion;
  /** From the right eye's axes to the rig's. */
  readonly right: Quaternion;
  /** Turn of the right eye against the left about x, y and z, with its standard deviation, arcmin. */
  readonly relativeArcmin: {
    /** Rotation vector in the left eye's axes, arcmin, right-handed. */
    readonly value: Vector3;
    /** Standard deviation about each axis, arcmin. */
    readonly deviation: Vector3;
  };
  /** Standard deviation of the baseline's direction, degrees. */
  readonly baselineDeviationDeg: number;
  /** What is left of the vertical disparity, arcmin (robust standard deviation). */
  readonly residualArcmin: number;
  /** Whether the eyes seem exchanged, from the sense of parallax; undecided when all is far. */
  readonly eyes: 'as named' | 'exchanged' | 'undecided';
  /** How many matches were given. */
  readonly matches: number;
}

/** Fewer matches fail on some scenes; more make the result better by their root (measured). */
const FEWEST_MATCHES = 200;
/** Matches must spread to this angle from the mean direction, root mean square, rad. */
const LEAST_SPREAD = 20 * (Math.PI / 180);
/** How far a maker's baseline strays from square to the lenses, rad: 0.5° (our judgement). */
const BASELINE_PRIOR = 0.5 * (Math.PI / 180);
/** Nothing is known about the turn between the eyes: 30°. */
const TURN_PRIOR = 0.5;
/** Above these deviations the matches cannot tell, rad. */
const LARGEST_TURN_DEVIATION = 5 * (Math.PI / 180 / 60);
/** The sense of parallax must agree in this share of the clear matches. */
const CLEAR_MAJORITY = 0.75;
const ITERATIONS = 25;
/** From this round on the weights are the last ones, and small steps end the search. */
const SETTLED = 5;
/** Residuals of this many σ weigh a quarter. */
const WIDTH = 2.5;
/** The whole pull of wrong matches against what narrower weights undo of it: 1.4 to 2 where 30 % miss by 20 arcmin. */
const PULL = 1.75;
const ARCMIN = (180 * 60) / Math.PI;

/**
 * The fixed rotation of each lens from matched directions: the same point seen by the left and the
 * right eye lies in one plane with the baseline, t · (a × u) = 0, whatever its distance. The turn of
 * the right eye and the direction of the baseline that satisfy this best are found by iteratively
 * reweighted least squares, so that a fifth of wrong matches does no harm. The deviations count what
 * wrong matches to one side may have pulled, but for those that miss along the baseline.
 *
 * @param left - unit directions a in the left eye's axes, length 3n, n ≥ 200 over the field
 * @param right - the matching directions b in the right eye's axes
 * @returns the rotations and how well they are known; cost O(n), at most 25 rounds
 * @throws TwinkeelError `rig/alignment` when the matches are too few, too close together, or too far
 *   to tell
 * @see Longuet-Higgins, "A computer algorithm for reconstructing a scene from two projections",
 *   Nature 293, 1981, for the constraint; Geman and McClure 1987 for the weights
 * @example
 * const flower = (k: number, eye: number) => {
 *   const v = [Math.sin(k) - eye, Math.sin(1.7 * k), -1 - (k % 7)]; // m, from the eye
 *   return v.map((part) => part / Math.hypot(...v));
 * };
 * const seenFrom = (eye: number) =>
 *   Float64Array.from({ length: 1200 }, (_, i) => flower(Math.floor(i / 3), eye)[i % 3]!);
 * alignLenses(seenFrom(-0.032), seenFrom(0.032)).eyes; // 'as named'
 */
export function alignLenses(left: Float64Array, right: Float64Array): LensAlignment {
  requireMatches(left, right);
  let found: LensAlignment | undefined;
  try {
    found = fitAlignment(left, right);
  } catch (error) {
    // Equations that no solver takes; what else goes wrong inside follows from the matches too.
    if (error instanceof TwinkeelError && error.code === 'rig/alignment') throw error;
  }
  if (found && isKnown(found)) return found;
  throw cannotTell(
    'matches that leave the turn between the eyes open: of one point, mirrored or opposite',
    'check which columns are the left and the right eye’s, and take matches over the whole field',
  );
}

/** Whether every number of an alignment is one. */
function isKnown(alignment: LensAlignment): boolean {
  const { left, right, relativeArcmin, baselineDeviationDeg, residualArcmin } = alignment;
  const { value, deviation } = relativeArcmin;
  const numbers = [...left, ...right, ...value, ...deviation, baselineDeviationDeg, residualArcmin];
  return numbers.every(Number.isFinite);
}

function fitAlignment(left: Float64Array, right: Float64Array): LensAlignment {
  const n = left.length / 3;
  const found = solveLenses(left, right);
  const { turn, t, sigma } = found;
  const biases = pulledBy(left, right, found);
  const deviation = found.inverse.map((row, i) =>
    Math.hypot(sigma * Math.sqrt(row[i]!), biases[i]!),
  ) as number[];
  // Matches of one point, or that mirror each other, leave no number at all.
  if (!(Math.max(deviation[0]!, deviation[1]!, deviation[2]!) <= LARGEST_TURN_DEVIATION)) {
    throw cannotTell(
      `a turn between the eyes known only to ${(Math.max(...deviation.slice(0, 3)) * ARCMIN).toFixed(1)} arcmin`,
      'take more matches, nearer ones among them, over the whole field',
    );
  }
  const toRig = rigAxes(turn, t);
  const relative = relativeTurn(turn);
  return {
    left: toRig,
    right: multiplyQuaternions(toRig, turn),
    relativeArcmin: {
      value: relative,
      deviation: [deviation[0]! * ARCMIN, deviation[1]! * ARCMIN, deviation[2]! * ARCMIN],
    },
    baselineDeviationDeg: (Math.hypot(deviation[3]!, deviation[4]!) * 180) / Math.PI,
    residualArcmin: sigma * ARCMIN,
    eyes: senseOfParallax(left, right, turn, t, sigma),
    matches: n,
  };
}

/** What the matches say of the lenses, as far as a search has come. */
interface Lenses {
  /** From the right eye's axes to the left eye's. */
  readonly turn: Quaternion;
  /** The baseline in the left eye's axes, a unit vector. */
  readonly t: Vector3;
  /** Robust standard deviation of the residuals, rad. */
  readonly sigma: number;
  /** Inverse of the normal matrix; times σ² the covariance of turn and baseline. */
  readonly inverse: readonly (readonly number[])[];
  /** How far turn and baseline are from what was expected before any match, rad. */
  readonly offset: readonly number[];
}

/** From nothing, or from lenses that were found, with a σ that is given then. */
function solveLenses(
  left: Float64Array,
  right: Float64Array,
  from?: Lenses,
  width = WIDTH,
): Lenses {
  const n = left.length / 3;
  let turn: Quaternion = from?.turn ?? IDENTITY; // u = turn(b): right eye to left eye
  let t: Vector3 = from?.t ?? [1, 0, 0];
  const offset = [...(from?.offset ?? [0, 0, 0, 0, 0])];
  let sigma = from?.sigma ?? 0;
  let inverse: readonly (readonly number[])[] = [];
  for (let iteration = from ? SETTLED : 0; iteration < ITERATIONS; iteration++) {
    const { e1, e2 } = tangents(t);
    const rows = Array.from({ length: n }, (_, k) =>
      coplanarity(vectorAt(left, k), rotateVector(turn, vectorAt(right, k)), t, e1, e2),
    );
    if (!from) sigma = 1.4826 * median(rows.map(({ e }) => Math.abs(e))) + 1e-12;
    const weighted = rows.map((row) => ({
      ...row,
      weight: weightOf(row.e, sigma, iteration, width),
    }));
    const prior = [TURN_PRIOR, TURN_PRIOR, TURN_PRIOR, BASELINE_PRIOR, BASELINE_PRIOR].map(
      (deviation) => (sigma / deviation) ** 2,
    );
    const solution = solveWeighted(weighted, prior, offset);
    inverse = solution.inverse;
    const x = solution.x.map((value) => clamp(value, -0.1, 0.1));
    turn = normalizeQuaternion(
      multiplyQuaternions(quaternionFromRotationVector([x[0]!, x[1]!, x[2]!]), turn),
    );
    t = unit([0, 1, 2].map((i) => t[i]! + x[3]! * e1[i]! + x[4]! * e2[i]!));
    x.forEach((value, i) => {
      offset[i]! += value;
    });
    if (iteration > SETTLED && Math.hypot(...x) < 1e-10) break;
  }
  return { turn, t, sigma, inverse, offset };
}

/**
 * How far wrong matches may have pulled turn and baseline, rad. Matches that miss in all directions
 * leave the middle where it is; many that miss to the same side pull it along, however many good ones
 * there are, and no scatter tells. Weights half as wide feel them a few times less: what the solution moves under
 * them, beyond the scatter of such a difference, is taken as the pull.
 */
function pulledBy(left: Float64Array, right: Float64Array, found: Lenses): number[] {
  const narrow = solveLenses(left, right, found, WIDTH / 2);
  return narrow.offset.map((value, i) => {
    const moved = Math.abs(value - found.offset[i]!);
    const scatter = found.sigma * Math.sqrt(found.inverse[i]![i]!);
    return PULL * Math.sqrt(Math.max(0, moved * moved - scatter * scatter));
  });
}

/** Residual and Jacobian of one match; the residual has the unit of an angle at the sphere. */
function coplanarity(
  a: Vector3,
  u: Vector3,
  t: Vector3,
  e1: Vector3,
  e2: Vector3,
): { j: number[]; e: number } {
  const n = cross(t, a);
  const m = cross(t, u);
  const scale = 1 / Math.sqrt(dot(n, n) + dot(m, m) + 1e-18);
  const turned = cross(u, n);
  const au = cross(a, u);
  return {
    e: dot(n, u) * scale,
    j: [
      turned[0] * scale,
      turned[1] * scale,
      turned[2] * scale,
      dot(au, e1) * scale,
      dot(au, e2) * scale,
    ],
  };
}

/** First the weights of the least absolute sum, then ones that forget wrong matches. */
function weightOf(e: number, sigma: number, iteration: number, width: number): number {
  if (iteration < 4) return 1 / Math.max(Math.abs(e), sigma);
  const scaled = e / (width * sigma);
  return 1 / (1 + scaled * scaled) ** 2;
}

/** Points in front turn towards −t between the eyes; the other way round the eyes are exchanged. */
function senseOfParallax(
  left: Float64Array,
  right: Float64Array,
  turn: Quaternion,
  t: Vector3,
  sigma: number,
): LensAlignment['eyes'] {
  let clear = 0;
  let forward = 0;
  const { e1, e2 } = tangents(t);
  for (let k = 0; 3 * k < left.length; k++) {
    const a = vectorAt(left, k);
    const u = rotateVector(turn, vectorAt(right, k));
    const au = cross(a, u);
    const { e } = coplanarity(a, u, t, e1, e2);
    if (Math.hypot(...au) < 4 * sigma || Math.abs(e) > 4 * sigma) continue;
    clear++;
    if (dot(au, cross(a, [-t[0], -t[1], -t[2]])) > 0) forward++;
  }
  if (clear < 10) return 'undecided';
  const share = forward / clear;
  return share > CLEAR_MAJORITY
    ? 'as named'
    : share < 1 - CLEAR_MAJORITY
      ? 'exchanged'
      : 'undecided';
}

/** From the left eye to the rig: x along the baseline, −z the mean optical axis square to it. */
function rigAxes(turn: Quaternion, t: Vector3): Quaternion {
  const back = rotateVector(turn, [0, 0, 1]);
  const mean: Vector3 = [back[0], back[1], back[2] + 1];
  const along = dot(mean, t);
  const z = unit([0, 1, 2].map((i) => mean[i]! - along * t[i]!));
  const y = cross(z, t);
  return quaternionFromMatrix([...t, ...y, ...z] as unknown as Parameters<
    typeof quaternionFromMatrix
  >[0]);
}

function relativeTurn(turn: Quaternion): Vector3 {
  const [x, y, z] = rotationVectorFromQuaternion(turn);
  return [x * ARCMIN, y * ARCMIN, z * ARCMIN];
}

function requireMatches(left: Float64Array, right: Float64Array): void {
  const n = left.length / 3;
  if (!Number.isInteger(n) || left.length !== right.length) {
    throw new TwinkeelError('argument/shape', {
      found: `${left.length} and ${right.length} numbers`,
      expected: 'three for each match in both lists',
      remedy: 'pass lists of equal length',
    });
  }
  if (n < FEWEST_MATCHES) {
    throw cannotTell(
      `${n} matches`,
      `take at least ${FEWEST_MATCHES}, from several frames if need be`,
    );
  }
  const sum = [0, 0, 0];
  for (let i = 0; i < left.length; i++) sum[i % 3]! += left[i]! / n;
  const spread = Math.sqrt(Math.max(0, 2 - 2 * Math.hypot(...sum)));
  if (!(spread >= LEAST_SPREAD)) {
    throw cannotTell(
      `matches within ${((spread * 180) / Math.PI).toFixed(0)}° of each other`,
      'take matches over the whole field of the lenses',
    );
  }
}

function cannotTell(found: string, remedy: string): TwinkeelError {
  return new TwinkeelError('rig/alignment', {
    found,
    expected: 'matches that fix the turn between the eyes to 5 arcmin',
    remedy,
  });
}

/** Two directions square to t and to each other. */
function tangents(t: Vector3): { e1: Vector3; e2: Vector3 } {
  const e1 = unit([-t[0] * t[1], 1 - t[1] * t[1], -t[2] * t[1]]);
  return { e1, e2: cross(t, e1) };
}

function cross(a: Vector3, b: Vector3): Vector3 {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

function dot(a: Vector3, b: Vector3): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

function unit(v: readonly number[]): Vector3 {
  const norm = Math.hypot(...v);
  return [v[0]! / norm, v[1]! / norm, v[2]! / norm];
}

function median(values: number[]): number {
  return values.sort((a, b) => a - b)[values.length >> 1]!;
}
