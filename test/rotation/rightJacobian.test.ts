import { expect, test } from 'vitest';
import { invertQuaternion, multiplyQuaternions } from '../../src/rotation/quaternion.js';
import { inverseRightJacobianInto, rightJacobianInto } from '../../src/rotation/rightJacobian.js';
import {
  quaternionFromRotationVector,
  rotationVectorFromQuaternion,
} from '../../src/rotation/rotationVector.js';
import { SERIES_ANGLE } from '../../src/tolerances.js';

const DIRECTIONS = [
  [1, 0, 0],
  [0, -1, 0],
  [0, 0, 1],
  [2 / 3, -1 / 3, 2 / 3],
  [-0.48, 0.6, 0.64],
] as const;
const ANGLES = [0, 1e-9, 1e-4, 0.05, 0.0999999, 0.1, 0.1000001, 0.3, 1, 2, 3, Math.PI, 3.5, 5, 6];

const vectors = ANGLES.flatMap((angle) =>
  DIRECTIONS.map(([x, y, z]) => [angle * x, angle * y, angle * z] as const),
);
type Vector = (typeof vectors)[number];

const matrixBy = (into: typeof rightJacobianInto, [x, y, z]: Vector) => {
  // Room before and after, to see that only the nine places are written.
  const out = new Float64Array(12).fill(7);
  into(out, 2, x, y, z);
  expect([out[0], out[1], out[11]]).toEqual([7, 7, 7]);
  return out.slice(2, 11);
};

test('moving a rotation vector turns the rotation as its right Jacobian says', () => {
  const h = 1e-5;
  for (const v of vectors) {
    const J = matrixBy(rightJacobianInto, v);
    for (let column = 0; column < 3; column++) {
      const moved = (by: number) =>
        quaternionFromRotationVector([
          v[0] + (column === 0 ? by : 0),
          v[1] + (column === 1 ? by : 0),
          v[2] + (column === 2 ? by : 0),
        ]);
      const turn = rotationVectorFromQuaternion(
        multiplyQuaternions(invertQuaternion(moved(-h)), moved(h)),
      );
      for (let row = 0; row < 3; row++) {
        // Central differences leave h²/6 of a third derivative below 2, 4e-11; quaternions round by
        // some epsilons, divided by 2h: 1e-10.
        expect(Math.abs(turn[row]! / (2 * h) - J[3 * row + column]!)).toBeLessThan(2e-10);
      }
    }
  }
});

test('the inverse times the Jacobian is one', () => {
  for (const v of vectors) {
    const J = matrixBy(rightJacobianInto, v);
    const inverse = matrixBy(inverseRightJacobianInto, v);
    for (let i = 0; i < 9; i++) {
      const [row, column] = [3 * Math.floor(i / 3), i % 3];
      const product =
        inverse[row]! * J[column]! +
        inverse[row + 1]! * J[3 + column]! +
        inverse[row + 2]! * J[6 + column]!;
      // Near 2π the cotangent is of 2π − θ = 0.28, whose rounding it magnifies by its inverse square;
      // the closed forms lose 1/θ³ of an epsilon, at 0.1 rad again multiplied by θ².
      expect(Math.abs(product - (row / 3 === column ? 1 : 0))).toBeLessThan(200 * Number.EPSILON);
    }
  }
});

test('small angles by series meet the closed forms where these begin', () => {
  for (const [x, y, z] of DIRECTIONS) {
    for (const into of [rightJacobianInto, inverseRightJacobianInto]) {
      const at = (angle: number) => matrixBy(into, [angle * x, angle * y, angle * z]);
      const below = at(SERIES_ANGLE * (1 - 1e-12));
      const above = at(SERIES_ANGLE * (1 + 1e-12));
      // The entries change by at most 1 per radian, here 2e-13; (1 − cos θ)/θ² loses 200 epsilons
      // at 0.1, and is multiplied by θ.
      below.forEach((value, i) => {
        expect(Math.abs(value - above[i]!)).toBeLessThan(2.5e-13);
      });
    }
  }
});

test('of nothing it is one, and the first term of its series is half the cross product', () => {
  expect([...matrixBy(rightJacobianInto, [0, 0, 0])]).toEqual([1, 0, 0, 0, 1, 0, 0, 0, 1]);
  const J = matrixBy(rightJacobianInto, [0, 0, 1e-8]);
  // J = I − ½ [v]: [v] w = v × w has −v_z in row x, column y.
  expect(J[1]).toBeCloseTo(0.5e-8, 20);
  expect(matrixBy(inverseRightJacobianInto, [0, 0, 1e-8])[1]).toBeCloseTo(-0.5e-8, 20);
});
