import { TwinkeelError } from '../error.js';
import { type FrameRate, formatFrameRate } from '../track/frameRate.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import type { AimKey } from './aim.js';
import type { Marker } from './markers.js';

/**
 * A frame of a clip: by its number, or counted from the clip's first frame at an exact rate, as time codes
 * are. A clip of another rate refuses the second.
 */
export type ClipFrame =
  | number
  | {
      /** Frames from the clip's first one. */
      readonly framesIn: number;
      /** What they were counted at. */
      readonly rate: FrameRate;
    };

/** An aim key at a frame instead of a second. */
export interface FrameAimKey extends Omit<AimKey, 'time'> {
  /** The frame at which the view looks there. */
  readonly frame: ClipFrame;
}

/** A marker from frame to frame instead of second to second. */
export interface FrameMarker extends Pick<Marker, 'intent'> {
  /** First frame. */
  readonly fromFrame: ClipFrame;
  /** Last frame, which belongs to it; after the first. */
  readonly toFrame: ClipFrame;
}

/**
 * Aim keys with their seconds on a clip.
 *
 * @param track - on the clip's frames
 * @throws TwinkeelError `argument/invalid` naming the key, for a frame that the clip does not have, or that was
 *   counted at another rate
 */
export function aimKeysOn(
  track: OrientationTrack,
  keys: readonly (AimKey | FrameAimKey)[],
): AimKey[] {
  return keys.map((key, index) => {
    if (!('frame' in key)) return key;
    const { frame, ...angles } = key;
    return { ...angles, time: secondsOf(track, frame, `aim key ${index + 1}`) };
  });
}

/**
 * Markers with their seconds on a clip.
 *
 * @param track - on the clip's frames
 * @throws TwinkeelError `argument/invalid` naming the marker, as {@link aimKeysOn}
 */
export function markersOn(
  track: OrientationTrack,
  markers: readonly (Marker | FrameMarker)[],
): Marker[] {
  return markers.map((marker, index) => {
    if (!('fromFrame' in marker)) return marker;
    const { fromFrame, toFrame, intent } = marker;
    const [from, to] = [fromFrame, toFrame].map((frame) =>
      secondsOf(track, frame, `marker ${index + 1}`),
    );
    return { from: from!, to: to!, intent };
  });
}

/** Seconds of a frame from the clip's first. */
function secondsOf(track: OrientationTrack, frame: ClipFrame, what: string): number {
  const { frames, frameRate, times } = track;
  if (!frames) {
    throw new TwinkeelError('argument/invalid', {
      found: `${what} at a frame`,
      expected: 'a clip whose frames are numbered',
      remedy: 'state the exact frame rate of the clip, or give the time in seconds',
    });
  }
  if (typeof frame !== 'number' && !(frameRate && isSame(frame.rate, frameRate))) {
    throw new TwinkeelError('argument/invalid', {
      found: `${what} counted at ${formatFrameRate(frame.rate)} frames per second`,
      expected: frameRate
        ? `the clip's own rate, ${formatFrameRate(frameRate)}`
        : 'a clip whose exact frame rate is known',
      remedy: 'count it anew at the rate of the clip, or give the time in seconds',
    });
  }
  const number = typeof frame === 'number' ? frame : frames[0]! + frame.framesIn;
  const index = frames.indexOf(number);
  if (index >= 0) return times[index]!;
  const last = frames.length - 1;
  const own = typeof frame === 'number' ? '' : ` (${frame.framesIn} after the first)`;
  throw new TwinkeelError('argument/invalid', {
    frame: number,
    found: `${what} at frame ${number}${own}`,
    expected: `a frame of the clip, ${frames[0]} to ${frames[last]}`,
    remedy: 'correct the number, or drop what lies outside the clip',
  });
}

function isSame(a: FrameRate, b: FrameRate): boolean {
  return a.numerator * b.denominator === b.numerator * a.denominator;
}
