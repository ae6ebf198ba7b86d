import type { CorrectionResult } from '../correct.js';
import { DEGREES_PER_RADIAN } from '../math.js';
import { eyeCorrections } from '../rig/eyeCorrections.js';
import type { StereoPicture } from '../rig/picture.js';
import { isAligned } from '../rig/stereoRig.js';
import { anglesOfQuaternions, quaternionAt } from '../rotation/arrays.js';
import {
  invertQuaternion,
  type Quaternion,
  rotateVector,
  type Vector3,
} from '../rotation/quaternion.js';
import { formatFrameRate } from '../track/frameRate.js';
import { v360Angles } from './ffmpeg.js';
import type { HandoffOptions } from './handoffOptions.js';
import { framesOf, type Motion, orientationsOf } from './poses.js';
import { describeSource, otherPicture, sourcePicture } from './sourcePicture.js';
import { type HandoffTarget, targetNamed } from './targets.js';

/**
 * The text that goes with handed-over files: axes, sense, order, time base, and one worked number
 * to try another program against.
 *
 * @param result - of {@link correct}
 * @param target - as what it is handed over
 * @param options - those of {@link handOff}
 * @example
 * describeHandoff(result, 'csv').split('\n')[0]; // 'What stands in the csv file'
 */
export function describeHandoff(
  result: CorrectionResult,
  target: HandoffTarget,
  options: HandoffOptions = {},
): string {
  const { corrections } = result;
  const { ending, holds } = targetNamed(target);
  const frames = framesOf(result);
  const angles = anglesOfQuaternions(corrections.quaternions);
  const k = angles.reduce((best, angle, index) => (angle > angles[best]! ? index : best), 0);
  const rate = corrections.frameRate
    ? `${formatFrameRate(corrections.frameRate)} frames per second, exactly`
    : 'no exact frame rate is known; times are in the files where the format holds them';
  return [
    `What stands in the ${target} file${ending.endsWith('/') ? 's' : ''}`,
    '',
    ...holds.map((line) => `- ${line}`),
    ...sensesOf(target, options).map((line) => `- ${line}`),
    ...picturesOf(result, target, options).map((line) => `- ${line}`),
    `- time: frames ${frames[0]} to ${frames[frames.length - 1]}, ${rate}; seconds count from frame ${frames[0]}`,
    `- ${eyesIn(result, target)}`,
    ...(result.swapEyes
      ? [
          '- the camera hung upside down: the correction turns the picture, and left and right must be exchanged',
        ]
      : []),
    '',
    'Worked number',
    '',
    ...workedNumber(result, k, frames[k]!, target).map((line) => `- ${line}`),
    '',
    'Cautions: steadied footage can still make viewers feel ill. Judge it in a headset, stop at the',
    'first sign of discomfort. This is no medical advice.',
    '',
  ].join('\n');
}

const MOTIONS: Readonly<Record<Motion, string>> = {
  intended: 'intended, where the corrected view looks; camera to world',
  measured: 'measured, where the camera pointed; camera to world',
  correction: 'correction, K in these axes on both sides; camera to corrected view',
};

/** What depends on how a trajectory was asked for. */
function sensesOf(target: HandoffTarget, { motion = 'intended', signs }: HandoffOptions): string[] {
  if (target === 'tum') return [`motion: ${MOTIONS[motion]}`];
  if (target !== 'opentrackio') return [];
  const turned = (['pan', 'tilt', 'roll'] as const).filter((name) => signs?.[name] === -1);
  const hand =
    'counted by the right hand, which is how "clockwise around the axis" reads when looking along it';
  return [
    `motion: ${MOTIONS[motion]}`,
    `signs: ${hand}${turned.length > 0 ? `, but ${turned.join(', ')} turned round` : ''}; if a known turn to the left comes out to the right, hand over again with other signs (--flip pan,tilt,roll)`,
  ];
}

/** What is resampled, where pictures are. */
function picturesOf(
  result: CorrectionResult,
  target: HandoffTarget,
  options: HandoffOptions,
): string[] {
  const picture = pictureFor(result, target, options);
  const note = pictureNote(result, target, options);
  return [
    ...(picture ? [describeSource(result, picture)] : []),
    ...(note === undefined ? [] : [`mind: ${note}`]),
  ];
}

/** The pictures that a target reads; ST maps draw a fisheye as the rig's lens does. */
function pictureFor(
  result: CorrectionResult,
  target: HandoffTarget,
  { picture = {} }: HandoffOptions,
): StereoPicture | undefined {
  if (target === 'ffmpeg') return sourcePicture(result, picture);
  const { fieldDeg: _, ...said } = picture;
  return target === 'st-maps' ? sourcePicture(result, said) : undefined;
}

/**
 * What changes when pictures are handed over that the result was not corrected for.
 *
 * @param result - of {@link correct}
 * @param target - as what it is handed over
 * @param options - those of {@link handOff}
 * @returns one sentence; undefined where they are the same, or the target reads none
 * @example
 * pictureNote(result, 'ffmpeg', { picture: { projection: 'half-equirect' } }); // undefined
 */
export function pictureNote(
  result: CorrectionResult,
  target: HandoffTarget,
  options: HandoffOptions = {},
): string | undefined {
  const picture = pictureFor(result, target, options);
  return picture && otherPicture(result, picture);
}

/** How the two eyes stand in the file; alignments that it does not hold are given here. */
function eyesIn({ rig }: CorrectionResult, target: HandoffTarget): string {
  const common = 'the same correction goes to both eyes';
  if (!rig || !isAligned(rig)) return common;
  const { left, right } = rig.alignment;
  const given = `left A = (${fixed(left)}), right A = (${fixed(right)}) as x, y, z, w, from the eye’s own axes to the rig’s`;
  const { alignments } = targetNamed(target);
  return alignments
    ? `${common}, each after its own fixed alignment, ${alignments}: ${given}`
    : `${common}; this file holds the rig’s motion and not the eyes’ own fixed alignments, which come first: for an eye take K A instead of K, C A instead of C; ${given}`;
}

function workedNumber(
  result: CorrectionResult,
  k: number,
  frame: number,
  target: HandoffTarget,
): string[] {
  const correction = quaternionAt(result.corrections.quaternions, k);
  const ahead: Vector3 = [0, 0, -1];
  const lines = [
    `frame ${frame} has the largest correction: K = (${fixed(correction)}) as x, y, z, w`,
    `what the camera saw straight ahead, (0, 0, −1), lies at (${fixed(rotateVector(correction, ahead))}) in the corrected view`,
    `the middle of the corrected view was seen by the camera at (${fixed(rotateVector(invertQuaternion(correction), ahead))})`,
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
  const look = (q: Quaternion) => `(${fixed(rotateVector(q, ahead))})`;
  const intended = quaternionAt(result.intended.quaternions, k);
  const measured = quaternionAt(orientationsOf(result, 'measured'), k);
  return [
    ...lines,
    `in the world (x right, y up, z back) the camera looked along ${look(measured)}, the corrected view looks along ${look(intended)}`,
  ];
}

function fixed(values: readonly number[]): string {
  return values.map((value) => value.toFixed(6)).join(', ');
}
