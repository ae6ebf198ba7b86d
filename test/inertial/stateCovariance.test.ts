import { inverse, Matrix } from 'ml-matrix';
import { describe, expect, test } from 'vitest';
import {
  afterUpdate,
  COVARIANCE_NUMBERS,
  gainOf,
  keepCovariance,
  multiplySymmetric,
  newUpdate,
  restoreCovariance,
  STATE,
  STATES,
  solveFactored,
  updateCovariance,
} from '../../src/inertial/stateCovariance.js';
import { factorCholesky } from '../../src/numeric/cholesky.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';

const numbers = (count: number) =>
  fc
    .array(fc.integer({ min: -1000, max: 1000 }), { minLength: count, maxLength: count })
    .map((all) => all.map((x) => x / 1000));
/** B Bᵀ + 1 with elements of B below 1: eigenvalues from 1 to 145. */
const covariances = numbers(STATES * STATES).map((all) => {
  const B = Matrix.from1DArray(STATES, STATES, all);
  return Float64Array.from(B.mmul(B.transpose()).add(Matrix.eye(STATES)).to1DArray());
});
const noises = numbers(3).map(([a, b, c]) => [0.5 + a! / 4, 0.5 + b! / 4, 0.5 + c! / 4] as const);
const places = fc.constantFrom(STATE.velocity, STATE.gyroBias, STATE.attitude);
const matrix = (values: ArrayLike<number>) =>
  Matrix.from1DArray(STATES, STATES, Array.from(values));
// Sums of twelve products below 13, through matrices whose condition is below 145 + noise.
const ROUNDING = 12 * 13 * 145 * Number.EPSILON;

/** What a measurement of three neighbouring states says, by whole matrices. */
function byMatrices(P: Float64Array, at: number, noise: readonly number[]) {
  const H = Matrix.zeros(3, STATES);
  for (let i = 0; i < 3; i++) H.set(i, at + i, 1);
  const S = H.mmul(matrix(P))
    .mmul(H.transpose())
    .add(Matrix.diag([...noise]));
  const gain = matrix(P).mmul(H.transpose()).mmul(inverse(S));
  const kept = Matrix.eye(STATES).sub(gain.mmul(H));
  return { gain, S: inverse(S), kept, after: kept.mmul(matrix(P)) };
}

describe('a measurement of three states', () => {
  test('leaves (I − K H) P with K = P Hᵀ (H P Hᵀ + R)⁻¹', () => {
    fc.assert(
      fc.property(covariances, places, noises, (P, at, noise) => {
        const update = newUpdate();
        const expected = byMatrices(P, at, noise);
        const found = P.slice();
        updateCovariance(found, at, noise, update);
        expect(largestGap(found, expected.after.to1DArray())).toBeLessThan(ROUNDING);
        expect(largestGap(update.gain, expected.gain.transpose().to1DArray())).toBeLessThan(
          ROUNDING,
        );
        expect(largestGap(update.S, expected.S.to1DArray())).toBeLessThan(ROUNDING);
      }),
      { numRuns: 50 },
    );
  });

  test('takes errors along by I − K H', () => {
    fc.assert(
      fc.property(covariances, places, noises, numbers(STATES), (P, at, noise, errors) => {
        const update = newUpdate();
        gainOf(P, at, noise, update);
        const found = Float64Array.from(errors);
        afterUpdate(found, at, update);
        const { kept } = byMatrices(P, at, noise);
        const expected = kept.mmul(Matrix.columnVector(errors)).to1DArray();
        expect(largestGap(found, expected)).toBeLessThan(ROUNDING);
      }),
      { numRuns: 50 },
    );
  });
});

test('a covariance is kept as a triangle, multiplied as a matrix and solved by its factor', () => {
  fc.assert(
    fc.property(covariances, numbers(STATES), (P, x) => {
      const kept = new Float64Array(3 * COVARIANCE_NUMBERS);
      keepCovariance(P, kept, 1);
      const restored = new Float64Array(STATES * STATES);
      restoreCovariance(kept, 1, restored);
      expect(restored).toEqual(P);
      const product = new Float64Array(STATES);
      multiplySymmetric(P, Float64Array.from(x), product);
      const expected = matrix(P).mmul(Matrix.columnVector(x)).to1DArray();
      expect(largestGap(product, expected)).toBeLessThan(ROUNDING);
      expect(factorCholesky(restored, STATES)).toBe(true);
      solveFactored(restored, product);
      expect(largestGap(product, x)).toBeLessThan(ROUNDING);
    }),
    { numRuns: 50 },
  );
});
