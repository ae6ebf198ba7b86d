/**
 * Thresholds that several files share, or that decide between two branches of a rotation formula,
 * each with its reason. One that only one file uses for its own purpose stands there.
 */

/**
 * Rotation vectors shorter than this (rad) use power series for sine and cosine of the half angle,
 * which lose no digit and cost less than Math.sin. With u = a²/4 the first terms left out are u⁴/9!
 * and u⁵/10!, relative to 1, half a machine epsilon and 1e-4 of one at the threshold. A gyro at
 * 1000 rows per second stays below it up to 100 rad/s.
 */
export const SERIES_ANGLE = 0.1;

/**
 * Half angles whose tangent is below this use the power series of the arctangent in the logarithm.
 * Nine terms leave out t¹⁸/19, 0.01 machine epsilons at the threshold (a rotation of 14°).
 */
export const SERIES_TANGENT = 0.125;

/**
 * Neighbouring quaternions less than this apart (the chord; a rotation of 11°) are interpolated by
 * a power series. Five factors leave out 0.0053 (chord²/2)⁶, 0.4 machine epsilons at the threshold.
 */
export const SERIES_CHORD = 0.1;

/**
 * An Euler middle angle within this distance (rad) of its singular value counts as singular: only
 * the sum or difference of the outer angles is then defined. Anything wider than a few units in
 * the last place of π would drop real rotation.
 */
export const EULER_SINGULARITY = 2e-15;

/**
 * Largest departure of a quaternion's norm from 1 that is taken as rounding and renormalised
 * with a note. Open recordings carry departures up to 7e-5 and text with three decimals reaches
 * 1e-3; 0.01 leaves room for two decimals and still catches a wrong column.
 */
export const UNIT_NORM = 1e-2;

/** Norm departure below which nothing needs to be said: seven printed decimals (4 × 5e-8). */
export const UNIT_NORM_SILENT = 2e-7;

/** A quaternion or an axis shorter than this has no direction. */
export const ZERO_NORM = 1e-12;

/**
 * Largest departure of a measured matrix from orthonormality (Frobenius norm of MᵀM − I) that is
 * repaired by taking the nearest rotation: three printed decimals give up to 9 × 1e-3.
 */
export const ORTHONORMAL = 2e-2;

/**
 * Share of the frame period by which a time stamp may miss its frame and still belong to it.
 * Stamps rounded to a millisecond miss by up to 6 % at 120 frames per second; 0.25 keeps a
 * quarter frame clear of the neighbour.
 */
export const FRAME_TIME_SLACK = 0.25;

/** Files hold times to nine decimals: half a nanosecond and the rounding of sums, seconds. */
export const WRITTEN_TIME = 6e-10;
