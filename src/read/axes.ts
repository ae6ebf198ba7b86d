import { TwinkeelError } from '../error.js';
import type { Matrix3 } from '../rotation/matrix.js';
import type { Vector3 } from '../rotation/quaternion.js';

/**
 * Which way the axes of a file point, as the matrix that takes components along the file's axes
 * to components along ours (camera: x right, y up, z back; world: x east, y up, z south).
 */
export interface Axes {
  /** Rotation matrix, row by row; with a mirror where `mirrored`. */
  readonly matrix: Matrix3;
  /** Whether the file's axes are left-handed. */
  readonly mirrored: boolean;
}

/** Our own directions of the words a person uses. */
const DIRECTIONS: Readonly<Record<string, Vector3>> = {
  right: [1, 0, 0],
  left: [-1, 0, 0],
  up: [0, 1, 0],
  down: [0, -1, 0],
  back: [0, 0, 1],
  forward: [0, 0, -1],
  east: [1, 0, 0],
  west: [-1, 0, 0],
  south: [0, 0, 1],
  north: [0, 0, -1],
};

/** The direction that a word means in our axes, or undefined for any other word. */
export function directionFromWord(word: string): Vector3 | undefined {
  return Object.hasOwn(DIRECTIONS, word) ? DIRECTIONS[word] : undefined;
}

/**
 * Axes from words: `x right, y down, z forward`. World axes also take `east`, `north` and so on,
 * where north is the direction of heading 0.
 *
 * @param words - three pairs of an axis letter and a direction, separated by commas
 * @param whose - `camera`, `sensor` or `world`, for messages
 * @throws TwinkeelError `mapping/axes` when a word is unknown or the directions are not
 *   mutually perpendicular
 */
export function axesFromWords(words: string, whose: string): Axes {
  const columns: Partial<Record<string, Vector3>> = {};
  for (const part of words.split(',')) {
    const match = /^\s*([xyz])\s+([a-z]+)\s*$/.exec(part);
    const direction = match ? directionFromWord(match[2]!) : undefined;
    const compass = /^(east|west|north|south)$/.test(match?.[2] ?? '');
    if (!match || !direction || columns[match[1]!] || (compass && whose !== 'world')) {
      throw badAxes(words, whose);
    }
    columns[match[1]!] = direction;
  }
  const { x, y, z } = columns;
  if (!x || !y || !z) throw badAxes(words, whose);
  const cross: Vector3 = [
    x[1] * y[2] - x[2] * y[1],
    x[2] * y[0] - x[0] * y[2],
    x[0] * y[1] - x[1] * y[0],
  ];
  const handedness = cross[0] * z[0] + cross[1] * z[1] + cross[2] * z[2];
  if (Math.abs(handedness) !== 1) throw badAxes(words, whose);
  return {
    matrix: [x[0], y[0], z[0], x[1], y[1], z[1], x[2], y[2], z[2]],
    mirrored: handedness < 0,
  };
}

/** The error for axes of the wrong hand, which would turn every rotation the wrong way. */
export function leftHandedAxes(words: string): TwinkeelError {
  return new TwinkeelError('mapping/axes', {
    found: `left-handed axes (${words})`,
    expected: 'right-handed axes, like x right, y up, z back',
    remedy: 'correct a direction, or add the line "mirrored yes" if the file really is left-handed',
  });
}

function badAxes(words: string, whose: string): TwinkeelError {
  return new TwinkeelError('mapping/axes', {
    found: `"axes ${whose}: ${words.trim()}"`,
    expected: `x, y and z, each with one of three perpendicular directions (${Object.keys(DIRECTIONS).join(' ')})`,
    remedy: `write for example "axes ${whose}: x right, y down, z forward"`,
  });
}
