// Dobrowolski, "Swing-twist decomposition in Clifford algebra", 2015, arXiv:1506.05481 (number from memory).
// The decomposition is the paper's; the angles are 2 arctan2(component, w) of scipy 1.10
// Rotation.from_euler('ZYX', [30, 20, 10], degrees=True).as_quat(), computed with numpy, independent
// of this project.
import { expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { quaternionFromEuler } from '../../src/rotation/euler.js';
import type { Vector3 } from '../../src/rotation/quaternion.js';
import { swingTwist } from '../../src/rotation/swingTwist.js';

test.each<[string, Vector3, number]>([
  ['x', [1, 0, 0], 4.589953315568],
  ['y', [0, 1, 0], 22.503832950727],
  ['z', [0, 0, 1], 28.232380704179],
])('turns by 30°, 20° and 10° about z, y and x twist about %s by', (_name, axis, degrees) => {
  const turns = [30, 20, 10].map((angle) => angle * RADIANS_PER_DEGREE);
  const q = quaternionFromEuler('ZYX', [turns[0]!, turns[1]!, turns[2]!], 'intrinsic');
  const twist = swingTwist(q, axis).twistAngle / RADIANS_PER_DEGREE;
  // Half a unit of the twelfth decimal, the last one printed.
  expect(Math.abs(twist - degrees)).toBeLessThan(0.5e-12);
});
