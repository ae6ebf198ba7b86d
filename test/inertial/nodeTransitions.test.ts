import { Matrix } from 'ml-matrix';
import { expect, test } from 'vitest';
import {
  backOverTransition,
  carryCovariance,
  keepTransition,
  TRANSITION_NUMBERS,
  transposedTransition,
} from '../../src/inertial/nodeTransitions.js';
import { newSegment } from '../../src/inertial/segment.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';

const M = 12;
const NODE = 2;

const numbers = (count: number) =>
  fc
    .array(fc.integer({ min: -1000, max: 1000 }), { minLength: count, maxLength: count })
    .map((all) => all.map((x) => x / 1000));

/** A symmetric matrix, row by row. */
const symmetric = numbers(M * M).map((all) =>
  Float64Array.from({ length: M * M }, (_, i) => {
    const [row, column] = [Math.floor(i / M), i % M];
    return all[Math.max(row, column) * M + Math.min(row, column)]!;
  }),
);

/** The transition as a whole matrix, by its definition, and kept at a node. */
function transition(blocks: readonly number[]) {
  const [A, C, p] = [blocks.slice(0, 9), blocks.slice(9, 18), blocks.slice(18)];
  const F = Matrix.eye(M);
  for (let row = 0; row < 3; row++) {
    for (let column = 0; column < 3; column++) {
      F.set(row, 6 + column, A[3 * row + column]!);
      F.set(3 + row, 6 + column, C[3 * row + column]!);
      F.set(3 + row, 9 + column, A[3 * row + column]!);
    }
  }
  // θ × p, without what the heading does.
  const [x, y, z] = p as [number, number, number];
  F.set(3, 2, -y);
  F.set(4, 0, -z);
  F.set(4, 2, x);
  F.set(5, 0, y);
  const segment = newSegment();
  segment.attitudeByGyro.set(A);
  segment.velocityByGyro.set(C);
  segment.impulse.set(p);
  const kept = new Float64Array(TRANSITION_NUMBERS * (NODE + 1));
  keepTransition(kept, NODE, segment);
  return { F, kept };
}

const matrix = (values: Float64Array) => Matrix.from1DArray(M, M, [...values]);
/** Two products of numbers below 1: sums of twelve, each below 8, twice. */
const ROUNDING = 2 * 12 * 8 * Number.EPSILON;

test('covariances, what the future says, and single errors go through the transition as through its matrix', () => {
  fc.assert(
    fc.property(numbers(21), symmetric, numbers(M), (blocks, P, errors) => {
      const { F, kept } = transition(blocks);
      const forward = P.slice();
      carryCovariance(forward, kept, NODE);
      const expected = F.mmul(matrix(P)).mmul(F.transpose()).to1DArray();
      expect(largestGap(forward, expected)).toBeLessThan(ROUNDING);
      const back = P.slice();
      backOverTransition(back, kept, NODE);
      const before = F.transpose().mmul(matrix(P)).mmul(F).to1DArray();
      expect(largestGap(back, before)).toBeLessThan(ROUNDING);
      const x = Float64Array.from(errors);
      transposedTransition(x, kept, NODE);
      const once = F.transpose().mmul(Matrix.columnVector(errors)).to1DArray();
      expect(largestGap(x, once)).toBeLessThan(ROUNDING);
    }),
    { numRuns: 50 },
  );
});
