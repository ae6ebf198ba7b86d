import { TwinkeelError, type Warning } from '../error.js';
import { RADIANS_PER_DEGREE } from '../math.js';
import { quaternionFromHeadingTiltRoll } from '../rotation/headingTiltRoll.js';
import { IDENTITY, multiplyQuaternions, type Quaternion } from '../rotation/quaternion.js';
import { type FrameRate, frameTime, parseFrameRate } from '../track/frameRate.js';
import { createTrack, type OrientationTrack } from '../track/orientationTrack.js';
import { parseTimecode } from '../track/timecode.js';
import { jsonSamples } from './jsonTable.js';

/**
 * Which way each angle counts. The published text says "clockwise around the axis"; seen along the
 * axis that is the right-hand rule, the default here. A program that reads it the other way needs
 * −1 for all three; compare one frame with a known turn to the left before trusting either.
 */
export interface AngleSigns {
  /** 1 (default): positive turns left. */
  readonly pan?: 1 | -1;
  /** 1 (default): positive looks up. */
  readonly tilt?: 1 | -1;
  /** 1 (default): positive lowers the right side. */
  readonly roll?: 1 | -1;
}

/** One sample, as far as it concerns where the camera points and when. */
interface Sample {
  readonly transforms?: readonly {
    readonly rotation?: { readonly pan?: number; readonly tilt?: number; readonly roll?: number };
  }[];
  readonly timing?: {
    readonly sampleRate?: Fraction;
    readonly sequenceNumber?: number;
    readonly sampleTimestamp?: { readonly seconds?: number; readonly nanoseconds?: number };
    readonly timecode?: {
      readonly hours?: number;
      readonly minutes?: number;
      readonly seconds?: number;
      readonly frames?: number;
      readonly frameRate?: Fraction;
      readonly dropFrame?: boolean;
    };
    readonly synchronization?: { readonly offsets?: { readonly rotation?: number } };
  };
}

interface Fraction {
  readonly num?: number;
  readonly denom?: number;
}

/**
 * Reads OpenTrackIO samples: JSON objects one per line or in a list. Rotations are pan, tilt and
 * roll in degrees, in this order about the camera's own axes; several transforms of a sample follow
 * each other from the world to the camera. Time is the sample's stamp, else its time code, else its
 * sequence number over the sample rate.
 *
 * @param text - JSON objects, one per line or in a list
 * @param signs - which way the angles count; all 1 when left out
 * @returns camera→world; the world's z is up, so the vertical is stated
 * @throws TwinkeelError `read/json` naming the sample and the entry
 * @see SMPTE RIS On-Set Virtual Production, OpenTrackIO, transforms and timing
 * @example
 * const back = readOpenTrackIo(toOpenTrackIo(result));
 * angularDistances(back.quaternions, result.intended.quaternions)[99]; // 0 rad
 */
export function readOpenTrackIo(text: string, signs: AngleSigns = {}): OrientationTrack {
  const samples = jsonSamples(text) as Sample[];
  const quaternions = new Float64Array(4 * samples.length);
  samples.forEach((sample, k) => {
    quaternions.set(rotationOf(sample, k, signs), 4 * k);
  });
  const offset = samples[0]?.timing?.synchronization?.offsets?.rotation;
  const warnings: Warning[] = offset
    ? [
        {
          code: 'read/offset',
          message: `the samples state a rotation offset of ${offset} s, whose sign the format leaves open: it was not applied`,
        },
      ]
    : [];
  return createTrack({
    ...timesOf(samples),
    quaternions,
    up: 'stated',
    warnings,
    lineOf: (sample) => sample + 1,
  });
}

function rotationOf(sample: Sample, k: number, signs: AngleSigns): Quaternion {
  const transforms = sample?.transforms;
  if (!Array.isArray(transforms) || transforms.length === 0) {
    throw missing(k, 'transforms', 'at least one transform');
  }
  return (transforms as NonNullable<Sample['transforms']>).reduce<Quaternion>(
    (sum, transform, index) => {
      const angle = (name: 'pan' | 'tilt' | 'roll') => {
        const value = transform?.rotation?.[name];
        if (typeof value !== 'number' || !Number.isFinite(value)) {
          throw missing(k, `transforms.${index}.rotation.${name}`, 'degrees');
        }
        return value * (signs[name] ?? 1) * RADIANS_PER_DEGREE;
      };
      // Our roll counts about the axis that points back, theirs about the one that points forward.
      const turn = quaternionFromHeadingTiltRoll(angle('pan'), angle('tilt'), -angle('roll'));
      return multiplyQuaternions(sum, turn);
    },
    IDENTITY,
  );
}

/** Times by the best source that the first sample has; every other sample must have it too. */
function timesOf(samples: readonly Sample[]): {
  times: Float64Array;
  frames?: Int32Array;
  frameRate?: FrameRate;
  startNs?: bigint;
} {
  const first = samples[0]?.timing;
  if (first?.sampleTimestamp) {
    const stamps = samples.map(({ timing }, k) => {
      const seconds = whole(timing?.sampleTimestamp?.seconds, k, 'sampleTimestamp.seconds');
      const nanoseconds = whole(
        timing?.sampleTimestamp?.nanoseconds,
        k,
        'sampleTimestamp.nanoseconds',
      );
      return BigInt(seconds) * 1_000_000_000n + BigInt(nanoseconds);
    });
    const startNs = stamps[0]!;
    if (startNs >= LARGEST_START_NS || startNs <= -LARGEST_START_NS) {
      throw missing(0, 'timing.sampleTimestamp.seconds', 'a time below 1e10 s');
    }
    return { startNs, times: Float64Array.from(stamps, (ns) => Number(ns - startNs) / 1e9) };
  }
  if (first?.timecode) {
    const rate = rateOf(first.timecode.frameRate ?? first.sampleRate, 'timecode.frameRate');
    const drop = first.timecode.dropFrame === true;
    const frames = Int32Array.from(samples, ({ timing }, k) =>
      frameOf(timing?.timecode, k, rate, drop),
    );
    return framed(frames, rate);
  }
  const rate = rateOf(first?.sampleRate, 'sampleRate');
  return framed(
    Int32Array.from(samples, ({ timing }, k) => {
      const frame = whole(timing?.sequenceNumber, k, 'sequenceNumber');
      if ((frame | 0) === frame) return frame;
      throw missing(k, 'timing.sequenceNumber', `a frame number below ${2 ** 31}`);
    }),
    rate,
  );
}

/** Nanoseconds have up to 19 digits, as in result files. */
const LARGEST_START_NS = 10n ** 19n;

function framed(frames: Int32Array, frameRate: FrameRate) {
  const times = Float64Array.from(frames, (frame) => frameTime(frameRate, frame - frames[0]!));
  return { times, frames, frameRate };
}

function frameOf(
  timecode: NonNullable<Sample['timing']>['timecode'],
  k: number,
  rate: FrameRate,
  drop: boolean,
): number {
  const parts = (['hours', 'minutes', 'seconds', 'frames'] as const).map((name) =>
    String(whole(timecode?.[name], k, `timecode.${name}`)).padStart(2, '0'),
  );
  return parseTimecode(`${parts.slice(0, 3).join(':')}${drop ? ';' : ':'}${parts[3]}`, rate, drop);
}

function rateOf(fraction: Fraction | undefined, name: string): FrameRate {
  if (typeof fraction?.num !== 'number' || typeof fraction.denom !== 'number') {
    throw missing(0, `timing.${name}`, 'a fraction num/denom');
  }
  return parseFrameRate(`${fraction.num}/${fraction.denom}`);
}

function whole(value: unknown, k: number, name: string): number {
  if (Number.isSafeInteger(value)) return value as number;
  throw missing(k, `timing.${name}`, 'a whole number');
}

function missing(k: number, name: string, expected: string): TwinkeelError {
  return new TwinkeelError('read/json', {
    line: k + 1,
    column: `"${name}"`,
    found: 'nothing of use',
    expected,
    remedy: 'export the samples again, each with its rotation and the same kind of time',
  });
}
