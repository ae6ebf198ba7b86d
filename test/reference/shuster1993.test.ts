// Shuster, "A Survey of Attitude Representations", J. Astronaut. Sci. 41(4), 1993, pp. 439–517.
// The twelve sequences are the paper's; the numbers were computed with scipy 1.10
// Rotation.from_euler(SEQUENCE, [10, 20, 30], degrees=True), independent of this project. They are
// active rotations; the paper's passive matrices are the transposes.
import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import {
  type EulerAngles,
  type EulerSequence,
  eulerFromQuaternion,
  quaternionFromEuler,
} from '../../src/rotation/euler.js';
import { matrixFromQuaternion } from '../../src/rotation/matrix.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';
import { rotationVectorFromQuaternion } from '../../src/rotation/rotationVector.js';
import { largestGap } from '../apart.js';

/** Half a unit of the twelfth decimal, the last one printed. */
const HALF_UNIT = 0.5e-12;

const radians = (degrees: EulerAngles): EulerAngles => [
  degrees[0] * RADIANS_PER_DEGREE,
  degrees[1] * RADIANS_PER_DEGREE,
  degrees[2] * RADIANS_PER_DEGREE,
];

/** Quaternions x, y, z, w of intrinsic turns by 10°, 20° and 30°. */
const BY_10_20_30: [EulerSequence, Quaternion][] = [
  ['XYX', [0.336824088833, 0.171010071663, -0.030153689607, 0.925416578398]],
  ['XYZ', [0.127679440696, 0.144878125417, 0.268535822752, 0.943714364147]],
  ['XZX', [0.336824088833, 0.030153689607, 0.171010071663, 0.925416578398]],
  ['XZY', [0.038134576475, 0.239298337745, 0.189307857412, 0.951548524644]],
  ['YXY', [0.171010071663, 0.336824088833, 0.030153689607, 0.925416578398]],
  ['YXZ', [0.189307857412, 0.038134576475, 0.239298337745, 0.951548524644]],
  ['YZX', [0.268535822752, 0.127679440696, 0.144878125417, 0.943714364147]],
  ['YZY', [-0.030153689607, 0.336824088833, 0.171010071663, 0.925416578398]],
  ['ZXY', [0.144878125417, 0.268535822752, 0.127679440696, 0.943714364147]],
  ['ZXZ', [0.171010071663, -0.030153689607, 0.336824088833, 0.925416578398]],
  ['ZYX', [0.239298337745, 0.189307857412, 0.038134576475, 0.951548524644]],
  ['ZYZ', [0.030153689607, 0.171010071663, 0.336824088833, 0.925416578398]],
];

describe.each(BY_10_20_30)('turns by 10°, 20° and 30° in the sequence %s', (sequence, expected) => {
  const angles = radians([10, 20, 30]);

  test('make the quaternion of the table', () => {
    const q = quaternionFromEuler(sequence, angles, 'intrinsic');
    expect(largestGap(q, expected)).toBeLessThan(HALF_UNIT);
  });

  test('about fixed axes in the opposite order make the same', () => {
    const opposite = [...sequence].reverse().join('') as EulerSequence;
    const q = quaternionFromEuler(opposite, [angles[2], angles[1], angles[0]], 'extrinsic');
    expect(largestGap(q, expected)).toBeLessThan(HALF_UNIT);
  });

  test('are read back from the quaternion of the table', () => {
    // Four components off by half a unit are an angle of two units; the singular middle angle
    // of the six returning sequences is 20° away, which divides by sin 20°.
    const tolerance = (4 * HALF_UNIT) / Math.sin(20 * RADIANS_PER_DEGREE);
    const read = eulerFromQuaternion(sequence, expected, 'intrinsic');
    expect(largestGap(read, angles)).toBeLessThan(tolerance);
  });
});

describe('turns by 30°, 20° and 10° about z, y and x', () => {
  const q = quaternionFromEuler('ZYX', radians([30, 20, 10]), 'intrinsic');

  test('make this matrix', () => {
    const expected = [
      ...[0.813797681349, -0.44096961053, 0.37852230637],
      ...[0.469846310393, 0.882564119259, 0.018028311236],
      ...[-0.342020143326, 0.163175911167, 0.925416578398],
    ];
    expect(largestGap(matrixFromQuaternion(q), expected)).toBeLessThan(HALF_UNIT);
  });

  test('make this rotation vector, in degrees', () => {
    const degrees = rotationVectorFromQuaternion(q).map((v) => v / RADIANS_PER_DEGREE);
    const expected = [4.441873447461, 22.050370633816, 27.873206698672];
    expect(largestGap(degrees, expected)).toBeLessThan(HALF_UNIT);
  });
});

describe('a middle turn of 90° makes the first and the third axis one', () => {
  const q = quaternionFromEuler('ZYX', radians([30, 90, 10]), 'intrinsic');

  test('the matrix is still that of the three turns', () => {
    const expected = [
      ...[0, -0.342020143326, 0.939692620786],
      ...[0, 0.939692620786, 0.342020143326],
      ...[-1, 0, 0],
    ];
    expect(largestGap(matrixFromQuaternion(q), expected)).toBeLessThan(HALF_UNIT);
  });

  test('only the difference of the outer angles, 20°, is defined and comes back', () => {
    const [first, second, third] = eulerFromQuaternion('ZYX', q, 'intrinsic');
    expect(Math.abs(first - third - 20 * RADIANS_PER_DEGREE)).toBeLessThan(HALF_UNIT);
    expect(Math.abs(second - 90 * RADIANS_PER_DEGREE)).toBeLessThan(HALF_UNIT);
  });
});
