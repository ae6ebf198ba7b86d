import type { CorrectionResult } from '../../src/correct.js';
import type { StereoRig } from '../../src/rig/stereoRig.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import {
  invertQuaternion,
  multiplyQuaternions,
  type Quaternion,
} from '../../src/rotation/quaternion.js';
import { RATE, resultOf } from './results.js';
import type { Eye } from './room.js';

/** Width and height of one eye's picture, px; 2.1 px per degree. */
export const SIZE = 384;
const DEGREE = Math.PI / 180;
/** Movies are numbered from 100, so that numbers and indexes are never mixed up. */
export const FIRST = 100;

/** S: a slow pan to the right, 4°/s. */
export const wanted = (k: number): Quaternion =>
  quaternionFromHeadingTiltRoll(-4 * DEGREE * seconds(k), 2 * DEGREE, 0);
/** Up to 3° on each axis; heading and tilt go round in a circle, so that no frame stands still. */
const shake = (k: number): Quaternion => {
  const second = 2 * Math.PI * seconds(k);
  return quaternionFromHeadingTiltRoll(
    3 * DEGREE * Math.cos(2 * second),
    3 * DEGREE * Math.sin(2 * second),
    3 * DEGREE * Math.sin(1.1 * second + 1),
  );
};
const seconds = (k: number) => (k * RATE.denominator) / RATE.numerator;
/** C = S · shake: the shake turns the camera about its own axes. */
export const measured = (k: number): Quaternion => multiplyQuaternions(wanted(k), shake(k));
/** K = S⁻¹C. */
export const corrective = (k: number): Quaternion =>
  multiplyQuaternions(invertQuaternion(wanted(k)), measured(k));

/** Lenses that point a degree or two apart, as {@link RigEye.alignment}. */
export const ALIGNMENT: Readonly<Record<Eye, Quaternion>> = {
  left: quaternionFromHeadingTiltRoll(1.2 * DEGREE, -0.8 * DEGREE, 1.5 * DEGREE),
  right: quaternionFromHeadingTiltRoll(-0.9 * DEGREE, 1.1 * DEGREE, -1.3 * DEGREE),
};
/** C·A: how a lens that is aligned apart points. */
export const measuredBy = (eye: Eye, k: number): Quaternion =>
  multiplyQuaternions(measured(k), ALIGNMENT[eye]);
/** K·A. */
export const correctiveOf = (eye: Eye, k: number): Quaternion =>
  multiplyQuaternions(corrective(k), ALIGNMENT[eye]);

/** The indexes 0 to count − 1. */
export const upTo = (count: number) => Array.from({ length: count }, (_, k) => k);

/** The corrections of some frames of the movie, by index. */
export const resultFor = (
  indexes: readonly number[],
  rig?: StereoRig,
  slip = 0,
): CorrectionResult =>
  resultOf({
    intended: indexes.map(wanted),
    corrections: indexes.map((k) => corrective(k + slip)),
    first: FIRST + indexes[0]!,
    ...(rig && { rig }),
  });
