import type { Quaternion } from '../src/rotation/quaternion.js';

/**
 * The angle (rad) between two rotations by the chord of their quaternions, blind to sign. No
 * library code enters, and no digit is lost at 0 or 180°; valid while the angle is small.
 */
export function apart(p: Quaternion, q: Quaternion): number {
  const chord = (sign: number) =>
    Math.hypot(p[0] - sign * q[0], p[1] - sign * q[1], p[2] - sign * q[2], p[3] - sign * q[3]);
  return 2 * Math.min(chord(1), chord(-1));
}

/** The largest difference between two lists of equal length. */
export function largestGap(a: ArrayLike<number>, b: ArrayLike<number>): number {
  if (a.length !== b.length) return Number.POSITIVE_INFINITY;
  return Math.max(0, ...Array.from(a, (value, i) => Math.abs(value - b[i]!)));
}
