import { quat, vec3 } from 'gl-matrix';
import { describe, expect, test } from 'vitest';
import {
  alignSigns,
  anglesOfQuaternions,
  angularDistances,
  composeQuaternions,
  headingTiltRollFromQuaternions,
  invertQuaternions,
  normalizeQuaternions,
  quaternionAt,
  quaternionsFromHeadingTiltRoll,
  quaternionsFromRotationVectors,
  rotateVectors,
  rotationVectorsFromQuaternions,
  vectorAt,
} from '../../src/rotation/arrays.js';
import {
  headingTiltRollFromQuaternion,
  quaternionFromHeadingTiltRoll,
} from '../../src/rotation/headingTiltRoll.js';
import {
  angularDistance,
  IDENTITY,
  invertQuaternion,
  multiplyQuaternions,
  normalizeQuaternion,
  type Quaternion,
  rotateVector,
  type Vector3,
} from '../../src/rotation/quaternion.js';
import {
  quaternionFromRotationVector,
  rotationVectorFromQuaternion,
} from '../../src/rotation/rotationVector.js';
import { largestGap } from '../apart.js';
import { refusal } from '../refusal.js';
import { fc } from '../seed.js';
import { rotations, turn, vectors } from '../turns.js';

const EPSILON = Number.EPSILON;

const flat = (list: readonly (readonly number[])[]) => Float64Array.from(list.flat());
const dot = (a: Quaternion, b: Quaternion) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3];

/** One to seven pairs of rotations with a vector. */
const rows = fc.array(fc.tuple(rotations, rotations, vectors), { minLength: 1, maxLength: 7 });

describe('quaternionAt and vectorAt', () => {
  test('they read the k-th four and the k-th three numbers', () => {
    const list = Float64Array.from({ length: 12 }, (_, i) => i);
    expect(quaternionAt(list, 2)).toEqual([8, 9, 10, 11]);
    expect(vectorAt(list, 2)).toEqual([6, 7, 8]);
  });
});

describe('over lists, the same numbers as one by one', () => {
  /** Runs both ways and compares; the same sums in another order differ by 2 epsilons. */
  function agree(
    overLists: (a: Float64Array, b: Float64Array, v: Float64Array) => Float64Array,
    oneByOne: (a: Quaternion, b: Quaternion, v: Vector3) => readonly number[],
    epsilons: number,
  ): void {
    fc.assert(
      fc.property(rows, (list) => {
        const inputs = [0, 1, 2].map((k) => flat(list.map((row) => row[k]!)));
        const copies = inputs.map((input) => input.slice());
        const [a, b, v] = inputs;
        const expected = list.flatMap((row) => oneByOne(...row));
        expect(largestGap(overLists(a!, b!, v!), expected)).toBeLessThanOrEqual(epsilons * EPSILON);
        expect(inputs, 'inputs after the call').toEqual(copies);
      }),
    );
  }

  test('products', () => agree((a, b) => composeQuaternions(a, b), multiplyQuaternions, 4));

  test("products, against gl-matrix's", () =>
    agree(
      (a, b) => composeQuaternions(a, b),
      (a, b) => [...quat.multiply([0, 0, 0, 0], [...a], [...b])],
      4,
    ));

  test('a single left factor', () =>
    agree(
      (a) => composeQuaternions([0.6, 0, -0.8, 0], a),
      (a) => multiplyQuaternions([0.6, 0, -0.8, 0], a),
      4,
    ));

  test('a single right factor', () =>
    agree(
      (a) => composeQuaternions(a, [0.6, 0, -0.8, 0]),
      (a) => multiplyQuaternions(a, [0.6, 0, -0.8, 0]),
      4,
    ));

  test('inverses', () => agree(invertQuaternions, invertQuaternion, 0));

  test('unit lengths', () =>
    agree(
      (a) => normalizeQuaternions(a.map((component) => 3 * component)),
      (a) => normalizeQuaternion(a.map((component) => 3 * component) as unknown as Quaternion),
      2,
    ));

  test('turned vectors', () =>
    agree(
      (a, _, v) => rotateVectors(a, v),
      (a, _, v) => rotateVector(a, v),
      7,
    ));

  test("turned vectors, against gl-matrix's", () =>
    agree(
      (a, _, v) => rotateVectors(a, v),
      (a, _, v) => [...vec3.transformQuat([0, 0, 0], [...v], [...a])],
      7,
    ));

  test('vectors turned by one rotation', () =>
    agree(
      (_a, _b, v) => rotateVectors([0.48, 0.6, 0, 0.64], v),
      (_a, _b, v) => rotateVector([0.48, 0.6, 0, 0.64], v),
      7,
    ));

  test('rotation vectors of rotations', () =>
    agree(rotationVectorsFromQuaternions, rotationVectorFromQuaternion, 0));

  test('rotations of rotation vectors', () =>
    agree(
      (_a, _b, v) => quaternionsFromRotationVectors(v),
      (_a, _b, v) => quaternionFromRotationVector(v),
      0,
    ));

  test('heading, tilt and roll', () =>
    agree(
      (a) => {
        const { heading, tilt, roll } = headingTiltRollFromQuaternions(a);
        return Float64Array.from([...heading].flatMap((angle, k) => [angle, tilt[k]!, roll[k]!]));
      },
      (a) => {
        const { heading, tilt, roll } = headingTiltRollFromQuaternion(a);
        return [heading, tilt, roll];
      },
      0,
    ));

  test('rotations of heading, tilt and roll', () =>
    agree(
      (_a, _b, v) => {
        const angle = (part: number) => v.filter((_, i) => i % 3 === part);
        return quaternionsFromHeadingTiltRoll({
          heading: angle(0),
          tilt: angle(1),
          roll: angle(2),
        });
      },
      (_a, _b, [heading, tilt, roll]) => quaternionFromHeadingTiltRoll(heading, tilt, roll),
      0,
    ));

  test('angles', () => agree(anglesOfQuaternions, (a) => [angularDistance(IDENTITY, a)], 8));

  test('distances', () => agree(angularDistances, (a, b) => [angularDistance(a, b)], 8));
});

describe('composeQuaternions', () => {
  test.each<[string, number[], number[], string]>([
    [
      'two and three rotations',
      new Array(8).fill(0.5),
      new Array(12).fill(0.5),
      '8 numbers as left factors',
    ],
    [
      'three and two rotations',
      new Array(12).fill(0.5),
      new Array(8).fill(0.5),
      '8 numbers as right factors',
    ],
    ['half a rotation', [0, 1], [0, 0, 0, 1], '2 numbers as left factors'],
    ['a rotation and a half', [0, 0, 0, 1], [0, 0, 0, 1, 0, 1], '6 numbers as right factors'],
  ])('%s have no product, and the error counts the numbers', (_what, a, b, found) => {
    const call = () => composeQuaternions(Float64Array.from(a), Float64Array.from(b));
    expect(call).toThrow(refusal('argument/shape', found));
  });
});

describe('a list that is handed in', () => {
  test('receives the same products, and may be one of the factors', () => {
    fc.assert(
      fc.property(rows, (all) => {
        const [a, b] = [flat(all.map(([a]) => a)), flat(all.map(([, b]) => b))];
        const products = composeQuaternions(a, b);
        const room = new Float64Array(a.length);
        expect(composeQuaternions(a, b, room)).toBe(room);
        expect(room).toEqual(products);
        expect(composeQuaternions(a.slice(), b, a)).toEqual(products);
      }),
    );
  });

  test('receives the same turned vectors, and may be the vectors', () => {
    fc.assert(
      fc.property(rows, (all) => {
        const [a, v] = [flat(all.map(([a]) => a)), flat(all.map(([, , v]) => v))];
        const expected = rotateVectors(a, v);
        expect(rotateVectors(a, v, v)).toBe(v);
        expect(v).toEqual(expected);
      }),
    );
  });

  test('is refused where its length does not fit', () => {
    const [two, three] = [new Float64Array(8), new Float64Array(12)];
    expect(() => composeQuaternions(two, two, three)).toThrow(
      refusal('argument/shape', '8 numbers as left factors'),
    );
    expect(() => rotateVectors(IDENTITY, new Float64Array(6), two)).toThrow(
      refusal('argument/shape', 'room for 8 numbers'),
    );
  });
});

describe('rotateVectors', () => {
  test('two rotations cannot turn three vectors, and the error counts the numbers', () => {
    const call = () => rotateVectors(new Float64Array(8), new Float64Array(9));
    expect(call).toThrow(refusal('argument/shape', '8 numbers as rotations'));
  });
});

describe('headingTiltRollFromQuaternions', () => {
  test('half a rotation is refused, and the error counts the numbers', () => {
    const call = () => headingTiltRollFromQuaternions(new Float64Array(6));
    expect(call).toThrow(refusal('argument/shape', '6 numbers as rotations'));
  });
});

describe('quaternionsFromHeadingTiltRoll', () => {
  test('lists of unequal length are refused', () => {
    const [two, three] = [new Float64Array(2), new Float64Array(3)];
    expect(() => quaternionsFromHeadingTiltRoll({ heading: two, tilt: two, roll: three })).toThrow(
      refusal('argument/shape', '2 headings, 2 tilts and 3 rolls'),
    );
    expect(() => quaternionsFromHeadingTiltRoll({ heading: two, tilt: three, roll: two })).toThrow(
      refusal('argument/shape', '2 headings, 3 tilts and 2 rolls'),
    );
  });
});

describe('angularDistances', () => {
  test('lists of unequal length are refused', () => {
    const call = () => angularDistances(new Float64Array(8), new Float64Array(12));
    expect(call).toThrow(refusal('argument/shape', '8 numbers as left factors'));
  });
});

describe('normalizeQuaternions', () => {
  test.each<[string, Quaternion]>([
    ['is all zero', [0, 0, 0, 0]],
    ['has a hole', [0, Number.NaN, 0, 1]],
    ['is infinite', [0, 0, Number.POSITIVE_INFINITY, 1]],
  ])('the error names the frame whose quaternion %s', (_what, bad) => {
    const call = () => normalizeQuaternions(flat([IDENTITY, IDENTITY, bad, IDENTITY]));
    expect(call).toThrow(refusal('rotation/no-direction', `the quaternion (${bad.join(', ')})`));
    expect(call).toThrow(/^frame 2: /);
  });
});

describe('alignSigns', () => {
  const signs = fc.array(fc.constantFrom(1, -1), { minLength: 60, maxLength: 60 });

  test('scrambled signs of a walker who turns around eight times become one smooth track', () => {
    const track = Array.from({ length: 60 }, (_, k) => {
      const angle = 0.85 * k;
      return [0, Math.sin(angle / 2), 0, Math.cos(angle / 2)];
    });
    fc.assert(
      fc.property(signs, (scramble) => {
        const scrambled = flat(track.map((q, k) => q.map((component) => scramble[k]! * component)));
        expect(largestGap(alignSigns(scrambled), flat(track))).toBe(0);
      }),
    );
  });

  test('neighbours lie within 90° of each other, the first has w ≥ 0, and no zero is negative', () => {
    fc.assert(
      fc.property(fc.array(rotations, { minLength: 1, maxLength: 20 }), (list) => {
        const given = flat(list);
        const aligned = alignSigns(given);
        expect(given).toEqual(flat(list));
        expect(aligned[3]).toBeGreaterThanOrEqual(0);
        expect(aligned.some((component) => Object.is(component, -0))).toBe(false);
        for (let k = 0; k < list.length; k++) {
          const q = quaternionAt(aligned, k);
          if (k > 0) expect(dot(q, quaternionAt(aligned, k - 1))).toBeGreaterThanOrEqual(0);
          // The same rotation: equal or exactly opposite.
          const [x, y, z, w] = list[k]!;
          const same = Math.min(largestGap(q, [x, y, z, w]), largestGap(q, [-x, -y, -z, -w]));
          expect(same).toBe(0);
        }
        expect(alignSigns(aligned)).toEqual(aligned);
      }),
    );
  });

  test('half a turn past the flowering cactus keeps its continuous sign', () => {
    const past = [3.0, 3.1, Math.PI, 3.2, 3.3].map((angle) => turn([0, 1, 0], angle).q);
    const folded = past.map((q) => (q[3] < 0 ? q.map((component) => -component) : q));
    expect(largestGap(alignSigns(flat(folded)), flat(past))).toBe(0);
  });
});

describe('empty lists', () => {
  test('nothing in, nothing out', () => {
    const none = new Float64Array(0);
    for (const operation of [
      invertQuaternions,
      normalizeQuaternions,
      alignSigns,
      rotationVectorsFromQuaternions,
      quaternionsFromRotationVectors,
      anglesOfQuaternions,
    ]) {
      expect(operation(none)).toHaveLength(0);
    }
    expect(composeQuaternions(none, none)).toHaveLength(0);
    expect(headingTiltRollFromQuaternions(none).heading).toHaveLength(0);
    expect(quaternionsFromHeadingTiltRoll({ heading: none, tilt: none, roll: none })).toHaveLength(
      0,
    );
    expect(rotateVectors(none, none)).toHaveLength(0);
    expect(angularDistances(none, none)).toHaveLength(0);
  });
});
