import { DEGREES_PER_RADIAN, RADIANS_PER_DEGREE } from '../math.js';
import { composeQuaternions, invertQuaternions, rotateVectors } from '../rotation/arrays.js';
import type { Matrix3 } from '../rotation/matrix.js';
import type { Vector3 } from '../rotation/quaternion.js';
import { rotationVectorFromQuaternion } from '../rotation/rotationVector.js';
import type { Axes } from './axes.js';

/** How a camera lies on average, and the sentence of a mapping that would set it upright. */
export interface UprightAxes {
  /** In words: "lies on its left side". */
  readonly lies: string;
  /** Such as `axes camera: x up, y left, z back`. */
  readonly sentence: string;
}

/** A camera is carried upright where its mean up lies within this of the vertical, degrees (our judgement). */
const UPRIGHT_WITHIN_DEG = 50;
/** Below this length of the mean of unit vectors the pose varies too much to have a mean. */
const LEAST_AGREEMENT = 0.6;
/** Turning that tells the vertical of the world: at least this far in all, and this much of it about one axis. */
const TELLING = { degrees: 60, share: 0.6 };

/**
 * Whether a track's mean pose is absurd for a carried camera (on its side, upside down, the world
 * lying), and which axes of the file would make it upright. People turn about the vertical: where they
 * turn about a level axis instead, it is the world that lies.
 *
 * @param quaternions - camera→world as the mapping gives them, length 4n
 * @param cameraAxes - of the mapping; ours when left out
 * @param worldAxes - of the mapping; ours when left out
 * @returns nothing for a camera that is upright on average; cost O(n)
 * @example
 * const onItsSide = composeQuaternions(track.quaternions, [0, 0, Math.SQRT1_2, Math.SQRT1_2]);
 * uprightAxes(onItsSide)?.sentence; // 'axes camera: x up, y left, z back'
 */
export function uprightAxes(
  quaternions: Float64Array,
  cameraAxes: Axes = OURS,
  worldAxes: Axes = OURS,
): UprightAxes | undefined {
  const n = quaternions.length / 4;
  const vertical = Float64Array.from({ length: 3 * n }, (_, i) => Number(i % 3 === 1));
  const up = meanOf(rotateVectors(invertQuaternions(quaternions), vertical));
  const length = Math.hypot(...up);
  const off = Math.atan2(Math.hypot(up[0], up[2]), up[1]) * DEGREES_PER_RADIAN;
  const turned = turningAxis(quaternions);
  const lying = turned && Math.abs(turned[1]) < Math.cos(UPRIGHT_WITHIN_DEG * RADIANS_PER_DEGREE);
  if (lying && off > 90 - UPRIGHT_WITHIN_DEG) {
    // Either end of the axis may be up; the camera's own top decides.
    const top = meanOf(rotateVectors(quaternions, vertical));
    const side = top[0] * turned[0] + top[1] * turned[1] + top[2] * turned[2] < 0 ? -1 : 1;
    const axis = nearestAxis(turned.map((part) => side * part) as unknown as Vector3);
    return {
      lies: 'turns about a level axis, as if the world lay on its side',
      sentence: sentenceOf('world', worldAxes, turnUp(axis)),
    };
  }
  if (length < LEAST_AGREEMENT || off < UPRIGHT_WITHIN_DEG) return undefined;
  const axis = nearestAxis(up);
  return { lies: LIES[axis.join()]!, sentence: sentenceOf('camera', cameraAxes, turnUp(axis)) };
}

const OURS: Axes = { matrix: [1, 0, 0, 0, 1, 0, 0, 0, 1], mirrored: false };

/** What a camera does whose own direction points up. */
const LIES: Readonly<Record<string, string>> = {
  '1,0,0': 'lies on its left side',
  '-1,0,0': 'lies on its right side',
  '0,-1,0': 'hangs upside down',
  '0,0,1': 'looks straight down',
  '0,0,-1': 'looks straight up',
};

function meanOf(vectors: Float64Array): Vector3 {
  const sum = [0, 0, 0];
  vectors.forEach((value, i) => {
    sum[i % 3]! += value;
  });
  const n = vectors.length / 3;
  return [sum[0]! / n, sum[1]! / n, sum[2]! / n];
}

/** Samples between which turning is summed: steps and tremor cancel over as many frames. */
const STRIDE = 60;

/** The world axis about which most of the turning goes, a unit vector; none where nobody turns. */
function turningAxis(quaternions: Float64Array): Vector3 | undefined {
  const n = quaternions.length / 4;
  const totals = [0, 0, 0];
  for (let k = STRIDE; k < n; k += STRIDE) {
    const [from, to] = [
      quaternions.subarray(4 * (k - STRIDE), 4 * (k - STRIDE) + 4),
      quaternions.subarray(4 * k, 4 * k + 4),
    ];
    const [x, y, z, w] = composeQuaternions(to, invertQuaternions(from));
    rotationVectorFromQuaternion([x!, y!, z!, w!]).forEach((part, axis) => {
      totals[axis]! += Math.abs(part);
    });
  }
  const sum = totals[0]! + totals[1]! + totals[2]!;
  const most = Math.max(...totals);
  if (sum * DEGREES_PER_RADIAN < TELLING.degrees || most < TELLING.share * sum) return undefined;
  return totals.map((total) => Number(total === most)) as unknown as Vector3;
}

/** The direction of our axes, either way, that lies nearest. */
function nearestAxis(vector: Vector3): Vector3 {
  const largest = Math.max(...vector.map(Math.abs));
  const index = vector.findIndex((part) => Math.abs(part) === largest);
  return [0, 1, 2].map((axis) =>
    axis === index ? Math.sign(vector[index]!) : 0,
  ) as unknown as Vector3;
}

/** The quarter or half turn that takes an axis up; about the optical axis where that will do. */
function turnUp([x, y, z]: Vector3): Matrix3 {
  if (x !== 0) return [0, -x, 0, x, 0, 0, 0, 0, 1];
  if (z !== 0) return [1, 0, 0, 0, 0, z, 0, -z, 0];
  return [y, 0, 0, 0, y, 0, 0, 0, 1];
}

const WORDS: Readonly<Record<'camera' | 'world', Readonly<Record<string, string>>>> = {
  camera: {
    ...{ '1,0,0': 'right', '-1,0,0': 'left', '0,1,0': 'up', '0,-1,0': 'down' },
    ...{ '0,0,1': 'back', '0,0,-1': 'forward' },
  },
  world: {
    ...{ '1,0,0': 'east', '-1,0,0': 'west', '0,1,0': 'up', '0,-1,0': 'down' },
    ...{ '0,0,1': 'south', '0,0,-1': 'north' },
  },
};

/** The axes of a mapping once everything is turned. */
function sentenceOf(whose: 'camera' | 'world', { matrix }: Axes, turn: Matrix3): string {
  const words = (['x', 'y', 'z'] as const).map((letter, column) => {
    const direction = [0, 1, 2].map((row) =>
      [0, 1, 2].reduce((sum, k) => sum + turn[3 * row + k]! * matrix[3 * k + column]!, 0),
    );
    // Minus zero is written 0.
    return `${letter} ${WORDS[whose][direction.map((part) => part + 0).join()]}`;
  });
  return `axes ${whose}: ${words.join(', ')}`;
}
