import { fromBase64 } from '../../base64.js';
import { clamp } from '../../math.js';
import { powerDensity } from '../../numeric/fourier.js';
import { runningMean } from '../../numeric/runningMean.js';
import { clipCoverage } from '../../rig/clipCoverage.js';
import { worstDisparities } from '../../rig/stereoCost.js';
import {
  anglesOfQuaternions,
  angularDistances,
  composeQuaternions,
  headingTiltRollFromQuaternions,
} from '../../rotation/arrays.js';
import { type ClipData, unpackQuaternions } from '../pageData.js';

/** A clip whose rotations are unpacked when one of them is asked for, and kept. */
export interface Clip extends Omit<ClipData, 'corrections' | 'intended'> {
  /** How many there are; known without unpacking. */
  readonly frames: number;
  /** Seconds from the first frame. */
  readonly times: Float64Array;
  /** K, S and C = S K at every frame; length 4n. */
  readonly corrections: Float64Array;
  readonly intended: Float64Array;
  readonly measured: Float64Array;
}

export function lazyClip(data: ClipData): Clip {
  let opened: Pick<Clip, 'times' | 'corrections' | 'intended' | 'measured'> | undefined;
  const open = () => {
    opened ??= unpack(data);
    return opened;
  };
  return {
    ...data,
    frames: framesOfPacked(data.corrections),
    get times() {
      return open().times;
    },
    get corrections() {
      return open().corrections;
    },
    get intended() {
      return open().intended;
    },
    get measured() {
      return open().measured;
    },
  };
}

/** Seven bytes a frame, four characters for three bytes. */
function framesOfPacked(base64: string): number {
  const padding = base64.endsWith('==') ? 2 : base64.endsWith('=') ? 1 : 0;
  return ((base64.length * 3) / 4 - padding) / 7;
}

function unpack(data: ClipData) {
  const corrections = unpackQuaternions(fromBase64(data.corrections));
  const intended = unpackQuaternions(fromBase64(data.intended));
  const { numerator, denominator } = data.frameRate;
  const n = corrections.length / 4;
  return {
    corrections,
    intended,
    measured: composeQuaternions(intended, corrections),
    times: Float64Array.from({ length: n }, (_, k) => (k * denominator) / numerator),
  };
}

/** Half a turn about the optical axis: what an upside-down mount puts between camera and picture. */
const UPRIGHT = [0, 0, 1, 0] as const;

/** C of the upright picture: an upside-down camera's own turn taken out. */
export function pictureOrientations(clip: Clip): Float64Array {
  return clip.swapEyes ? composeQuaternions(clip.measured, UPRIGHT) : clip.measured;
}

/** What sets the picture upright and nothing more. */
export function mountTurn(clip: Pick<Clip, 'swapEyes'>): readonly [number, number, number, number] {
  return clip.swapEyes ? UPRIGHT : [0, 0, 0, 1];
}

/** K from the upright picture to the view. */
export function pictureCorrections(clip: Clip): Float64Array {
  return clip.swapEyes ? composeQuaternions(clip.corrections, UPRIGHT) : clip.corrections;
}

/** Heading (continuous), tilt and roll, degrees. */
export interface Angles {
  readonly heading: Float64Array;
  readonly tilt: Float64Array;
  readonly roll: Float64Array;
}

export function anglesDeg(quaternions: Float64Array): Angles {
  const { heading, tilt, roll } = headingTiltRollFromQuaternions(quaternions);
  const inDegrees = (angles: Float64Array) => angles.map((angle) => (angle * 180) / Math.PI);
  let last = 0;
  const continuous = inDegrees(heading).map((degrees, k) => {
    last = k === 0 ? degrees : degrees + 360 * Math.round((last - degrees) / 360);
    return last;
  });
  return { heading: continuous, tilt: inDegrees(tilt), roll: inDegrees(roll) };
}

/** What is taken out of each angle, degrees: before less after, by the shorter way round. */
export function removedDeg(before: Angles, after: Angles): Angles {
  const less = (name: keyof Angles) =>
    before[name].map((value, k) => {
      const difference = value - after[name][k]!;
      return difference - 360 * Math.round(difference / 360);
    });
  return { heading: less('heading'), tilt: less('tilt'), roll: less('roll') };
}

/** How fast a view turns about any axis, averaged over a second, °/s. */
export function turningDegPerS(quaternions: Float64Array, rate: number): Float64Array {
  const n = quaternions.length / 4;
  const from = quaternions.subarray(0, 4 * (n - 1));
  const steps = angularDistances(from, quaternions.subarray(4));
  const speed = Float64Array.from(
    { length: n },
    (_, k) => ((steps[Math.min(k, n - 2)] ?? 0) * rate * 180) / Math.PI,
  );
  return runningMean(speed, Math.max(1, Math.round(rate / 2)));
}

/** Angle of the correction of the upright picture, degrees. */
export function correctionDeg(clip: Clip): Float64Array {
  return anglesOfQuaternions(pictureCorrections(clip)).map((angle) => (angle * 180) / Math.PI);
}

/** Per frame, the worse eye's: share of the view that is black, %, and swing of its axis, degrees. */
export function coverageOf(clip: Clip): { black: Float64Array; swing: Float64Array } | undefined {
  const { rig, picture, corrections, intended, times } = clip;
  if (!rig) return undefined;
  const { left, right } = clipCoverage(
    {
      corrections: { quaternions: corrections },
      // What a picture holds does not depend on the vertical.
      intended: { times, quaternions: intended, up: 'unknown', warnings: [] },
    },
    rig,
    picture,
  );
  const worse = (figure: 'swings' | 'uncovered', factor: number) =>
    left[figure].map((value, k) => factor * Math.max(value, right[figure][k]!));
  return { swing: worse('swings', 180 / Math.PI), black: worse('uncovered', 100) };
}

/** Largest vertical disparity of each frame at the nearest subject, arcmin. */
export function disparityOf(clip: Clip): Float64Array | undefined {
  const { rig } = clip;
  return rig && worstDisparities(pictureCorrections(clip), rig.interaxialMm, rig.nearestSubjectM);
}

/** Amplitude spectrum of the tilt, degrees per √Hz, up to 12 Hz. */
export function tiltSpectrum(
  quaternions: Float64Array,
  sampleRate: number,
): { frequencies: Float64Array; amplitude: Float64Array } {
  const { tilt } = anglesDeg(quaternions);
  const { frequencies, density } = powerDensity(tilt, sampleRate, Math.round(20 * sampleRate));
  const end = frequencies.findIndex((frequency) => frequency > 12);
  const count = end < 0 ? frequencies.length : end;
  return {
    frequencies: frequencies.slice(1, count),
    amplitude: density.slice(1, count).map(Math.sqrt),
  };
}

/** The frame that is on show at a moment of a movie whose first frame is the clip's. */
export function frameAt(clip: Pick<Clip, 'frameRate' | 'frames'>, seconds: number): number {
  const { numerator, denominator } = clip.frameRate;
  // Media times are stamps of frames, rounded by the container: the nearest frame is meant.
  const frame = Math.round((seconds * numerator) / denominator);
  return clamp(frame, 0, clip.frames - 1);
}

/**
 * Whole frames that passed between two moments, ms, and the moment up to which they count: what is
 * left of a frame counts next time, or a clip would play too slowly on a screen of its own rate.
 */
export function framesPassed(
  { frameRate: { numerator, denominator } }: Pick<Clip, 'frameRate'>,
  since: number,
  now: number,
): { readonly frames: number; readonly until: number } {
  const frames = Math.max(0, Math.floor(((now - since) * numerator) / (1000 * denominator)));
  return { frames, until: since + (1000 * frames * denominator) / numerator };
}
