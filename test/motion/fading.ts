/** The working rate at which fades are tested, Hz. */
export const SAMPLE_RATE = 15;

/**
 * Width of the Hann window that stands for so many seconds: an odd number of samples between its two
 * zero ends; seconds.
 */
export function windowOf(seconds: number): number {
  return ((Math.floor(seconds * SAMPLE_RATE) | 1) + 1) / SAMPLE_RATE;
}

/**
 * A step from 1 to 0 under a Hann window, `time` seconds after the step: what of the window is still to
 * come.
 */
export function fading(time: number, seconds: number): number {
  const share = Math.min(Math.max(time / windowOf(seconds), -0.5), 0.5);
  return 0.5 - share - Math.sin(2 * Math.PI * share) / (2 * Math.PI);
}

/**
 * How far a fading sum of n samples may lie from the integral: the midpoint rule's step² /24 of the
 * change of slope, (2π)²/n³ between the zero ends.
 */
export function midpointError(seconds: number): number {
  return (2 * Math.PI) ** 2 / (windowOf(seconds) * SAMPLE_RATE) ** 3;
}

/** The last sample at which something holds; −1 where it nowhere does. */
export function lastWhere(values: Float64Array, holds: (value: number) => boolean): number {
  for (let k = values.length - 1; k >= 0; k--) if (holds(values[k]!)) return k;
  return -1;
}
