import type { Vector3 } from '../rotation/quaternion.js';

/** The camera axis that a direction comes closest to. */
export function axisInWords([x, y, z]: Vector3): string {
  const names = [
    ["the camera's x axis (nodding)", Math.abs(x)],
    ["the camera's y axis (panning)", Math.abs(y)],
    ["the camera's z axis (rolling)", Math.abs(z)],
  ] as const;
  return names.reduce((a, b) => (b[1] > a[1] ? b : a))[0];
}
