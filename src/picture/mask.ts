import { clamp } from '../math.js';
import type { CircularMask } from '../rig/coverage.js';

/**
 * How much of the picture a mask leaves in a direction of the view: 1 inside its clear part, 0
 * outside it, smooth (3u² − 2u³) between.
 *
 * @param mask - none leaves everything
 * @param view - unit vector
 */
export function maskShare(mask: CircularMask | undefined, view: ArrayLike<number>): number {
  if (!mask) return 1;
  const { opaqueFrom, clearUpTo } = mask;
  const angle = angleFromMiddle(mask, view);
  const feather = opaqueFrom - clearUpTo;
  const u = feather > 0 ? clamp((opaqueFrom - angle) / feather, 0, 1) : Number(angle <= opaqueFrom);
  return u * u * (3 - 2 * u);
}

/** Angle of a direction from the middle of a mask, rad. */
export function angleFromMiddle({ centre }: CircularMask, view: ArrayLike<number>): number {
  const [x, y, z] = centre;
  const [a, b, c] = [view[0]!, view[1]!, view[2]!];
  const sine = Math.hypot(y * c - z * b, z * a - x * c, x * b - y * a);
  return Math.atan2(sine, x * a + y * b + z * c);
}
