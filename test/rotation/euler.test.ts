import { describe, expect, test } from 'vitest';
import {
  type EulerAngles,
  type EulerFrame,
  type EulerSequence,
  eulerFromQuaternion,
  quaternionFromEuler,
} from '../../src/rotation/euler.js';
import type { Vector3 } from '../../src/rotation/quaternion.js';
import { rotateVector } from '../../src/rotation/quaternion.js';
import { apart, largestGap } from '../apart.js';
import { PRODUCT } from '../laws.js';
import { fc } from '../seed.js';
import { rodrigues, rotations, SEQUENCES, turn, vectors } from '../turns.js';

const EPSILON = Number.EPSILON;

const FRAMES: readonly EulerFrame[] = ['intrinsic', 'extrinsic'];
const ALL = SEQUENCES.flatMap((sequence) => FRAMES.map((frame) => [frame, sequence] as const));

const UNIT = { X: [1, 0, 0], Y: [0, 1, 0], Z: [0, 0, 1] } as const;
const axisOf = (letter: string | undefined): Vector3 => UNIT[letter as 'X' | 'Y' | 'Z'];

const returns = (sequence: EulerSequence) => sequence[0] === sequence[2];
/** The middle angles at which the first and the third axis coincide. */
const singular = (sequence: EulerSequence) =>
  returns(sequence) ? [0, Math.PI] : [-Math.PI / 2, Math.PI / 2];

/** Angles from −3 to 3 rad. */
const outer = fc.integer({ min: -3000, max: 3000 }).map((k) => k / 1000);
/** Middle angles at least a tenth of a radian from where the outer axes coincide. */
const middle = (sequence: EulerSequence) =>
  fc
    .integer({ min: -1470, max: 1470 })
    .map((k) => k / 1000 + (returns(sequence) ? Math.PI / 2 : 0));

describe('quaternionFromEuler', () => {
  test.each(ALL)('%s %s turns a vector one axis after the other', (frame, sequence) => {
    fc.assert(
      fc.property(outer, outer, outer, vectors, (a, b, c, v) => {
        const turns = [a, b, c].map((angle, i) => turn(axisOf(sequence[i]), angle));
        // About fixed axes the first turn comes first, about moving axes the last.
        const inOrder = frame === 'extrinsic' ? turns : turns.reverse();
        const expected = inOrder.reduce((turned: Vector3, t) => rodrigues(t, turned), v);
        const q = quaternionFromEuler(sequence, [a, b, c], frame);
        // Two products and three factors of 2 epsilons move a vector of length √3 by twice
        // as much; four rotated vectors round by 7 each.
        const tolerance = (2 * (2 * PRODUCT + 3 * 2) + 4 * 7) * EPSILON;
        expect(largestGap(rotateVector(q, v), expected)).toBeLessThan(tolerance);
      }),
    );
  });

  test.each(SEQUENCES)('intrinsic %s is the opposite order about the fixed axes', (sequence) => {
    const opposite = [...sequence].reverse().join('') as EulerSequence;
    fc.assert(
      fc.property(outer, outer, outer, (a, b, c) => {
        const moving = quaternionFromEuler(sequence, [a, b, c], 'intrinsic');
        expect(quaternionFromEuler(opposite, [c, b, a], 'extrinsic')).toEqual(moving);
      }),
    );
  });
});

describe('eulerFromQuaternion', () => {
  test.each(ALL)('%s %s gives back the angles that made the rotation', (frame, sequence) => {
    fc.assert(
      fc.property(outer, middle(sequence), outer, (a, b, c) => {
        const q = quaternionFromEuler(sequence, [a, b, c], frame);
        // Making and reading are off by 10 and 18 epsilons, on a lever of sin(0.1).
        const tolerance = ((10 + 18) * EPSILON) / Math.sin(0.1);
        expect(largestGap(eulerFromQuaternion(sequence, q, frame), [a, b, c])).toBeLessThan(
          tolerance,
        );
      }),
    );
  });

  test.each(ALL)('%s %s keeps its angles in their ranges', (frame, sequence) => {
    const [low, high] = returns(sequence) ? [0, Math.PI] : [-Math.PI / 2, Math.PI / 2];
    fc.assert(
      fc.property(rotations, (q) => {
        const [first, second, third] = eulerFromQuaternion(sequence, q, frame);
        for (const angle of [first, third]) {
          expect(angle).toBeGreaterThan(-Math.PI);
          expect(angle).toBeLessThanOrEqual(Math.PI);
        }
        expect(second).toBeGreaterThanOrEqual(low!);
        expect(second).toBeLessThanOrEqual(high!);
      }),
    );
  });

  test.each(ALL)(
    '%s %s: with coinciding axes one angle takes the whole turn',
    (frame, sequence) => {
      fc.assert(
        fc.property(outer, fc.constantFrom(...singular(sequence)), (a, b) => {
          const q = quaternionFromEuler(sequence, [a, b, 0], frame);
          const angles = eulerFromQuaternion(sequence, q, frame);
          expect(angles).toContain(0);
          expect(apart(quaternionFromEuler(sequence, angles, frame), q)).toBeLessThan(28 * EPSILON);
        }),
      );
    },
  );

  // Accuracy must not depend on how near the axes come: the sum of the outer angles is defined
  // even where each of them is not.
  test.each(ALL)('%s %s keeps the rotation however near the axes coincide', (frame, sequence) => {
    const distances = [1e-2, 1e-4, 1e-6, 9e-8, 1e-8, 1e-10, 1e-12, 1e-14, 0];
    for (const b of singular(sequence)) {
      for (const distance of distances) {
        const inside = b > 1 ? b - distance : b + distance;
        const made = quaternionFromEuler(sequence, [0.7, inside, 0.4], frame);
        const angles: EulerAngles = eulerFromQuaternion(sequence, made, frame);
        const again = quaternionFromEuler(sequence, angles, frame);
        expect.soft(apart(again, made), `${distance} rad from ${b}`).toBeLessThan(1e-14);
      }
    }
  });
});
