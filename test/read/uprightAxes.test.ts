import { expect, test } from 'vitest';
import { trackOf } from '../../bench/accuracy/evaluate.js';
import { makeWalk } from '../../bench/accuracy/walks.js';
import { axesFromWords } from '../../src/read/axes.js';
import { uprightAxes } from '../../src/read/uprightAxes.js';
import { composeQuaternions, headingTiltRollFromQuaternions } from '../../src/rotation/arrays.js';
import { type Matrix3, quaternionFromMatrix } from '../../src/rotation/matrix.js';
import { invertQuaternion, type Quaternion } from '../../src/rotation/quaternion.js';

const { quaternions: walk } = trackOf(makeWalk('turn90', 3, { duration: 20 }));

/** All 24 ways to hold a box: signed permutations that are rotations. */
const TURNS: Matrix3[] = [];
for (const [a, b, c] of [
  [0, 1, 2],
  [1, 2, 0],
  [2, 0, 1],
  [0, 2, 1],
  [1, 0, 2],
  [2, 1, 0],
] as const) {
  for (let signs = 0; signs < 8; signs++) {
    const m = new Array(9).fill(0);
    [a, b, c].forEach((column, row) => {
      m[3 * row + column] = (signs >> row) & 1 ? -1 : 1;
    });
    const det =
      m[0] * (m[4] * m[8] - m[5] * m[7]) -
      m[1] * (m[3] * m[8] - m[5] * m[6]) +
      m[2] * (m[3] * m[7] - m[4] * m[6]);
    if (det === 1) TURNS.push(m as unknown as Matrix3);
  }
}

const mean = (values: Float64Array) => values.reduce((a, b) => a + b, 0) / values.length;
const DEGREE = Math.PI / 180;

/** Mean tilt and roll, degrees. */
function pose(quaternions: Float64Array): [number, number] {
  const { tilt, roll } = headingTiltRollFromQuaternions(quaternions);
  return [Math.abs(mean(tilt)) / DEGREE, Math.abs(mean(roll.map(Math.abs))) / DEGREE];
}

test('a walk that was read as it was filmed needs no other axes', () => {
  expect(uprightAxes(walk)).toBeUndefined();
});

test('whichever axes of the camera were taken for whichever, the sentence sets it upright', () => {
  expect(TURNS).toHaveLength(24);
  let upright = 0;
  for (const turn of TURNS) {
    const wrong = composeQuaternions(walk, quaternionFromMatrix(turn));
    const found = uprightAxes(wrong);
    if (!found) {
      upright++;
      continue;
    }
    const { matrix } = axesFromWords(found.sentence.replace('axes camera: ', ''), 'camera');
    // The file's axes are ours so far, so what the sentence says is the way from them to ours.
    const mended = composeQuaternions(wrong, invertQuaternion(quaternionFromMatrix(matrix)));
    const [tilt, roll] = pose(mended);
    expect(tilt).toBeLessThan(20);
    expect(roll).toBeLessThan(20);
  }
  // Four of them only look another way, which no mean pose can tell.
  expect(upright).toBe(4);
});

test('axes that the mapping named already are turned from where they were', () => {
  const side: Quaternion = quaternionFromMatrix([0, -1, 0, 1, 0, 0, 0, 0, 1]);
  const file = axesFromWords('x right, y down, z forward', 'camera');
  const found = uprightAxes(composeQuaternions(walk, side), file)!;
  expect(found).toEqual({
    lies: 'lies on its left side',
    sentence: 'axes camera: x up, y right, z forward',
  });
});

test('where people turn about a level axis, it is the world that lies', () => {
  for (const lying of [
    quaternionFromMatrix([1, 0, 0, 0, 0, -1, 0, 1, 0]),
    quaternionFromMatrix([1, 0, 0, 0, 0, 1, 0, -1, 0]),
    quaternionFromMatrix([0, 1, 0, -1, 0, 0, 0, 0, 1]),
  ]) {
    const wrong = composeQuaternions(lying, walk);
    const { sentence } = uprightAxes(wrong)!;
    const { matrix } = axesFromWords(sentence.replace('axes world: ', ''), 'world');
    const [tilt, roll] = pose(composeQuaternions(quaternionFromMatrix(matrix), wrong));
    expect(tilt).toBeLessThan(20);
    expect(roll).toBeLessThan(20);
  }
});
