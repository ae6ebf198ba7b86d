import { describe, expect, test } from 'vitest';
import { IDENTITY, type Quaternion, type Vector3 } from '../src/rotation/quaternion.js';
import { apart, largestGap } from './apart.js';
import { fc } from './seed.js';
import { directions, rodrigues, SCALES, turn, turnsBy, vectors } from './turns.js';

/** One way of writing rotations, and what the library does with it. */
export interface Representation<R> {
  readonly name: string;
  readonly fromQuaternion: (q: Quaternion) => R;
  readonly toQuaternion: (r: R) => Quaternion;
  readonly compose: (a: R, b: R) => R;
  readonly invert: (r: R) => R;
  readonly rotate: (r: R, v: Vector3) => Vector3;
  readonly distance: (a: R, b: R) => number;
  /** Worst rounding of one conversion from or to a quaternion, rad in machine epsilons. */
  readonly conversion: number;
  /** Worst rounding of one composition, rad in machine epsilons. */
  readonly composition: number;
}

/**
 * Worst rounding of one quaternion product, rad in machine epsilons: each component is a sum of
 * four products, off by at most 4 × ½ epsilon; four components make a chord of 4 epsilons, and
 * the angle is twice the chord.
 */
export const PRODUCT = 8;

/** The drawn quaternion: sine, cosine and axis are off by ½ to 1 epsilon each, the angle by twice that. */
const DRAWN = 6;

/**
 * Turning a vector of length at most √3: products and sums of three terms, nested twice,
 * 4 epsilons of the length for the library and as much for Rodrigues' formula.
 */
const ACTION = 14;

/** The laws of the rotation group, each at five scales from the identity to exactly 180°. */
export function rotationLaws<R>(representation: Representation<R>): void {
  const { name, fromQuaternion, toQuaternion, compose, invert, rotate, distance } = representation;
  const { conversion, composition } = representation;

  function expectSameRotation(a: R, b: R, epsilons: number): void {
    // Both are read once more to be compared.
    const tolerance = (epsilons + 2 * conversion) * Number.EPSILON;
    expect(apart(toQuaternion(a), toQuaternion(b))).toBeLessThanOrEqual(tolerance);
  }

  /** An orientation that is off by e moves a vector of length √3 by less than 2e. */
  function expectSameVector(a: Vector3, b: Vector3, epsilons: number): void {
    const tolerance = (2 * epsilons + 2 * ACTION) * Number.EPSILON;
    expect(largestGap(a, b)).toBeLessThanOrEqual(tolerance);
  }

  describe.each(Object.entries(SCALES))(`${name}, %s`, (_scale, angles) => {
    const turns = turnsBy(angles);
    const elements = turns.map(({ q }) => fromQuaternion(q));
    const identity = fromQuaternion(IDENTITY);

    test('a quaternion written in this form and read back is the same rotation', () => {
      fc.assert(
        fc.property(turns, ({ q }) => {
          const back = toQuaternion(fromQuaternion(q));
          expect(apart(back, q)).toBeLessThanOrEqual(2 * conversion * Number.EPSILON);
        }),
      );
    });

    test('both signs of a quaternion are the same rotation', () => {
      fc.assert(
        fc.property(directions, angles, vectors, (axis, angle, v) => {
          const plus = rotate(fromQuaternion(turn(axis, angle, 1).q), v);
          const minus = rotate(fromQuaternion(turn(axis, angle, -1).q), v);
          expectSameVector(plus, minus, 4 * conversion);
        }),
      );
    });

    test('it does not matter which two of three rotations are composed first', () => {
      fc.assert(
        fc.property(elements, elements, elements, (a, b, c) => {
          const left = compose(compose(a, b), c);
          const right = compose(a, compose(b, c));
          expectSameRotation(left, right, 4 * composition);
        }),
      );
    });

    test('the identity changes nothing from either side', () => {
      fc.assert(
        fc.property(elements, (a) => {
          expectSameRotation(compose(a, identity), a, composition);
          expectSameRotation(compose(identity, a), a, composition);
        }),
      );
    });

    test('a rotation and its inverse cancel in either order', () => {
      fc.assert(
        fc.property(elements, (a) => {
          // The inverse may be read and written once on its way.
          const epsilons = composition + 2 * conversion;
          expectSameRotation(compose(invert(a), a), identity, epsilons);
          expectSameRotation(compose(a, invert(a)), identity, epsilons);
        }),
      );
    });

    test('it turns vectors as the matrix of its axis and angle does', () => {
      fc.assert(
        fc.property(turns, vectors, (drawn, v) => {
          const turned = rotate(fromQuaternion(drawn.q), v);
          expectSameVector(turned, rodrigues(drawn, v), DRAWN + 2 * conversion);
        }),
      );
    });

    test('a composition turns vectors by its right factor first, then by its left', () => {
      fc.assert(
        fc.property(elements, elements, vectors, (a, b, v) => {
          const oneByOne = rotate(a, rotate(b, v));
          expectSameVector(rotate(compose(a, b), v), oneByOne, composition + 3 * conversion);
        }),
      );
    });

    test('the distance after a turn is the angle of the turn, measured from either end', () => {
      fc.assert(
        fc.property(turnsBy(SCALES.random), turns, ({ q }, { q: step, angle }) => {
          const start = fromQuaternion(q);
          const end = compose(start, fromQuaternion(step));
          const tolerance = (DRAWN + composition + 4 * conversion + PRODUCT) * Number.EPSILON;
          expect(Math.abs(distance(start, end) - angle)).toBeLessThanOrEqual(tolerance);
          expect(Math.abs(distance(end, start) - angle)).toBeLessThanOrEqual(tolerance);
        }),
      );
    });
  });
}
