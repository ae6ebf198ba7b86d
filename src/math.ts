/**
 * The vocabulary of angles that every folder shares. Nothing else belongs here.
 */

export const RADIANS_PER_DEGREE = Math.PI / 180;
export const DEGREES_PER_RADIAN = 180 / Math.PI;

/** The value itself, or the nearer end of `[low, high]` when it lies outside. */
export function clamp(value: number, low: number, high: number): number {
  return Math.min(Math.max(value, low), high);
}

/** The same angle in (−π, π], radians. */
export function wrapAngle(angle: number): number {
  const turns = Math.round(angle / (2 * Math.PI));
  const wrapped = angle - turns * 2 * Math.PI;
  return wrapped <= -Math.PI ? wrapped + 2 * Math.PI : wrapped;
}
