import type { ClockLook } from './clockLook.js';
import { LEAST_NOISE } from './refineClock.js';

/** Residuals this little alike count as strangers. */
const STRANGERS = 0.02;

/** Log-likelihood that a clock adds to the picture's slow path alone, in frames. */
export function explained({ misfit, motion, trusted }: ClockLook): number {
  // No track is better than its printed digits: noiseless ones must not divide by nothing.
  return trusted * Math.log(Math.max(motion, LEAST_NOISE) / Math.max(misfit, LEAST_NOISE));
}

/**
 * How much worse a rival explains the picture, in units of log-likelihood: three axes, and as many
 * independent frames as the winner's residual has.
 */
export function contestBetween(winner: ClockLook, rival: ClockLook | undefined): number {
  if (!rival) return Number.MAX_VALUE;
  return (3 / framesAlike(winner)) * (explained(winner) - explained(rival));
}

/** How many neighbouring frames share their residual: 1 for white noise; from its autocorrelation. */
function framesAlike({ clock: { residual, weights } }: ClockLook): number {
  const n = weights.length;
  const covariance = (lag: number) => {
    let sum = 0;
    let norm = 0;
    for (let k = 0, i = 0, j = 3 * lag; k + lag < n; k++, i += 3, j += 3) {
      const weight = weights[k]! * weights[k + lag]!;
      norm += weight;
      sum +=
        weight *
        (residual[i]! * residual[j]! +
          residual[i + 1]! * residual[j + 1]! +
          residual[i + 2]! * residual[j + 2]!);
    }
    return norm > 0 ? sum / norm : 0;
  };
  const own = covariance(0);
  let alike = 1;
  for (let lag = 1; own > 0 && lag < n / 4; lag++) {
    const share = covariance(lag) / own;
    if (share < STRANGERS) break;
    alike += 2 * share;
  }
  return alike;
}
