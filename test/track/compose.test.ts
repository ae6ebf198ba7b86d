import { describe, expect, test } from 'vitest';
import { quaternionAt } from '../../src/rotation/arrays.js';
import { IDENTITY, multiplyQuaternions, type Quaternion } from '../../src/rotation/quaternion.js';
import { composeTracks, invertTrack } from '../../src/track/compose.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import { apart } from '../apart.js';
import { complaint } from '../complaint.js';
import { PRODUCT } from '../laws.js';
import { fc } from '../seed.js';
import { rotations } from '../turns.js';

const trackOf = (list: readonly Quaternion[]): OrientationTrack =>
  createTrack({
    times: Float64Array.from(list, (_, k) => k),
    quaternions: Float64Array.from(list.flat()),
    frames: Int32Array.from(list, (_, k) => k + 7),
  });

const tracks = fc.array(rotations, { minLength: 3, maxLength: 3 }).map(trackOf);
const at = (track: OrientationTrack, k: number) => quaternionAt(track.quaternions, k);

function expectSame(track: OrientationTrack, q: (k: number) => Quaternion): void {
  for (let k = 0; k < 3; k++) {
    expect(apart(at(track, k), q(k))).toBeLessThan(4 * PRODUCT * Number.EPSILON);
  }
}

describe('composeTracks', () => {
  test('two tracks are multiplied sample by sample', () => {
    fc.assert(
      fc.property(tracks, tracks, (a, b) => {
        expectSame(composeTracks(a, b), (k) => multiplyQuaternions(at(a, k), at(b, k)));
      }),
    );
  });

  test('one rotation on the left turns the world, on the right the camera axes', () => {
    fc.assert(
      fc.property(tracks, rotations, (track, q) => {
        expectSame(composeTracks(q, track), (k) => multiplyQuaternions(q, at(track, k)));
        expectSame(composeTracks(track, q), (k) => multiplyQuaternions(at(track, k), q));
      }),
    );
  });

  test('what else the track says stays', () => {
    const track = trackOf([IDENTITY, IDENTITY, IDENTITY]);
    expect(composeTracks([1, 0, 0, 0], track)).toMatchObject({
      times: track.times,
      frames: track.frames,
      up: 'stated',
    });
  });

  test('tracks at different times are refused', () => {
    const track = trackOf([IDENTITY, IDENTITY]);
    const late = { ...track, times: Float64Array.of(0, 2) };
    expect(() => composeTracks(track, late)).toThrow(
      complaint('argument/shape', 'interpolate one at the times of the other first'),
    );
  });

  test('two single rotations are no track', () => {
    expect(() => composeTracks(IDENTITY, IDENTITY)).toThrow(
      complaint('argument/invalid', 'use multiplyQuaternions'),
    );
  });
});

describe('invertTrack', () => {
  test('a track and its inverse cancel in either order', () => {
    fc.assert(
      fc.property(tracks, (track) => {
        expectSame(composeTracks(invertTrack(track), track), () => IDENTITY);
        expectSame(composeTracks(track, invertTrack(track)), () => IDENTITY);
      }),
    );
  });
});
