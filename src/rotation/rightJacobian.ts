import { SERIES_ANGLE } from '../tolerances.js';

/**
 * The right Jacobian of the exponential map: Exp(v + d) ≈ Exp(v) Exp(J d) for a small d,
 * J = I − (1 − cos θ)/θ² [v] + (θ − sin θ)/θ³ [v]² with θ = |v|.
 *
 * @param x - rotation vector v, rad; y and z its other parts
 * @param out - 3 × 3, row by row, from `offset` on
 * @see Solà, Deray, Atchuthan, "A micro Lie theory for state estimation in robotics", 2018, eq. (143)
 */
export function rightJacobianInto(
  out: Float64Array,
  offset: number,
  x: number,
  y: number,
  z: number,
): void {
  const square = x * x + y * y + z * z;
  const angle = Math.sqrt(square);
  const small = angle < SERIES_ANGLE;
  const first = small
    ? 1 / 2 + square * (-1 / 24 + square * (1 / 720 - square / 40320))
    : (1 - Math.cos(angle)) / square;
  const second = small
    ? 1 / 6 + square * (-1 / 120 + square * (1 / 5040 - square / 362880))
    : (angle - Math.sin(angle)) / (square * angle);
  quadraticInCross(out, offset, x, y, z, -first, second);
}

/**
 * Its inverse: Log(Exp(v) Exp(d)) ≈ v + J⁻¹ d for a small d,
 * J⁻¹ = I + ½ [v] + (1/θ² − (1 + cos θ)/(2θ sin θ)) [v]²; singular at θ = 2π only, since the last
 * factor is written as (1 − (θ/2) cot(θ/2))/θ².
 *
 * @see Solà, Deray, Atchuthan 2018, eq. (144)
 */
export function inverseRightJacobianInto(
  out: Float64Array,
  offset: number,
  x: number,
  y: number,
  z: number,
): void {
  const square = x * x + y * y + z * z;
  const half = Math.sqrt(square) / 2;
  const second =
    2 * half < SERIES_ANGLE
      ? 1 / 12 + square * (1 / 720 + square * (1 / 30240 + square / 1209600))
      : (1 - half / Math.tan(half)) / square;
  quadraticInCross(out, offset, x, y, z, 1 / 2, second);
}

/** I + a [v] + b [v]², with [v] w = v × w and [v]² = vvᵀ − |v|² I. */
function quadraticInCross(
  out: Float64Array,
  offset: number,
  x: number,
  y: number,
  z: number,
  a: number,
  b: number,
): void {
  out[offset] = 1 - b * (y * y + z * z);
  out[offset + 1] = b * x * y - a * z;
  out[offset + 2] = b * x * z + a * y;
  out[offset + 3] = b * x * y + a * z;
  out[offset + 4] = 1 - b * (x * x + z * z);
  out[offset + 5] = b * y * z - a * x;
  out[offset + 6] = b * x * z - a * y;
  out[offset + 7] = b * y * z + a * x;
  out[offset + 8] = 1 - b * (x * x + y * y);
}
