import { describe, expect, test } from 'vitest';
import { slerp } from '../../src/rotation/interpolate.js';
import { meanQuaternion } from '../../src/rotation/mean.js';
import { multiplyQuaternions, type Quaternion } from '../../src/rotation/quaternion.js';
import { apart } from '../apart.js';
import { PRODUCT } from '../laws.js';
import { refusal } from '../refusal.js';
import { fc } from '../seed.js';
import { directions, rotations, SCALES, turn, turnsBy } from '../turns.js';

const EPSILON = Number.EPSILON;

/**
 * Some thirty plane turns (five sweeps of six) round by 2 epsilons each. Rotations within a
 * radian of their middle leave half of the total weight between the largest eigenvalue and the
 * next, which doubles the error; so does the step from chord to angle.
 */
const MEAN = 30 * 2 * 2 * 2;

const flat = (list: readonly Quaternion[]) => Float64Array.from(list.flat());
const opposite = ([x, y, z, w]: Quaternion): Quaternion => [-x, -y, -z, -w];

/** Two to six orientations within a radian of one, with weights. */
const glances = fc
  .tuple(
    rotations,
    fc.array(
      fc.tuple(directions, fc.integer({ min: 0, max: 1000 }), fc.integer({ min: 1, max: 9 })),
      {
        minLength: 2,
        maxLength: 6,
      },
    ),
  )
  .map(([middle, list]) => ({
    list: list.map(([axis, k]) => multiplyQuaternions(middle, turn(axis, k / 1000).q)),
    weights: list.map(([, , weight]) => weight),
  }));

describe('meanQuaternion', () => {
  test.each(Object.entries(SCALES))(
    'the mean of one rotation (%s) is that rotation',
    (_, scale) => {
      fc.assert(
        fc.property(turnsBy(scale), ({ q }) => {
          const mean = meanQuaternion(flat([q]));
          expect(apart(mean, q)).toBeLessThan(1e-14);
          expect(mean[3]).toBeGreaterThanOrEqual(0);
        }),
      );
    },
  );

  test('the mean of two rotations lies half way between them', () => {
    const angles = fc.constantFrom(0, 1e-12, 1e-8, 1e-4, 0.1, 1, 2);
    fc.assert(
      fc.property(rotations, turnsBy(angles), (a, { q }) => {
        const b = multiplyQuaternions(a, q);
        const mean = meanQuaternion(flat([a, b]));
        expect(apart(mean, slerp(a, b, 0.5))).toBeLessThan(MEAN * EPSILON);
      }),
    );
  });

  test('the signs and the order of the inputs do not matter', () => {
    fc.assert(
      fc.property(glances, fc.array(fc.boolean(), { minLength: 6, maxLength: 6 }), (g, flips) => {
        const mean = meanQuaternion(flat(g.list), Float64Array.from(g.weights));
        const flipped = g.list.map((q, i) => (flips[i] ? opposite(q) : q)).reverse();
        const again = meanQuaternion(flat(flipped), Float64Array.from(g.weights).reverse());
        expect(apart(again, mean)).toBeLessThan(2 * MEAN * EPSILON);
      }),
    );
  });

  test('a whole weight counts like that many equal rotations, and only ratios matter', () => {
    fc.assert(
      fc.property(glances, ({ list, weights }) => {
        const mean = meanQuaternion(flat(list), Float64Array.from(weights));
        const repeated = list.flatMap((q, i) => new Array<Quaternion>(weights[i]!).fill(q));
        expect(apart(meanQuaternion(flat(repeated)), mean)).toBeLessThan(2 * MEAN * EPSILON);
        const third = Float64Array.from(weights, (weight) => weight / 3);
        expect(apart(meanQuaternion(flat(list), third), mean)).toBeLessThan(2 * MEAN * EPSILON);
      }),
    );
  });

  test('a common rotation on either side turns the mean along', () => {
    fc.assert(
      fc.property(glances, rotations, ({ list }, common) => {
        const mean = meanQuaternion(flat(list));
        const tolerance = (2 * MEAN + 2 * PRODUCT) * EPSILON;
        const left = meanQuaternion(flat(list.map((q) => multiplyQuaternions(common, q))));
        expect(apart(left, multiplyQuaternions(common, mean))).toBeLessThan(tolerance);
        const right = meanQuaternion(flat(list.map((q) => multiplyQuaternions(q, common))));
        expect(apart(right, multiplyQuaternions(mean, common))).toBeLessThan(tolerance);
      }),
    );
  });

  test('no other rotation has a larger sum of squared cosines of the half angles', () => {
    fc.assert(
      fc.property(glances, rotations, ({ list, weights }, other) => {
        const score = (p: Quaternion) =>
          list.reduce((sum, q, k) => {
            const cosine = p[0] * q[0] + p[1] * q[1] + p[2] * q[2] + p[3] * q[3];
            return sum + weights[k]! * cosine * cosine;
          }, 0);
        const best = score(meanQuaternion(flat(list), Float64Array.from(weights)));
        // Sums of up to 6 × 9; at the maximum the error of the mean enters squared.
        expect(score(other)).toBeLessThan(best + 54 * 8 * EPSILON);
      }),
    );
  });

  test('a rotation without weight does not count', () => {
    fc.assert(
      fc.property(rotations, rotations, (a, ignored) => {
        const mean = meanQuaternion(flat([a, ignored]), Float64Array.of(2, 0));
        expect(apart(mean, a)).toBeLessThan(MEAN * EPSILON);
      }),
    );
  });

  test('the lists that were passed keep their numbers', () => {
    const list = Float64Array.of(0, 0, 0, 1, 0, -0.6, 0, -0.8);
    const weights = Float64Array.of(1, 2);
    meanQuaternion(list, weights);
    expect([...list, ...weights]).toEqual([0, 0, 0, 1, 0, -0.6, 0, -0.8, 1, 2]);
  });

  test.each<[string, number[], number[] | undefined, string]>([
    ['no rotation', [], undefined, '0 components'],
    ['seven components', [0, 0, 0, 1, 0, 0, 0], undefined, '7 components'],
    ['two weights for one rotation', [0, 0, 0, 1], [1, 1], '4 components and 2 weights'],
  ])('%s has no mean, and the error counts them', (_what, list, weights, found) => {
    const call = () =>
      meanQuaternion(Float64Array.from(list), weights && Float64Array.from(weights));
    expect(call).toThrow(refusal('argument/shape', found));
  });

  test.each<[string, number[], string]>([
    ['that are all zero', [0, 0], 'weights that add up to 0'],
    ['with a hole', [1, Number.NaN], 'weights that add up to NaN'],
  ])('weights %s are refused, and the error gives their sum', (_what, weights, found) => {
    const list = Float64Array.of(0, 0, 0, 1, 0, 1, 0, 0);
    const call = () => meanQuaternion(list, Float64Array.from(weights));
    expect(call).toThrow(refusal('argument/invalid', found));
  });

  test('a negative weight is refused even when the others outweigh it', () => {
    const list = Float64Array.of(0, 0, 0, 1, 0, 1, 0, 0);
    const call = () => meanQuaternion(list, Float64Array.of(2, -1));
    expect(call).toThrow(expect.objectContaining({ code: 'argument/invalid' }));
  });
});
