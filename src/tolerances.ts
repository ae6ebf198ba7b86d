/**
 * Every threshold of the rotation and track code, each with its reason. A number that decides
 * between two branches of a formula lives here and nowhere else.
 */

/**
 * Rotation vectors shorter than this (rad) use a power series for sin(a/2)/a. The first term left
 * out is a⁴/3840, 5e-16 relative to 1/2 at the threshold, two units in the last place.
 */
export const SERIES_ANGLE = 1e-3;

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
