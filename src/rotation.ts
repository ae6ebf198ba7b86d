/**
 * Rotations: unit quaternions x, y, z, w, one or many in a flat array, and what they are made of and become.
 * Knows nothing of time or cameras, and bundles small. Names of every other room may stand in the examples,
 * which start from the same things as those of `twinkeel`.
 *
 * @packageDocumentation
 */
export {
  alignSigns,
  anglesOfQuaternions,
  angularDistances,
  composeQuaternions,
  headingTiltRollFromQuaternions,
  invertQuaternions,
  normalizeQuaternions,
  quaternionAt,
  quaternionsFromHeadingTiltRoll,
  quaternionsFromRotationVectors,
  rotateVectors,
  rotationVectorsFromQuaternions,
  vectorAt,
} from './rotation/arrays.js';
export {
  type EulerAngles,
  type EulerFrame,
  type EulerSequence,
  eulerFromQuaternion,
  quaternionFromEuler,
} from './rotation/euler.js';
export {
  type HeadingTiltRoll,
  headingTiltRollFromQuaternion,
  quaternionFromHeadingTiltRoll,
} from './rotation/headingTiltRoll.js';
export { slerp, squad, squadControl } from './rotation/interpolate.js';
export {
  type Matrix3,
  matrixFromQuaternion,
  nearestRotation,
  quaternionFromMatrix,
} from './rotation/matrix.js';
export { meanQuaternion } from './rotation/mean.js';
export {
  angularDistance,
  IDENTITY,
  invertQuaternion,
  multiplyQuaternions,
  normalizeQuaternion,
  type Quaternion,
  quaternionFromAxisAngle,
  rotateVector,
  type Vector3,
} from './rotation/quaternion.js';
export {
  quaternionFromRotationVector,
  rotationVectorFromQuaternion,
} from './rotation/rotationVector.js';
export { type SwingTwist, swingTwist } from './rotation/swingTwist.js';
export { type UnitQuaternions, unitQuaternions } from './rotation/unitQuaternions.js';
