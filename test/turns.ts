import type { EulerSequence } from '../src/rotation/euler.js';
import type { Quaternion, Vector3 } from '../src/rotation/quaternion.js';
import { fc } from './seed.js';

/**
 * The rotations that every property draws from. All are built here from axis and angle, without
 * library code, and frozen: a function that writes to its argument throws.
 */
export interface Turn {
  readonly axis: Vector3;
  readonly angle: number;
  readonly q: Quaternion;
}

export const SCALES = {
  identity: fc.constant(0),
  '1e-8 rad': fc.constant(1e-8),
  random: fc.integer({ min: 1, max: 3000 }).map((k) => k / 1000),
  'near 180°': fc.constant(Math.PI - 1e-8),
  'exactly 180°': fc.constant(Math.PI),
} as const;

/** Angles that close in on 0 and on 180°, where formulas lose their digits. */
export const DECADES: readonly number[] = [
  ...[300, 160, 154, 100, 20, 16, 12, 9, 8, 7, 6, 5, 4, 3, 2, 1, 0].map((k) => 0.9 * 10 ** -k),
  ...[1, 2, 3, 4, 6, 7, 8, 9, 12, 15].map((k) => Math.PI - 10 ** -k),
  Math.PI,
];

export const SEQUENCES: readonly EulerSequence[] = [
  ...(['XYZ', 'XZY', 'YXZ', 'YZX', 'ZXY', 'ZYX'] as const),
  ...(['XYX', 'XZX', 'YXY', 'YZY', 'ZXZ', 'ZYZ'] as const),
];

/** Numbers from −1 to 1 on a grid of 2⁻³⁰, so that a failing case shrinks in few steps. */
const component = fc.integer({ min: -(2 ** 30), max: 2 ** 30 }).map((k) => k / 2 ** 30);

/** Vectors inside the cube from −1 to 1. */
export const vectors: fc.Arbitrary<Vector3> = fc
  .tuple(component, component, component)
  .map((v) => Object.freeze(v));

/** Unit vectors. */
export const directions: fc.Arbitrary<Vector3> = vectors
  .filter((v) => Math.hypot(...v) > 0.1)
  .map(([x, y, z]) => {
    const length = Math.hypot(x, y, z);
    return Object.freeze([x / length, y / length, z / length] as const);
  });

/** The turn by an angle about a unit axis; at 180° the real part is exactly zero. */
export function turn(axis: Vector3, angle: number, sign = 1): Turn {
  const s = sign * Math.sin(angle / 2);
  const c = angle === Math.PI ? 0 : sign * Math.cos(angle / 2);
  return { axis, angle, q: Object.freeze([axis[0] * s, axis[1] * s, axis[2] * s, c] as const) };
}

/** Turns by the drawn angles about any axis, in both signs of the quaternion. */
export function turnsBy(angles: fc.Arbitrary<number>): fc.Arbitrary<Turn> {
  return fc
    .tuple(directions, angles, fc.constantFrom(1, -1))
    .map(([axis, angle, sign]) => turn(axis, angle, sign));
}

/** Turns of all five scales. */
export const turns: fc.Arbitrary<Turn> = turnsBy(fc.oneof(...Object.values(SCALES)));

/** Unit quaternions of all five scales. */
export const rotations: fc.Arbitrary<Quaternion> = turns.map(({ q }) => q);

/** A vector turned about a unit axis, by Rodrigues' formula. */
export function rodrigues({ axis: [x, y, z], angle }: Turn, [a, b, c]: Vector3): Vector3 {
  const sin = angle === Math.PI ? 0 : Math.sin(angle);
  const cos = Math.cos(angle);
  const along = (x * a + y * b + z * c) * 2 * Math.sin(angle / 2) ** 2;
  return [
    a * cos + (y * c - z * b) * sin + x * along,
    b * cos + (z * a - x * c) * sin + y * along,
    c * cos + (x * b - y * a) * sin + z * along,
  ];
}
