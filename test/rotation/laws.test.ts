import { mat3, type ReadonlyMat3, vec3 } from 'gl-matrix';
import {
  angularDistances,
  composeQuaternions,
  invertQuaternions,
  quaternionAt,
  quaternionsFromRotationVectors,
  rotateVectors,
  rotationVectorsFromQuaternions,
  vectorAt,
} from '../../src/rotation/arrays.js';
import {
  type EulerAngles,
  type EulerFrame,
  type EulerSequence,
  eulerFromQuaternion,
  quaternionFromEuler,
} from '../../src/rotation/euler.js';
import {
  type Matrix3,
  matrixFromQuaternion,
  quaternionFromMatrix,
} from '../../src/rotation/matrix.js';

import {
  angularDistance,
  invertQuaternion,
  multiplyQuaternions,
  type Quaternion,
  rotateVector,
  type Vector3,
} from '../../src/rotation/quaternion.js';
import {
  quaternionFromRotationVector,
  rotationVectorFromQuaternion,
} from '../../src/rotation/rotationVector.js';
import { PRODUCT, type Representation, rotationLaws } from '../laws.js';
import { SEQUENCES } from '../turns.js';

/** A form without a product of its own: it is read, composed as quaternions and written again. */
function throughQuaternions<R>(
  form: Pick<Representation<R>, 'name' | 'fromQuaternion' | 'toQuaternion' | 'conversion'> & {
    readonly invert: (r: R) => R;
  },
): Representation<R> {
  const { fromQuaternion, toQuaternion, conversion } = form;
  return {
    ...form,
    compose: (a, b) => fromQuaternion(multiplyQuaternions(toQuaternion(a), toQuaternion(b))),
    rotate: (r, v) => rotateVector(toQuaternion(r), v),
    distance: (a, b) => angularDistance(toQuaternion(a), toQuaternion(b)),
    composition: 3 * conversion + PRODUCT,
  };
}

rotationLaws<Quaternion>({
  name: 'quaternion',
  fromQuaternion: (q) => q,
  toQuaternion: (q) => q,
  compose: multiplyQuaternions,
  invert: invertQuaternion,
  rotate: rotateVector,
  distance: angularDistance,
  conversion: 0,
  composition: PRODUCT,
});

rotationLaws<Vector3>(
  throughQuaternions({
    name: 'rotation vector',
    fromQuaternion: rotationVectorFromQuaternion,
    toQuaternion: quaternionFromRotationVector,
    invert: ([x, y, z]) => [-x, -y, -z],
    // The length (2½ roundings of π or of π/2), the quotient and the three products.
    conversion: 10,
  }),
);

// The library has no matrix product; gl-matrix, which stores column by column, lends its own.
const columns = (m: Matrix3) => m as unknown as ReadonlyMat3;
const transpose = ([a, b, c, d, e, f, g, h, i]: Matrix3): Matrix3 => [a, d, g, b, e, h, c, f, i];

rotationLaws<Matrix3>({
  name: 'matrix',
  fromQuaternion: matrixFromQuaternion,
  toQuaternion: quaternionFromMatrix,
  compose: (a, b) => {
    const product: number[] = new Array(9).fill(0);
    mat3.multiply(product as unknown as mat3, columns(b), columns(a));
    return product as unknown as Matrix3;
  },
  invert: transpose,
  rotate: (m, v) => {
    const turned: [number, number, number] = [0, 0, 0];
    vec3.transformMat3(turned, [...v], columns(transpose(m)));
    return turned;
  },
  distance: (a, b) => angularDistance(quaternionFromMatrix(a), quaternionFromMatrix(b)),
  // Nine entries off by at most 2½ epsilons are an angle of 7½ / √2.
  conversion: 6,
  // Nine entries off by at most 1½ epsilons.
  composition: 4,
});

// The rotation stands between two others: an error of stride would read a neighbour.
const between = <N extends readonly number[]>(neighbour: N, middle: N): Float64Array =>
  Float64Array.of(...neighbour, ...middle, ...neighbour);
const listOf = (q: Quaternion) => between([0.5, -0.5, 0.5, 0.5], q);

rotationLaws<Float64Array>({
  name: 'flat list of quaternions',
  fromQuaternion: listOf,
  toQuaternion: (list) => quaternionAt(list, 1),
  compose: composeQuaternions,
  invert: invertQuaternions,
  rotate: (list, v) => vectorAt(rotateVectors(list, between([1, 2, 3], v)), 1),
  distance: (a, b) => angularDistances(a, b)[1]!,
  conversion: 0,
  composition: PRODUCT,
});

rotationLaws<Float64Array>(
  throughQuaternions({
    name: 'flat list of rotation vectors',
    fromQuaternion: (q) => rotationVectorsFromQuaternions(listOf(q)),
    toQuaternion: (list) => quaternionAt(quaternionsFromRotationVectors(list), 1),
    invert: (list) => list.map((component) => -component),
    conversion: 10,
  }),
);

/** Undoing the turns one by one is the opposite turns about the other kind of axes. */
function euler(sequence: EulerSequence, frame: EulerFrame): Representation<EulerAngles> {
  const other = frame === 'intrinsic' ? 'extrinsic' : 'intrinsic';
  return throughQuaternions({
    name: `${frame} ${sequence}`,
    fromQuaternion: (q) => eulerFromQuaternion(sequence, q, frame),
    toQuaternion: (angles) => quaternionFromEuler(sequence, angles, frame),
    invert: ([first, second, third]) =>
      eulerFromQuaternion(
        sequence,
        quaternionFromEuler(sequence, [-first, -second, -third], other),
        frame,
      ),
    // Two arctangents up to π, their sum and its wrapping for each outer angle, one middle angle.
    conversion: 18,
  });
}

for (const sequence of SEQUENCES) {
  rotationLaws(euler(sequence, 'intrinsic'));
  rotationLaws(euler(sequence, 'extrinsic'));
}
