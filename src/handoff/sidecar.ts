import type { CorrectionResult } from '../correct.js';
import type { StereoPicture } from '../rig/picture.js';
import { isAligned } from '../rig/stereoRig.js';
import { formatFrameRate, framesPerSecond } from '../track/frameRate.js';
import type { HandoffOptions } from './handoffOptions.js';
import { framesOf, type Motion } from './poses.js';
import { describeSource, otherPicture, sourcePicture } from './sourcePicture.js';
import { type HandoffTarget, targetNamed } from './targets.js';
import { fixed, workedRotation, workedStretch } from './workedNumber.js';

/**
 * The text that goes with handed-over files: axes, sense, order, time base, and one worked number
 * to try another program against.
 *
 * @param result - of {@link index!correct}
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
  const { ending, holds, tells } = targetNamed(target);
  const several = ending.endsWith('/') || ending === '.';
  const about = tells === 'rotations' ? aboutRotations : aboutStretches;
  const worked =
    tells === 'rotations'
      ? workedRotation(result, target, options)
      : workedStretch(result, options);
  return [
    `What stands in the ${target} file${several ? 's' : ''}`,
    '',
    ...[...holds, ...about(result, target, options)].map((line) => `- ${line}`),
    '',
    'Worked number',
    '',
    ...worked.map((line) => `- ${line}`),
    '',
    'Cautions: steadied footage can still make viewers feel ill. Judge it in a headset, stop at the',
    'first sign of discomfort. This is no medical advice.',
    '',
  ].join('\n');
}

function aboutRotations(
  result: CorrectionResult,
  target: HandoffTarget,
  options: HandoffOptions,
): string[] {
  return [
    ...sensesOf(target, options),
    ...picturesOf(result, target, options),
    timeBase(result),
    eyesIn(result, target),
    ...(result.swapEyes
      ? [
          'the camera hung upside down: the correction turns the picture, and left and right must be exchanged',
        ]
      : []),
  ];
}

function aboutStretches(
  result: CorrectionResult,
  _: HandoffTarget,
  { timecode, firstFrame: first = framesOf(result)[0]! }: HandoffOptions,
): string[] {
  const { frameRate } = result.corrections;
  if (!frameRate) return [timeBase(result), 'time codes: none, since they count frames'];
  const said =
    timecode === undefined && result.timecode === undefined
      ? `frame ${first} was taken to carry 00:00:00:00, since no time code was given (--timecode HH:MM:SS:FF)`
      : timecode === undefined
        ? `frame ${framesOf(result)[0]} carries ${result.timecode}, as was said when it was corrected`
        : `frame ${first} carries ${timecode}, as you said`;
  const nominal = Math.round(framesPerSecond(frameRate));
  return [timeBase(result), `time codes: ${said}; ${nominal} labels a second`];
}

function timeBase(result: CorrectionResult): string {
  const frames = framesOf(result);
  const { frameRate } = result.corrections;
  const rate = frameRate
    ? `${formatFrameRate(frameRate)} frames per second, exactly`
    : 'no exact frame rate is known; times are in the files where the format holds them';
  return `time: frames ${frames[0]} to ${frames[frames.length - 1]}, ${rate}; seconds count from frame ${frames[0]}`;
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
 * @param result - of {@link index!correct}
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
  const { left, right } = rig.eyes;
  const given = `left A = (${fixed(left.alignment)}), right A = (${fixed(right.alignment)}) as x, y, z, w, from the eye’s own axes to the rig’s`;
  const { alignments } = targetNamed(target);
  return alignments
    ? `${common}, each after its own fixed alignment, ${alignments}: ${given}`
    : `${common}; this file holds the rig’s motion and not the eyes’ own fixed alignments, which come first: for an eye take K A instead of K, C A instead of C; ${given}`;
}
