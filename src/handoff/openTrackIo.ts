import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import { DEGREES_PER_RADIAN } from '../math.js';
import type { AngleSigns } from '../read/openTrackIo.js';
import { quaternionAt } from '../rotation/arrays.js';
import { headingTiltRollFromQuaternion } from '../rotation/headingTiltRoll.js';
import { framesOf, type Motion, orientationsOf } from './poses.js';
import { requireSoundResult } from './soundResult.js';

/** How to write samples. */
export interface OpenTrackIoOptions {
  /** Default `intended`; corrections are no camera poses and cannot be written. */
  readonly motion?: Exclude<Motion, 'correction'>;
  /** Which way the angles count; all 1 when left out. */
  readonly signs?: AngleSigns;
}

/**
 * OpenTrackIO samples, one JSON object per line and frame: pan, tilt and roll in degrees, applied
 * in this order about the camera's own axes; world z up, at zero the camera looks along +y. The
 * translation is zero, since a result knows none; time is the sequence number (the frame) over the
 * exact sample rate. One object per line is our own convention: the format defines a single sample.
 *
 * @param options - which motion, and which way its angles count
 * @param result - of {@link index!correct}, with an exact frame rate
 * @returns one line of JSON per frame
 * @throws TwinkeelError `argument/invalid` without an exact frame rate or with negative
 *   frame numbers
 * @see SMPTE RIS On-Set Virtual Production, OpenTrackIO (camera tracking samples), transforms and timing
 * @example
 * const [first] = toOpenTrackIo(result).split('\n');
 * JSON.parse(first!).timing.sampleRate; // { num: 60, denom: 1 }
 */
export function toOpenTrackIo(
  result: CorrectionResult,
  { motion = 'intended', signs = {} }: OpenTrackIoOptions = {},
): string {
  requireSoundResult(result);
  const { frameRate } = result.corrections;
  const frames = framesOf(result);
  if (!frameRate) {
    throw new TwinkeelError('argument/invalid', {
      found: 'a result without an exact frame rate',
      expected: 'a frame rate such as 60000/1001, which the samples must state',
      remedy: 'correct the clip with --rate',
    });
  }
  if (frames[0]! < 0) {
    throw new TwinkeelError('argument/invalid', {
      frame: frames[0]!,
      found: 'a negative frame number',
      expected: 'frame numbers from 0 on, which the samples count by',
      remedy: 'trim the result or number the track from 0',
    });
  }
  const sampleRate = { num: frameRate.numerator, denom: frameRate.denominator };
  const orientations = orientationsOf(result, motion);
  const lines = Array.from(frames, (frame, k) => {
    const { heading, tilt, roll } = headingTiltRollFromQuaternion(quaternionAt(orientations, k));
    return JSON.stringify({
      protocol: { name: 'OpenTrackIO', version: [1, 0, 0] },
      timing: { mode: 'internal', sequenceNumber: frame, sampleRate },
      transforms: [
        {
          id: 'rig',
          translation: { x: 0, y: 0, z: 0 },
          rotation: {
            pan: (signs.pan ?? 1) * heading * DEGREES_PER_RADIAN,
            tilt: (signs.tilt ?? 1) * tilt * DEGREES_PER_RADIAN,
            // Ours counts about the axis that points back, theirs about the one that points forward.
            roll: -(signs.roll ?? 1) * roll * DEGREES_PER_RADIAN,
          },
        },
      ],
    });
  });
  return `${lines.join('\n')}\n`;
}
