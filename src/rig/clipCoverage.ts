import {
  alignSigns,
  composeQuaternions,
  invertQuaternions,
  quaternionAt,
} from '../rotation/arrays.js';
import { type Quaternion, rotateVector, type Vector3 } from '../rotation/quaternion.js';
import { type OrientationTrack, withQuaternions } from '../track/orientationTrack.js';
import {
  axisSwings,
  bestMask,
  type CircularMask,
  coveredHalfAngle,
  halfView,
  uncoveredShare,
} from './coverage.js';
import type { Projection } from './picture.js';
import { DESCRIBED_ROWS, orientationsOfRows, rowOfDirection } from './rollingShutter.js';
import type { StereoRig } from './stereoRig.js';

/** What one eye's picture leaves of the view, frame by frame. */
export interface EyeCoverage {
  /** Angle between the eye's own optical axis and the middle of the view, rad; length n. */
  readonly swings: Float64Array;
  /**
   * Share of the view's solid angle that is black without a mask, 0 to 1; length n. With a readout
   * the larger of two: one rotation for the whole frame, and one for each row.
   */
  readonly uncovered: Float64Array;
}

/** What both eyes' pictures leave of the view. */
export interface ClipCoverage {
  /** Half the angle across that either picture holds, rad. */
  readonly halfAngle: number;
  /** The left lens's picture. */
  readonly left: EyeCoverage;
  /** The right lens's picture. */
  readonly right: EyeCoverage;
  /** The window that hides every edge in both eyes and all frames, where any comes into view. */
  readonly mask?: CircularMask;
}

/** The parts of a result that coverage follows from. */
export interface Viewed {
  /** K at every frame, from the camera as it hangs; unit quaternions, length 4n. */
  readonly corrections: {
    /** x, y, z, w one behind the other. */
    readonly quaternions: Float64Array;
  };
  /** S at every frame. */
  readonly intended: OrientationTrack;
}

/** Width of a mask's soft edge, rad: 2° (our judgement). */
const FEATHER = 2 * (Math.PI / 180);

/**
 * What of the view stays black, from the picture that will be resampled and each eye's own rotation
 * K·A: an eye that is aligned apart shows its edge elsewhere and in other frames. Where the rows are
 * read one after the other, each row has its own rotation.
 *
 * @param clip - a result of {@link index!correct}, or the parts of one; n frames
 * @param rig - states lens, view, alignment and readout
 * @param picture - the picture that will be resampled
 * @returns figures per eye and frame, and one mask for both; cost O(n)
 * @example
 * const { left, right } = clipCoverage(result, rig, 'fisheye');
 * Math.max(...left.uncovered, ...right.uncovered); // 0, no frame shows black
 */
export function clipCoverage(clip: Viewed, rig: StereoRig, picture: Projection): ClipCoverage {
  return coverageWithin(clip, rig, coveredHalfAngle(rig, picture));
}

/** {@link clipCoverage} of a picture that holds another angle, such as a fisheye that was cropped. */
export function coverageWithin(clip: Viewed, rig: StereoRig, halfAngle: number): ClipCoverage {
  const eyes = (['left', 'right'] as const).map((eye) => {
    const own = rig.eyes[eye].alignment;
    const whole = composeQuaternions(clip.corrections.quaternions, own);
    return { eye, whole, rows: rowsInView(clip, rig, eye) };
  });
  const [left, right] = eyes.map((rotations) => eyeCoverage(rotations, rig, halfAngle)) as [
    EyeCoverage,
    EyeCoverage,
  ];
  const margin = halfAngle - halfView(rig);
  const edges = [left, right].some(
    ({ swings, uncovered }) => largest(swings) > margin || largest(uncovered) > 0,
  );
  const lists = eyes.flatMap(({ whole, rows }) => [whole, ...rows]);
  return {
    halfAngle,
    left,
    right,
    ...(edges && { mask: bestMask(concatenated(lists), halfAngle, FEATHER) }),
  };
}

/** K·A of each described row; none where all rows are read at the frame's time. */
function rowsInView(clip: Viewed, rig: StereoRig, eye: 'left' | 'right'): Float64Array[] {
  const { intended, corrections } = clip;
  const measured = withQuaternions(
    intended,
    alignSigns(composeQuaternions(intended.quaternions, corrections.quaternions)),
  );
  const inverse = invertQuaternions(intended.quaternions);
  return orientationsOfRows(measured, rig, eye).map((c) =>
    composeQuaternions(composeQuaternions(inverse, c), rig.eyes[eye].alignment),
  );
}

interface EyeRotations {
  readonly eye: 'left' | 'right';
  readonly whole: Float64Array;
  readonly rows: readonly Float64Array[];
}

function eyeCoverage({ whole, rows }: EyeRotations, rig: StereoRig, half: number): EyeCoverage {
  const view = halfView(rig);
  const swings = axisSwings(whole);
  const uncovered = swings.map((swing) => uncoveredShare(swing, half, view));
  if (rows.length === 0) return { swings, uncovered };
  const swingsOfRows = rows.map(axisSwings);
  const rim = rimOf(rig, half);
  for (let k = 0; k < uncovered.length; k++) {
    // An axis that turns further than the margin in no row brings no edge into view.
    const most = swingsOfRows.reduce((max, row) => Math.max(max, row[k]!), 0);
    if (most <= half - view) continue;
    const turns = rows.map((row) => quaternionAt(row, k));
    // With the middle of the view outside the rim there is no going round it; then the worst row tells.
    const share = most < half ? rolledShare(turns, rim, view) : uncoveredShare(most, half, view);
    uncovered[k] = Math.max(uncovered[k]!, share);
  }
  return { swings, uncovered };
}

/** A point on the edge of what a picture holds, and the weights by which its row lies among the described ones. */
interface RimPoint {
  readonly direction: Vector3;
  readonly weights: readonly number[];
}

/** Points of the rim: between them it is followed by straight lines, 2° apart. */
const RIM_POINTS = 180;

function rimOf(rig: StereoRig, half: number): RimPoint[] {
  return Array.from({ length: RIM_POINTS }, (_, k) => {
    const around = (2 * Math.PI * k) / RIM_POINTS;
    const across = Math.sin(half);
    const direction: Vector3 = [
      across * Math.cos(around),
      across * Math.sin(around),
      -Math.cos(half),
    ];
    return { direction, weights: lagrangeWeights(rowOfDirection(direction, rig)) };
  });
}

/** Weights of Lagrange's interpolation from the described rows to one between them. */
function lagrangeWeights(row: number): number[] {
  return DESCRIBED_ROWS.map((own, j) =>
    DESCRIBED_ROWS.reduce(
      (product, other, i) => (i === j ? product : (product * (row - other)) / (own - other)),
      1,
    ),
  );
}

/**
 * Share of the view beyond the rim of a picture whose rows turn apart: the rim, point by point where
 * its own row puts it in the view, by angle ρ from the middle and direction ψ about it; black is
 * ∫ max(0, cos ρ − cos V) dψ of 2π (1 − cos V).
 */
function rolledShare(rows: readonly Quaternion[], rim: readonly RimPoint[], view: number): number {
  const aligned = rows.map((q) => {
    const dot = q.reduce((sum, part, i) => sum + part * rows[0]![i]!, 0);
    return dot < 0 ? q.map((part) => -part) : q;
  });
  const edge = Math.cos(view);
  const points = rim.map(({ direction, weights }) => {
    const mixed = [0, 1, 2, 3].map((i) =>
      weights.reduce((sum, weight, j) => sum + weight * aligned[j]![i]!, 0),
    );
    const norm = Math.hypot(...mixed);
    const turned = rotateVector(
      mixed.map((part) => part / norm) as unknown as Quaternion,
      direction,
    );
    return { beyond: -turned[2] - edge, around: Math.atan2(turned[1], turned[0]) };
  });
  let black = 0;
  points.forEach(({ beyond, around }, k) => {
    const next = points[(k + 1) % points.length]!;
    let angle = next.around - around;
    if (angle > Math.PI) angle -= 2 * Math.PI;
    if (angle < -Math.PI) angle += 2 * Math.PI;
    black += angle * positivePart(beyond, next.beyond);
  });
  return Math.min(1, Math.max(0, black) / (2 * Math.PI * (1 - edge)));
}

/** Mean of max(0, x) along a straight line from a to b. */
function positivePart(a: number, b: number): number {
  if (a >= 0 && b >= 0) return (a + b) / 2;
  if (a <= 0 && b <= 0) return 0;
  const top = Math.max(a, b);
  return (top * top) / (2 * (top - Math.min(a, b)));
}

function largest(values: Float64Array): number {
  return values.reduce((max, value) => Math.max(max, value), 0);
}

function concatenated(lists: readonly Float64Array[]): Float64Array {
  const out = new Float64Array(lists.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const list of lists) {
    out.set(list, at);
    at += list.length;
  }
  return out;
}
