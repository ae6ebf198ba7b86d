import type { CorrectionResult } from '../correct.js';
import { DEGREES_PER_RADIAN } from '../math.js';
import { eyeCorrections } from '../rig/eyeCorrections.js';
import { anglesOfQuaternions, quaternionAt } from '../rotation/arrays.js';
import {
  invertQuaternion,
  type Quaternion,
  rotateVector,
  type Vector3,
} from '../rotation/quaternion.js';
import { stretchSentenceWithAdvice, stretchWeight } from '../words/verdict.js';
import { v360Angles } from './ffmpeg.js';
import type { HandoffOptions } from './handoffOptions.js';
import { describeMove } from './pictureMove.js';
import { framesOf, orientationsOf } from './poses.js';
import { DEFAULT_MAP_SIZE } from './stMapFiles.js';
import { type MovieClock, stretchesInFrames, takeParts } from './takeParts.js';
import type { HandoffTarget } from './targets.js';

const AHEAD: Vector3 = [0, 0, -1];

/** The frame of the largest correction in numbers and in words, to try another program against. */
export function workedRotation(
  result: CorrectionResult,
  target: HandoffTarget,
  options: HandoffOptions,
): string[] {
  const angles = anglesOfQuaternions(result.corrections.quaternions);
  const k = angles.reduce((best, angle, index) => (angle > angles[best]! ? index : best), 0);
  const frame = framesOf(result)[k]!;
  const correction = quaternionAt(result.corrections.quaternions, k);
  const size = options.mapSize ?? (target === 'st-maps' ? DEFAULT_MAP_SIZE : undefined);
  const picture = size ? `, half-equirect of ${size[0]} × ${size[1]} px for an eye,` : '';
  const lines = [
    `frame ${frame} has the largest correction: K = (${fixed(correction)}) as x, y, z, w`,
    `frame ${frame}: the picture${picture} ${describeMove(correction, size)}, as a viewer sees its middle`,
    `what the camera saw straight ahead, (0, 0, −1), lies at (${fixed(rotateVector(correction, AHEAD))}) in the corrected view`,
    `the middle of the corrected view was seen by the camera at (${fixed(rotateVector(invertQuaternion(correction), AHEAD))})`,
  ];
  if (target === 'ffmpeg') {
    const [left, right] = [eyeCorrections(result, 'left'), eyeCorrections(result, 'right')];
    const { yaw, pitch, roll } = v360Angles(quaternionAt(left, k));
    const degrees = [yaw, pitch, roll].map((angle) => (angle * DEGREES_PER_RADIAN).toFixed(5));
    const eye = left.some((value, i) => value !== right[i]) ? ' in the left eye' : '';
    return [
      ...lines,
      `its angles${eye}: yaw ${degrees[0]}, pitch ${degrees[1]}, roll ${degrees[2]}`,
    ];
  }
  const look = (q: Quaternion) => `(${fixed(rotateVector(q, AHEAD))})`;
  const intended = quaternionAt(result.intended.quaternions, k);
  const measured = quaternionAt(orientationsOf(result, 'measured'), k);
  return [
    ...lines,
    `in the world (x right, y up, z back) the camera looked along ${look(measured)}, the corrected view looks along ${look(intended)}`,
  ];
}

/** The stretch that weighs most, counted out. */
export function workedStretch(result: CorrectionResult, clock: MovieClock): string[] {
  const { parts } = stretchesInFrames(result);
  const heaviest = parts.reduce((worst, part) =>
    stretchWeight(part.stretch) > stretchWeight(worst.stretch) ? part : worst,
  );
  const { stretch, start, count } = heaviest;
  const { fromFrame, toFrame, fromSeconds } = stretch;
  const take = result.corrections.frameRate && takeParts(result, clock);
  const codes = take
    ? `, time codes ${take.codeAt(start)} to ${take.codeAt(start + count)} (the out point is exclusive)`
    : '';
  return [
    `frames ${fromFrame} to ${toFrame}, ${count} of them from ${fromSeconds.toFixed(3)} s on${codes}: ${stretchSentenceWithAdvice(stretch)}`,
  ];
}

/** Numbers of a unit vector or quaternion, to a millionth. */
export function fixed(values: readonly number[]): string {
  return values.map((value) => value.toFixed(6)).join(', ');
}
