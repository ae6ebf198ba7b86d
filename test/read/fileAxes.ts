import type { Vector3 } from '../../src/rotation/quaternion.js';
import { fc } from '../seed.js';

/** Where the words of a mapping point in our axes: camera x right, y up, z back; world alike. */
export const DIRECTION = {
  right: [1, 0, 0],
  left: [-1, 0, 0],
  up: [0, 1, 0],
  down: [0, -1, 0],
  back: [0, 0, 1],
  forward: [0, 0, -1],
} as const satisfies Record<string, Vector3>;

export type Word = keyof typeof DIRECTION;

export const WORDS = Object.keys(DIRECTION) as Word[];

/** The directions of a file's x, y and z axis. */
export type AxisWords = readonly [Word, Word, Word];

/** The volume that three directions span: 1 right-handed, −1 left-handed, 0 not perpendicular. */
export function handedness(words: AxisWords): number {
  const [[a, b, c], [d, e, f], [g, h, i]] = words.map((word) => DIRECTION[word]) as [
    Vector3,
    Vector3,
    Vector3,
  ];
  return a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
}

/** All 216 ways to name three axes. */
export const TRIPLES: readonly AxisWords[] = WORDS.flatMap((x) =>
  WORDS.flatMap((y) => WORDS.map((z) => [x, y, z] as const)),
);

export const rightHanded = fc.constantFrom(...TRIPLES.filter((words) => handedness(words) === 1));
export const leftHanded = fc.constantFrom(...TRIPLES.filter((words) => handedness(words) === -1));

/** A vector given by its components along a file's axes, in ours. */
export function inOurs(words: AxisWords, [x, y, z]: Vector3): Vector3 {
  const [a, b, c] = words.map((word) => DIRECTION[word]) as [Vector3, Vector3, Vector3];
  return [
    x * a[0] + y * b[0] + z * c[0],
    x * a[1] + y * b[1] + z * c[1],
    x * a[2] + y * b[2] + z * c[2],
  ];
}

const WORLD_WORDS: Partial<Record<Word, string>> = {
  right: 'east',
  left: 'west',
  back: 'south',
  forward: 'north',
};

/** `x right, y down, z forward`, or with the points of the compass `x east, y down, z north`. */
export function sentence(words: AxisWords, compass = false): string {
  return words.map((word, k) => `${'xyz'[k]} ${(compass && WORLD_WORDS[word]) || word}`).join(', ');
}
